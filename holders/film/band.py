"""The picture's heights, the share of it inside the focus band, and the ledge height that makes that share greatest.

Heights here are **optical**: where the scanner must focus to see the image. With the emulsion down that is the film's
underside; with the emulsion up the image lies on top of the base and appears a base thickness divided by the
refractive index above the underside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from holders.core.errors import InputError
from holders.film.models import Array, Sheet, Support, Surface
from holders.film.optics import apparent_thickness_mm
from holders.film.resample import resampled
from holders.film.solver.interior import Effort
from holders.film.surface import CLEAR, RESOLUTION, WarmStart, lifted, solve_surface

CELLS = 96  # per direction of the picture; one cell is 0.01 % of its area
RANGE_STEPS = 9


@dataclass(frozen=True)
class Picture:
    """The picture rectangle on the film, mm from the film's left and head edge."""

    left_mm: float
    head_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True)
class Band:
    """The heights above the glass that are sharp, mm."""

    low_mm: float
    high_mm: float

    @property
    def width_mm(self) -> float:
        """How deep it is."""
        return self.high_mm - self.low_mm


@dataclass(frozen=True)
class LedgeChoice:
    """The ledge height that puts the most of the picture in the band, and what limits it.

    ``margin_mm`` is the distance from the picture's nearest height to a band edge when all of it is inside (0
    otherwise). ``limited_by``: ``focus`` (the free optimum), ``gap`` (the least gap to the glass stopped it) or
    ``range`` (the heights that can be built did).
    """

    ledge_height_mm: float
    in_band_fraction: float
    margin_mm: float
    min_gap_mm: float
    limited_by: Literal["focus", "gap", "range"]
    surface: Surface


def optical_offset_mm(sheet: Sheet, refractive_index: float) -> float:
    """How far the image appears above the film's underside, mm."""
    apparent = apparent_thickness_mm(sheet.thickness_mm, refractive_index)
    return apparent if sheet.emulsion == "up" else 0.0


def picture_heights(surface: Surface, picture: Picture, refractive_index: float, cells: int = CELLS) -> Array:
    """(cells, cells) optical heights above the glass at the middles of equal cells of the picture, mm."""
    _check(surface.sheet, picture)
    half = 0.5 / cells
    u = np.linspace(half, 1 - half, cells)
    x, y = picture.left_mm + u * picture.width_mm, picture.head_mm + u * picture.height_mm
    z = resampled(surface.x, surface.y, surface.z, x, y)
    return z + optical_offset_mm(surface.sheet, refractive_index)


def in_band_fraction(surface: Surface, picture: Picture, band: Band, refractive_index: float) -> float:
    """Share of the picture's area whose image lies inside the band."""
    heights = picture_heights(surface, picture, refractive_index)
    return float(np.mean((heights >= band.low_mm) & (heights <= band.high_mm)))


def best_ledge_height(
    sheet: Sheet,
    support: Support,
    picture: Picture,
    band: Band,
    *,
    refractive_index: float,
    min_gap_mm: float,
    lowest_mm: float = 0.0,
    highest_mm: float = 50.0,
    surface: Surface | None = None,
    tol: float = 1e-8,
    resolution: int = RESOLUTION,
    effort: Effort | None = None,
    recent: WarmStart | None = None,
) -> LedgeChoice:
    """The ledge height with the most picture area in the band; among equals the one with the most margin.

    The shape does not depend on the height as long as the film is clear of the glass, so one solution is shifted.
    Where no allowed height is clear of it, the best of nine is taken. ``surface``: a known shape of this sheet here;
    ``effort``, ``recent``: as for :func:`~holders.film.surface.solve_surface`.

    Raises
    ------
    InputError
        The picture is not on the film, the band is empty, or no allowed height keeps the gap.
    NotConverged
        As :func:`~holders.film.surface.solve_surface`.
    """
    if band.width_mm <= 0:
        raise InputError("band", (band.low_mm, band.high_mm), "the upper height must be above the lower one")
    if not 0 <= lowest_mm <= highest_mm:
        raise InputError("lowest_mm, highest_mm", (lowest_mm, highest_mm), "give 0 <= lowest <= highest")
    if surface is None or surface.touches_glass:
        above = _at(support, _clear_height(sheet, support))
        surface = solve_surface(sheet, above, tol=tol, resolution=resolution, effort=effort, recent=recent)
    clear = surface.support.ledge_height_mm
    heights = np.sort(picture_heights(surface, picture, refractive_index).ravel()) - clear
    lowest_film = surface.min_gap_mm - clear
    need = max(lowest_mm, min_gap_mm - lowest_film)
    if min_gap_mm > 0 and need > highest_mm:
        raise InputError("min_gap_mm", min_gap_mm, f"the ledge would have to stand {need:.2f} mm high")
    if highest_mm + lowest_film < 0:
        return _on_the_glass(
            sheet,
            support,
            picture,
            band,
            refractive_index,
            (lowest_mm, highest_mm),
            (tol, resolution, effort),
        )
    need = max(need, -lowest_film)
    free, share = _slide(heights, band, -np.inf, np.inf)
    best = free
    if not need <= free <= highest_mm:
        best, share = _slide(heights, band, need, highest_mm)
    stopped: Literal["focus", "gap", "range"] = "focus"
    if best < free - 1e-9:
        stopped = "range"
    elif best > free + 1e-9:
        stopped = "gap" if need > lowest_mm else "range"
    margin = min(heights[0] + best - band.low_mm, band.high_mm - heights[-1] - best)
    return LedgeChoice(
        ledge_height_mm=best,
        in_band_fraction=share,
        margin_mm=max(0.0, float(margin)),
        min_gap_mm=best + lowest_film,
        limited_by=stopped,
        surface=shifted(surface, best),
    )


