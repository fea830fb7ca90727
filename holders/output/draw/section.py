"""The section: the holder cut upright across a window, heights drawn larger than widths, every height named."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from holders.core.lengths import measure
from holders.design.model import Design, Fitted, Part, Window
from holders.design.parts.roles import own_lids
from holders.design.parts.sections import CHORD_MM, outline_at
from holders.geometry.outline import Outline, Region, bounds, points
from holders.geometry.strips import Span
from holders.output.draw.canvas import (
    AXIS,
    EDGE,
    FINE,
    HATCH_BAND,
    HATCH_MATERIAL,
    HATCH_OTHER,
    HIDDEN,
    Picture,
    View,
)
from holders.output.draw.dimension import across, along, leader
from holders.output.draw.plan import frame_parts

THIN_MM = 0.5  # film up to this is drawn solid black; mounts and plates grey
ARC_STEPS = 48
LEAST_MM = 1e-6  # of a line within a shape; less is a touch
END_MM = 1e-4
GLASS_FILL, STEEL_FILL = "#eee", "#999"
OVER_MM = 8.0  # of what is sharp above the holder that is drawn at most
GLASS_MM = 0.9  # how much of the glass is drawn


@dataclass(frozen=True, slots=True)
class Slice:
    """Where the cut runs: at height ``y`` of the bed, from ``x0`` to ``x1``."""

    y: float
    x0: float
    x1: float


def whole(design: Design, width: float) -> Picture:
    """The section across the whole holder, ``width`` mm wide on paper; heights five times the widths at least."""
    at = Slice(quiet_y(design), design.outer.x - 2, design.outer.right + 2)
    scale_x = width / (at.x1 - at.x0)
    scale_y = max(4.0, 5 * scale_x)
    high = top_of(design)
    picture = Picture(width, (high + GLASS_MM) * scale_y + 4)
    view = View(0.0, picture.height - GLASS_MM * scale_y - 1, at.x0, 0.0, scale_x, scale_y)
    draw(picture, design, view, at, slices(design, at))
    return picture


def edge(design: Design, width: float) -> Picture:
    """The window's left edge large, with every height and width named."""
    window = design.mine[0]
    x0 = max(window.pocket.x - 9.0, design.outer.x - 1.5)
    at = Slice(quiet_y(design), x0, window.opening.x + 7.0)
    left, right = 30.0, 52.0
    scale_x = (width - left - right) / (at.x1 - at.x0)
    high = top_of(design)
    scale_y = min(14.0, 74.0 / (high + GLASS_MM))
    picture = Picture(width, (high + GLASS_MM) * scale_y + 30)
    view = View(left, picture.height - GLASS_MM * scale_y - 12, at.x0, 0.0, scale_x, scale_y)
    cut = slices(design, at)
    draw(picture, design, view, at, cut)
    broken(picture, view, at, high)
    _heights(picture, design, view, at, cut)
    _widths(picture, window, view, high)
    return picture


def cut_through(part: Part, y: float) -> BaseGeometry:
    """The part's material in the upright plane at ``y``, as polygons in (x, z)."""
    solid = [
        shapely.box(low, slab.z0, high, slab.z1)
        for slab in part.slabs
        for low, high in spans(slab.region, (y,))[0]
    ]
    away = []
    for cut in part.cuts:
        _, low, _, high = bounds(cut.outline)
        wider = max(0.0, cut.flare_mm)
        if not low - wider <= y <= high + wider:
            continue
        below = spans(Region(outline_at(cut, cut.z0)), (y,))[0]
        above = spans(Region(cut.outline), (y,))[0]
        for (a, b), (c, d) in zip(below, above, strict=False):
            away.append(shapely.Polygon([(a, cut.z0), (b, cut.z0), (d, cut.z1), (c, cut.z1)]))
    shape = shapely.union_all(solid)
    return shape.difference(shapely.union_all(away)) if away else shape


