"""The film as the holder holds it, as plain values: heights over its picture, sag, what they were found from."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from holders.design.model import HEIGHT_CELLS
from holders.design.sag import Sag
from holders.facts.models import FilmFormat
from holders.film.band import Band, Picture
from holders.film.models import Array, Sheet, Support, Surface
from holders.film.ranges import Study
from holders.film.resample import resampled

EVEN = 1e-9  # so that a height on the rim of the band counts as in it


@dataclass(frozen=True, slots=True)
class HeightGrid:
    """Heights of the film's underside above the glass: ``z[j, i]`` at ``y[j], x[i]``, all in mm.

    x runs from the film's left edge, y from its head edge. ``method`` says in words where they come from.
    """

    x: Array
    y: Array
    z: Array
    converged: bool
    iterations: int
    residual: float
    method: str


@dataclass(frozen=True, slots=True)
class Filmed:
    """What the film does on its ledge.

    ``surface`` is None for glass plates (their sag is a series) and where no equilibrium was found; ``why_not`` then
    says why in words. ``flat_sag`` is the same film with the ledge at the focus height.
    """

    sheet: Sheet | None
    support: Support | None
    picture: Picture
    band: Band
    least_gap_mm: float
    best_ledge_mm: float | None  # above the glass
    best_fraction: float | None
    surface: Surface | None
    grid: HeightGrid | None
    sag: Sag | None
    flat_sag: Sag | None
    why_not: str = ""
    turned: bool = False  # the film's long side lies across the bed
    ranges: Study | None = None  # what film of this kind may do instead, on the ledge as built
    warm_grid: HeightGrid | None = None  # the film on the warm bed, where that is another shape
    each: tuple[Filmed, ...] = ()  # of every kind of film, in a holder for several; empty for one

    def of(self, kind: int) -> Filmed:
        """The same with another kind of film looked at."""
        return replace(self.each[kind], each=self.each) if self.each else self


def grid_of_surface(surface: Surface, method: str = "") -> HeightGrid:
    """A solved surface's heights."""
    s = surface
    return HeightGrid(s.x, s.y, s.z, s.converged, s.iterations, s.residual, method)


def picture_reach(
    film: FilmFormat, grid: HeightGrid, picture: Picture, ledge_mm: float
) -> tuple[float, float]:
    """Least and greatest height of the film over its picture above where a flat film would lie, mm."""
    rise = picture_grid(grid, picture) - ledge_mm - film.plane_offset_mm
    return float(rise.min()), float(rise.max())


def picture_rises(
    film: FilmFormat, grid: HeightGrid, picture: Picture, ledge_mm: float
) -> tuple[tuple[float, ...], ...]:
    """The same by equal cells of the picture: rows from its head edge, columns from its left edge."""
    rise = picture_grid(grid, picture, HEIGHT_CELLS) - ledge_mm - film.plane_offset_mm
    return tuple(tuple(float(z) for z in row) for row in np.round(rise, 6))


def picture_grid(grid: HeightGrid, picture: Picture, cells: int = 96) -> Array:
    """(cells, cells) heights at the middles of equal cells of the picture, mm."""
    half = 0.5 / cells
    u = np.linspace(half, 1 - half, cells)
    x, y = picture.left_mm + u * picture.width_mm, picture.head_mm + u * picture.height_mm
    return resampled(grid.x, grid.y, grid.z, x, y)
