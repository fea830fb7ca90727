"""The film on its ledge, for someone who has never seen a graph: cut through the middle, and seen from above."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely

from holders.core.lengths import measure
from holders.design.held.model import Filmed, HeightGrid, picture_grid
from holders.design.model import Design, Role, Window
from holders.design.parts.sections import area_of
from holders.geometry.outline import Region, bounds
from holders.output.draw.canvas import (
    AXIS,
    EDGE,
    FINE,
    HATCH_BAND,
    HATCH_MATERIAL,
    Pen,
    Picture,
    View,
    text_width,
)

WIDTH = 200.0
PAGE_WIDTH = 174.0  # between the margins of A4 (ISO 216), so that the words keep their size
MARGIN = 8.0
CUT_HIGH = 62.0  # paper height of the section
MAP_HIGH = 96.0
WORDS_WIDE = 62.0  # room for words beside the section
FILM_PEN = Pen(0.9)
CELLS = 60
STRIP = 1.8  # a picture this much longer than wide is drawn lying
STRIP_HIGH = 44.0
VERDICT_SIZE, VERDICT_LINE = 3.2, 5.0
PIECES_MM = 1.0  # more than half of any gap between pieces
LOW, HIGH = HATCH_MATERIAL, "#b8b8b8"
NUMBERS = 5  # heights written on the map, each way


@dataclass(frozen=True, slots=True)
class Axes:
    """How the section's millimetres come to paper."""

    view: View
    enlarged: float


def film_sheet(design: Design, film: Filmed, width: float = WIDTH, verdict: str = "") -> bytes:
    """The whole picture as SVG, ``width`` mm wide, under the sentence that judges the holder where one is given.

    Raises ``ValueError`` when no film surface is known.
    """
    if film.grid is None or film.sag is None:
        raise ValueError("no film surface is known")
    lines = textwrap.wrap(verdict, int((width - 2 * MARGIN) / text_width("x", VERDICT_SIZE)))
    down = VERDICT_LINE * len(lines)
    height = 24 + down + CUT_HIGH + 16 + MAP_HIGH + 16
    picture = Picture(width, height)
    picture.text((MARGIN, 10), design.title, 5, bold=True)
    for k, line in enumerate(lines):
        picture.text((MARGIN, 17 + VERDICT_LINE * k), line, VERDICT_SIZE, bold=True)
    axes = _axes(design, film, film.grid, width, down)
    words = f"Cut through the middle of the film. Heights are drawn {axes.enlarged:.0f} times too large."
    picture.text((MARGIN, 18 + down), words, 3)
    _section(picture, design, film, film.grid, axes)
    top = 24 + down + CUT_HIGH + 10
    picture.text((MARGIN, top), "The picture seen from above: heights above the glass in mm", 3)
    _map(picture, film, film.grid, top + 4)
    return picture.svg(f"{design.title}: how the film lies")


def _axes(design: Design, film: Filmed, grid: HeightGrid, width: float, down: float) -> Axes:
    wide = float(grid.x[-1])
    high = max(design.total_height, film.band.high_mm, float(grid.z.max())) + 0.6
    scale_x = (width - 2 * MARGIN - WORDS_WIDE) / (wide + 24)
    scale_y = CUT_HIGH / (high + 0.9)
    view = View(MARGIN, 24 + down + CUT_HIGH - 0.9 * scale_y, -12.0, 0.0, scale_x, scale_y)
    return Axes(view, scale_y / scale_x)