def spans(region: Region, ys: Sequence[float]) -> list[list[Span]]:
    """Where each of several level lines runs within a region, from low to high x: (from, to) each.

    A line along an edge is taken to run just above it.
    """
    found = _crossed(region.outer, ys)
    for hole in region.holes:
        found = [_without(mine, away) for mine, away in zip(found, _crossed(hole, ys), strict=True)]
    return [[(low, high) for low, high in line if high - low > LEAST_MM] for line in found]


def _crossed(outline: Outline, ys: Sequence[float]) -> list[list[Span]]:
    """The same for all that is within an outline: between the edges that a line crosses, two and two."""
    low, high = _edges(outline)
    lines = np.asarray(ys)[:, None]
    line, edge = np.nonzero((low[:, 1] <= lines) != (high[:, 1] <= lines))
    (x0, y0), (x1, y1) = low[edge].T, high[edge].T
    at = x0 + (lines[line, 0] - y0) * ((x1 - x0) / (y1 - y0))
    found: list[list[float]] = [[] for _ in ys]
    for k, x in zip(line.tolist(), at.tolist(), strict=True):
        found[k].append(x)
    return [list(zip(met[::2], met[1::2], strict=True)) for met in map(sorted, found)]


@lru_cache(maxsize=256)
def _edges(outline: Outline) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """(n, 2) each: where the straight pieces of an outline begin and end."""
    start = np.array(points(outline, CHORD_MM))
    return start, np.roll(start, -1, axis=0)


def _without(spans: Sequence[Span], away: Sequence[Span]) -> list[Span]:
    """What of ascending spans is left when others are taken away."""
    for low, high in away:
        spans = [
            piece for a, b in spans for piece in ((a, min(b, low)), (max(a, high), b)) if piece[0] < piece[1]
        ]
    return list(spans)


Cut = tuple[Part, BaseGeometry]


def _seen(at: Slice) -> BaseGeometry:
    """What of the upright plane is drawn."""
    return shapely.box(at.x0, -1.0, at.x1, 1000.0)


def slices(design: Design, at: Slice) -> list[Cut]:
    """Every part at each of its places, cut, as far as it is drawn."""
    return [
        (part, shapely.affinity.translate(cut_through(part, at.y - dy), dx, 0).intersection(_seen(at)))
        for part in design.parts
        for dx, dy in part.places
    ]


def quiet_y(design: Design) -> float:
    """Where to cut across the first window: low enough to miss its notches, so that the plain wall shows."""
    window = design.mine[0]
    wishes = [window.opening.y + share * window.opening.height for share in (0.3, 0.2, 0.12, 0.06, 0.7, 0.85)]
    walls = [0.0] * len(wishes)
    for part in frame_parts(design):
        for slab in part.slabs:
            for number, line in enumerate(spans(slab.region, wishes)):
                walls[number] += sum(max(0.0, min(high, window.film.x) - low) for low, high in line)
    return next(y for y, thick in zip(wishes, walls, strict=True) if thick >= max(walls) - 0.05)


def top_of(design: Design) -> float:
    """How high the section is drawn above the glass, mm: all of the holder, and of a very deep focus band a little."""
    sharp = max(design.heights.band_high, design.heights.focus)
    return max(design.total_height, min(sharp, design.total_height + OVER_MM)) + 0.3