def shifted(surface: Surface, ledge_height_mm: float) -> Surface:
    """The same shape with the ledge at another height; only for a film clear of the glass before and after."""
    lift = ledge_height_mm - surface.support.ledge_height_mm
    if surface.touches_glass or surface.min_gap_mm + lift < -1e-9:
        raise InputError(
            "ledge_height_mm", ledge_height_mm, "the film touches the glass there: solve it anew"
        )
    return lifted(surface, ledge_height_mm)


def _at(support: Support, ledge_height_mm: float) -> Support:
    return support.model_copy(update={"ledge_height_mm": ledge_height_mm})


def _clear_height(sheet: Sheet, support: Support) -> float:
    """A height from which no film reaches the glass, unless nothing but the glass carries it."""
    lips = support.lips
    carried = (lips.left_mm and lips.right_mm) or (lips.head_mm and lips.foot_mm)
    return max(support.ledge_height_mm, CLEAR * max(sheet.width_mm, sheet.height_mm)) if carried else 50.0


def _slide(heights: Array, band: Band, low: float, high: float) -> tuple[float, float]:
    """Shift in [low, high] that brings most of the sorted heights into the band, and the share it brings.

    The share only changes where a height meets a band edge; between two such shifts it is constant, and the middle
    of the longest stretch with the greatest share has the most margin.
    """
    width_tol = 1e-9
    edges = np.unique(np.concatenate([band.low_mm - heights, band.high_mm - heights]))
    edges = np.unique(np.clip(edges, low, high)) if np.isfinite(low) else edges
    if np.isfinite(low):
        edges = np.unique(np.concatenate([[low, high], edges]))
    if len(edges) == 1:
        middles, widths = edges, np.zeros(1)
    else:
        middles, widths = 0.5 * (edges[1:] + edges[:-1]), np.diff(edges)
    first = np.searchsorted(heights, band.low_mm - middles - width_tol, side="left")
    last = np.searchsorted(heights, band.high_mm - middles + width_tol, side="right")
    count = last - first
    top = np.flatnonzero(count == count.max())
    best = top[int(np.argmax(widths[top]))]
    return float(middles[best]), float(count[best] / len(heights))


def _on_the_glass(
    sheet: Sheet,
    support: Support,
    picture: Picture,
    band: Band,
    refractive_index: float,
    allowed: tuple[float, float],
    settings: tuple[float, int, Effort | None],
) -> LedgeChoice:
    """The best of a few heights, each with its own contact on the glass."""
    best: LedgeChoice | None = None
    for height in np.linspace(*allowed, RANGE_STEPS):
        surface = solve_surface(
            sheet, _at(support, float(height)), tol=settings[0], resolution=settings[1], effort=settings[2]
        )
        share = in_band_fraction(surface, picture, band, refractive_index)
        if best is None or share > best.in_band_fraction:
            best = LedgeChoice(float(height), share, 0.0, surface.min_gap_mm, "range", surface)
    assert best is not None
    return best


def _check(sheet: Sheet, picture: Picture) -> None:
    inside = (
        picture.left_mm >= -1e-9
        and picture.head_mm >= -1e-9
        and picture.left_mm + picture.width_mm <= sheet.width_mm + 1e-9
        and picture.head_mm + picture.height_mm <= sheet.height_mm + 1e-9
    )
    if not inside or picture.width_mm <= 0 or picture.height_mm <= 0:
        raise InputError(
            "picture", picture, f"it must lie on the film, {sheet.width_mm:g} x {sheet.height_mm:g} mm"
        )