def _section(picture: Picture, design: Design, film: Filmed, grid: HeightGrid, axes: Axes) -> None:
    view, wide = axes.view, float(grid.x[-1])
    left, right = view.at(-12, 0)[0], view.at(wide + 12, 0)[0]
    base = view.at(0, 0)[1]
    picture.polygon([[(left, base), (right, base), (right, base + 5), (left, base + 5)]], EDGE, "#ddd")
    low, high = view.at(0, film.band.low_mm)[1], view.at(0, film.band.high_mm)[1]
    picture.polygon([[(left, low), (right, low), (right, high), (left, high)]], None, HATCH_BAND)
    _ledges(picture, design, grid, view)
    _lid(picture, design, view)
    focus = view.at(0, (film.band.low_mm + film.band.high_mm) / 2)[1]
    picture.line((left, focus), (right, focus), AXIS)
    middle = grid.z[len(grid.y) // 2]
    picture.strokes([[view.at(float(x), float(z)) for x, z in zip(grid.x, middle, strict=True)]], FILM_PEN)
    _words(picture, design, film, middle, (right + 3, view))


def _ledges(picture: Picture, design: Design, grid: HeightGrid, view: View) -> None:
    """The holder left and right of the window, the lid above the film if there is one."""
    window, h = design.windows[0], design.heights
    under, ledge = h.foot_protrusion, h.ledge_above_glass
    wide, top = float(grid.x[-1]), ledge + design.pocket_depth
    play = window.film.x - window.pocket.x
    for inner, pocket, outer in (
        (window.lips.left, -play, -12.0),
        (wide - window.lips.right, wide + play, wide + 12),
    ):
        profile = [
            (outer, under),
            (inner, under),
            (inner, ledge),
            *_terraces(design, wide, ledge, inner < wide / 2),
            (pocket, ledge - sum(made.floor_mm() for made in design.fitted)),
            (pocket, top),
            (outer, top),
        ]
        picture.polygon([[view.at(x, z) for x, z in profile]], EDGE, HATCH_MATERIAL)
        if under > 0:
            foot = sorted((outer, outer + (3.0 if outer < inner else -3.0)))
            block = [(foot[0], 0.0), (foot[1], 0.0), (foot[1], under), (foot[0], under)]
            picture.polygon([[view.at(x, z) for x, z in block]], FINE, "#000")


def _terraces(design: Design, wide: float, ledge: float, left: bool) -> list[tuple[float, float]]:
    """The steps that a fitting gives the frame from the window outward."""
    corners = [corner for made in design.fitted for corner in made.terraces()]
    return [(wide / 2 + (-out if left else out), ledge - down) for out, down in corners]


def _lid(picture: Picture, design: Design, view: View) -> None:
    """The bought plates and the lid frame above the film, if there are any."""
    for plate in (plate for made in design.fitted for plate in made.plates):
        rect, x = plate.places[0], design.windows[0].film.x
        corners = [(rect.x, plate.z0), (rect.right, plate.z0), (rect.right, plate.z1), (rect.x, plate.z1)]
        picture.polygon([[view.at(a - x, z) for a, z in corners]], EDGE, "#eee")
    lids = [part for part in design.parts if part.role is Role.LID]
    if not lids:
        return
    mine = [part for part in lids if part is lids[0] or (part.whole and part.whole == lids[0].whole)]
    film, slabs = design.windows[0].film, [slab for part in mine for slab in part.slabs]
    frame = [slab for slab in slabs if slab.z0 == slabs[0].z0]
    boxes = [(a, b, frame[0]) for a, b in _sides([slab.region for slab in frame], design.windows[0])]
    for rail in slabs:
        if rail.z0 != frame[0].z0:
            a, _, b, _ = bounds(rail.region.outer)
            boxes.append((a, b, rail))
    for a, b, slab in boxes:
        corners = [(a, slab.z0), (b, slab.z0), (b, slab.z1), (a, slab.z1)]
        picture.polygon([[view.at(x - film.x, z) for x, z in corners]], EDGE, "#eee")


def _sides(regions: Sequence[Region], window: Window) -> tuple[tuple[float, float], tuple[float, float]]:
    """Left and right rail of a frame, whole or in pieces, beside a window: (from, to) each, without its tabs.

    Its outer edges are the outermost that run along most of it. Gaps between pieces are closed.
    """
    whole = shapely.union_all([area_of(region) for region in regions])
    if len(regions) > 1:
        whole = whole.buffer(PIECES_MM, join_style="mitre").buffer(-PIECES_MM, join_style="mitre")
    shell = max(shapely.get_parts(whole), key=lambda one: one.area)
    o = window.opening
    middle = shapely.Point(o.x + o.width / 2, o.y + o.height / 2)
    holes = [ring.bounds for ring in shell.interiors if shapely.Polygon(ring).contains(middle)]
    x0, _, x1, _ = holes[0] if holes else (o.x, o.y, o.right, o.top)
    ends: dict[float, list[float]] = {}
    for x, y in shell.exterior.coords:
        ends.setdefault(round(x, 3), []).append(y)
    _, low, _, high = shell.bounds
    long = [x for x, ys in ends.items() if max(ys) - min(ys) > (high - low) / 2]
    return (min(long), x0), (x1, max(long))


def _words(
    picture: Picture, design: Design, film: Filmed, middle: Sequence[float], place: tuple[float, View]
) -> None:
    """Names beside the section, each at its height, spread so that none covers another."""
    x, view = place
    assert film.sag is not None
    ledge = design.heights.ledge_above_glass
    at_middle = float(middle[len(middle) // 2])
    notes = [
        (0.0, "the scanner's glass: height 0"),
        (film.band.low_mm, f"sharp from {measure(film.band.low_mm)} (lined) ..."),
        ((film.band.low_mm + film.band.high_mm) / 2, f"sharpest at {measure(design.heights.focus)}"),
        (film.band.high_mm, f"... up to {measure(film.band.high_mm)}"),
        (ledge + 1e-6, f"ledge that carries the film: {measure(ledge)}"),
        (at_middle - 1e-6, f"middle of the film (thick line): {measure(at_middle)}"),
    ]
    notes.sort()
    spots = _spread([view.at(0, z)[1] for z, _ in notes], 4.0)
    for (z, words), y in zip(notes, spots, strict=True):
        picture.strokes([[(x - 2.5, view.at(0, z)[1]), (x, y - 0.9), (x + 1.5, y - 0.9)]], FINE)
        picture.text((x + 2, y), words, 2.5)


def _spread(wanted: Sequence[float], gap: float) -> list[float]:
    """Positions near the wanted ones (which fall from large to small), at least ``gap`` apart."""
    found: list[float] = []
    for y in wanted:
        found.append(min(y, found[-1] - gap) if found else y + 1.0)
    lowest = found[-1]
    return [y + max(0.0, 26.0 - lowest) for y in found]


def _map(picture: Picture, film: Filmed, grid: HeightGrid, top: float) -> None:
    """The picture area in cells: white where sharp, dark where too low, grey where too high; heights as numbers.

    A strip lies on its side, its head to the left.
    """
    area = film.picture
    strip = area.height_mm > STRIP * area.width_mm
    across, along = (area.height_mm, area.width_mm) if strip else (area.width_mm, area.height_mm)
    room = picture.width - 2 * MARGIN - (0 if strip else WORDS_WIDE) - 14
    scale = min((STRIP_HIGH if strip else MAP_HIGH) / along, room / across)
    wide, high = across * scale, along * scale
    left = MARGIN + 6
    if strip:
        picture.text((left - 2, top + high / 2), "head", 2.5, "middle", turned=True)
    heights = picture_grid(grid, area, CELLS)
    shown = heights.T if strip else heights
    for mask, fill in ((shown < film.band.low_mm, LOW), (shown > film.band.high_mm, HIGH)):
        rings = _runs(np.asarray(mask), left, top, wide / CELLS, high / CELLS)
        if rings:
            picture.polygon(rings, None, fill)
    picture.polygon([[(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)]], EDGE)
    few = picture_grid(grid, area, NUMBERS)
    _numbers(picture, few.T if strip else few, (left, top, wide, high))
    beside = (left, top + high + 8) if strip else (left + wide + 8, top)
    _legend(picture, film, beside, (float(heights.min()), float(heights.max())))


def _numbers(picture: Picture, few: np.ndarray, box: tuple[float, float, float, float]) -> None:
    left, top, wide, high = box
    size = min(2.5, wide / NUMBERS / 3.2, high / NUMBERS / 1.4)
    for j in range(NUMBERS):
        for i in range(NUMBERS):
            at = (left + (i + 0.5) * wide / NUMBERS, top + (j + 0.5) * high / NUMBERS + size / 3)
            picture.text(at, f"{few[j, i]:.2f}", size, "middle", halo=True)


def _runs(mask: np.ndarray, left: float, top: float, dx: float, dy: float) -> list[list[tuple[float, float]]]:
    """Rectangles that cover a mask, one per run of cells in a row."""
    padded = np.zeros((mask.shape[0], mask.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = mask
    row, edge = np.nonzero(np.diff(padded))
    x, y0, y1 = left + edge * dx, top + row * dy, top + (row + 1) * dy
    runs = np.stack([x[::2], x[1::2], y0[::2], y1[::2]], axis=1).tolist()
    return [[(a, low), (b, low), (b, high), (a, high)] for a, b, low, high in runs]


def _legend(picture: Picture, film: Filmed, at: tuple[float, float], span: tuple[float, float]) -> None:
    assert film.sag is not None
    x, y = at
    boxes = (
        ("#fff", f"sharp as drawn: {100 * film.sag.in_band_fraction:.1f} %"),
        (LOW, "too low, so soft"),
        (HIGH, "too high, so soft"),
    )
    for k, (fill, words) in enumerate(boxes):
        top = y + 7 * k
        picture.polygon([[(x, top), (x + 7, top), (x + 7, top + 4.5), (x, top + 4.5)]], FINE, fill)
        picture.text((x + 9, top + 3.3), words, 2.8)
    lines = [
        f"heights from {span[0]:.2f} to {span[1]:.2f} mm",
        f"sags below the ledge: {film.sag.max_mm:.2f} mm at most",
        f"nearest to the glass: {film.sag.min_gap_mm:.2f} mm",
        f"minimum gap {film.least_gap_mm:.2f} mm (rings, dust)",
    ]
    if film.flat_sag is not None:
        share = 100 * film.flat_sag.in_band_fraction
        lines.append(f"a ledge at the focus height would leave {share:.0f} % sharp")
    for k, words in enumerate(lines):
        picture.text(
            (x, y + 28 + 5 * k), words, 2.8 if text_width(words, 2.8) < picture.width - x - 3 else 2.3
        )