def draw(picture: Picture, design: Design, view: View, at: Slice, cut: Sequence[Cut]) -> None:
    """Glass, focus band, feet behind, the parts as cut, the film, the focus height; neighbours hatched crosswise."""
    heights = design.heights
    glass = [view.at(at.x0, 0), view.at(at.x1, 0), view.at(at.x1, -GLASS_MM), view.at(at.x0, -GLASS_MM)]
    picture.polygon([glass], None, "#ddd")
    picture.line(glass[0], glass[1], EDGE)
    clip = _seen(at)
    low, high = max(0.0, heights.band_low), min(heights.band_high, top_of(design))
    band = [view.at(at.x0, low), view.at(at.x1, low), view.at(at.x1, high), view.at(at.x0, high)]
    picture.polygon([band], None, HATCH_BAND)
    for foot in design.feet:
        r, top = foot.half[0], design.foot_thickness
        shape = shapely.box(foot.x - r, 0, foot.x + r, top).intersection(clip)
        _fill(picture, shape, view, HIDDEN, "none")
    names = list(dict.fromkeys(part.name for part, shape in cut if not shape.is_empty))
    for part, shape in cut:
        _fill(picture, shape, view, None, "#fff")
        if not shape.is_empty:
            hatch = (HATCH_MATERIAL, HATCH_OTHER)[names.index(part.name) % 2]
            _fill(picture, shape, view, None, hatch)
            _rim(picture, shape, view, at)
    for plate in (plate for made in design.every_fitted for plate in made.plates):
        for rect in plate.places:
            if rect.y < at.y < rect.top:
                shape = shapely.box(rect.x, plate.z0, rect.right, plate.z1)
                fill = "#000" if plate.is_film else STEEL_FILL if plate.on_lid else GLASS_FILL
                _fill(picture, shape.intersection(clip), view, EDGE, fill)
    on_glass = any(plate.is_film for made in design.every_fitted for plate in made.plates)
    for one in design.each:
        thin = one.in_pocket_mm <= THIN_MM
        for window in one.mine:
            if window.film.y < at.y < window.film.top:
                film = _film(one, window, one.heights.drawn_ledge).intersection(clip)
                _fill(
                    picture,
                    film,
                    view,
                    None if thin else EDGE,
                    GLASS_FILL if on_glass else "#000" if thin else "#aaa",
                )
    picture.line(view.at(at.x0, heights.focus), view.at(at.x1, heights.focus), AXIS)


def _film(design: Design, window: Window, ledge: float) -> BaseGeometry:
    """The film's section: flat on its ledge, or on the arc that a fitting gives it."""
    f, thick = window.film, design.in_pocket_mm
    bent = next((made for made in design.fitted if made.drop_mm(f.width / 2) != 0.0), None)
    if bent is None:
        return shapely.box(f.x, ledge, f.right, ledge + thick)
    steps = [f.x + f.width * k / ARC_STEPS for k in range(ARC_STEPS + 1)]
    under = [(x, ledge - bent.drop_mm(x - f.x - f.width / 2)) for x in steps]
    return shapely.Polygon(under + [(x, z + thick) for x, z in reversed(under)])


def _fill(picture: Picture, shape: BaseGeometry, view: View, pen: object, fill: str) -> None:
    for piece in shapely.get_parts(shape):
        if piece.geom_type == "Polygon" and not piece.is_empty:
            rings = [piece.exterior, *piece.interiors]
            picture.polygon([[view.at(x, z) for x, z in ring.coords[:-1]] for ring in rings], pen, fill)  # type: ignore[arg-type]


def _rim(picture: Picture, shape: BaseGeometry, view: View, at: Slice) -> None:
    """The edge of a cut shape, but not along the ends of the drawing, where it goes on."""
    ends = shapely.MultiLineString([[(x, -10.0), (x, 1000.0)] for x in (at.x0, at.x1)]).buffer(END_MM)
    for piece in shapely.get_parts(shape):
        if piece.geom_type == "Polygon":
            rest = shapely.line_merge(piece.boundary.difference(ends))
            lines = [[view.at(x, z) for x, z in line.coords] for line in shapely.get_parts(rest)]
            picture.strokes(lines, EDGE)


def broken(picture: Picture, view: View, at: Slice, high: float) -> None:
    """Wavy ends: the drawing goes on there."""
    for x in (at.x0, at.x1):
        (px, y1), (_, y0) = view.at(x, high), view.at(x, -GLASS_MM)
        steps = 12
        wave = [(px + (0.5 if k % 2 else -0.5), y0 + (y1 - y0) * k / steps) for k in range(steps + 1)]
        picture.strokes([wave], FINE)


def _heights(picture: Picture, design: Design, view: View, at: Slice, cut: Sequence[Cut]) -> None:
    h = design.heights
    under, ledge = h.foot_protrusion, h.drawn_ledge
    base = view.at(at.x0, 0)[0] - 1.5
    stops = [(0.0, under, under), (under, ledge, h.ledge_as_made)]
    stops.append((ledge, ledge + design.pocket_depth, design.pocket_depth))
    for low, high, length in stops:
        if high - low > 0.005:
            along(picture, view.at(0, low)[1], view.at(0, high)[1], base - 6, length, base)
    if under > 0.005:
        along(picture, view.at(0, 0)[1], view.at(0, ledge)[1], base - 15, h.ledge_above_glass, base)
    right = view.at(at.x1, 0)[0]
    flat = Fitted.film_drawn
    shape = next((made.film_drawn for made in design.fitted if made.film_drawn != flat), flat)
    notes = [
        (0.0, "glass, height 0"),
        (h.sharp_plane, f"plane of the picture {measure(h.sharp_plane)}"),
        (h.focus, f"sharpest height {measure(h.focus)} ± {measure(h.focus_sigma)}"),
        (
            (max(0.0, h.band_low) + h.focus) / 2,
            f"sharp {measure(h.band_low)} to {measure(h.band_high)} (lined)",
        ),
        (
            ledge + design.in_pocket_mm,
            f"{design.in_pocket} {measure(design.in_pocket_mm)} thick, drawn {shape}",
        ),
    ]
    lids = own_lids(design)
    starts = {}  # paper x where a note's line begins; mostly the right end of what is drawn
    if lids:
        notes.append(((lids[0].z0 + lids[0].z1) / 2, f"lid frame {measure(lids[0].z1 - lids[0].z0)}"))
        ends = [shape.bounds[2] for part, shape in cut if part in lids and not shape.is_empty]
        if ends:
            starts[notes[-1][1]] = view.at(max(ends), 0)[0]
    for plate in (plate for made in design.every_fitted for plate in made.plates):
        if plate.on_lid and not any(
            r.y < at.y < r.top and at.x0 < r.right and r.x < at.x1 for r in plate.places
        ):
            continue
        notes.append(((plate.z0 + plate.z1) / 2, f"{plate.name} {measure(plate.z1 - plate.z0)}"))
    _listed(picture, [(view.at(0, z)[1], words) for z, words in notes], right, starts)


def _listed(
    picture: Picture, notes: list[tuple[float, str]], right: float, starts: Mapping[str, float]
) -> None:
    """Notes beside the drawing, moved apart so that none covers another; ``starts`` of lines that begin elsewhere."""
    step, room = 4.2, picture.height - 3.0
    placed: list[float] = []
    for y, _ in sorted(notes, reverse=True):  # from the lowest on paper up
        placed.append(min(y, room if not placed else placed[-1] - step))
    shift = max(0.0, 4.0 - placed[-1]) if placed else 0.0
    for (y, words), to in zip(sorted(notes, reverse=True), placed, strict=True):
        leader(picture, (starts.get(words, right) - 1.5, y), (right + 5, to + shift), words)


def _widths(picture: Picture, window: Window, view: View, high: float) -> None:
    y = view.at(0, high)[1] - 3
    top = y + 2
    spans = [
        (window.pocket.x, window.film.x, "clearance"),
        (window.film.x, window.opening.x, "lip"),
    ]
    for row, (a, b, words) in enumerate(spans):
        if b - a > 0.01:
            level = y - row * 6.5
            across(picture, view.at(a, 0)[0], view.at(b, 0)[0], level, b - a, top)
            picture.text((view.at(window.opening.x, 0)[0] + 4.5, level + 0.8), words, 2.3)
