"""A blade's straight cuts in the order to make them, each with how far it runs past its corners.

At an inner corner two cuts cross a little in the board, else the corner stays fast and tears; at an outer one they run
on into what falls out. Openings come before the outer edge, and of one outline the short cuts before the long ones, so
that the piece holds still until the last.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import shapely

from holders.design.parts.sections import polygon
from holders.design.pieces.cutting import CutPart
from holders.geometry.outline import Outline, Point, area

CROSS_MM = 0.5  # past an inner corner, in the board (common practice, no source)
PAST_MM = 3.0  # past an outer one, in the waste
EVEN_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Stroke:
    """One straight cut in bed coordinates: its corners, where the blade starts and ends, and a place in the waste."""

    number: int
    start: Point
    end: Point
    blade_from: Point
    blade_to: Point
    beside: Point  # a unit away from its middle, on the side that falls out


def strokes(piece: CutPart) -> tuple[Stroke, ...]:
    """Every straight cut of a piece; arcs, where a preset asks for round corners, have none."""
    found: list[Stroke] = []
    for outline, hole in (*((one, True) for one in piece.inner), (piece.outer, False)):
        cuts = sorted(_cuts(outline, hole), key=lambda cut: round(math.dist(cut[0], cut[1]), 6))
        found += [Stroke(len(found) + k, *cut) for k, cut in enumerate(cuts, 1)]
    return tuple(found)


def _cuts(outline: Outline, hole: bool) -> Iterator[tuple[Point, Point, Point, Point, Point]]:
    """The straight cuts of an outline in its own order."""
    sense = math.copysign(1.0, area(outline))
    shape = polygon(outline)
    segments = list(outline.segments())
    for k, (a, b) in enumerate(segments):
        if a.bulge or math.hypot(b.x - a.x, b.y - a.y) < EVEN_MM:
            continue
        long = math.hypot(b.x - a.x, b.y - a.y)
        ux, uy = (b.x - a.x) / long, (b.y - a.y) / long
        start, end = (
            (x, y) if round_ else _past(shape, hole, (x, y), (way * ux, way * uy))
            for x, y, way, round_ in (
                (a.x, a.y, -1.0, segments[k - 1][0].bulge),
                (b.x, b.y, 1.0, segments[(k + 1) % len(segments)][0].bulge),
            )
        )
        # material lies left of an anticlockwise outer edge, the waste left of an anticlockwise opening
        left = sense if hole else -sense
        middle = (a.x + b.x) / 2, (a.y + b.y) / 2
        yield (a.x, a.y), (b.x, b.y), start, end, (middle[0] - left * uy, middle[1] + left * ux)


def _past(shape: shapely.Polygon, hole: bool, corner: Point, way: Point) -> Point:
    """Where the blade turns beyond a corner: well in the waste, or a little into the board."""
    far = corner[0] + way[0] * PAST_MM, corner[1] + way[1] * PAST_MM
    inside = shapely.LineString([corner, far]).intersection(shape).length
    free = inside if hole else PAST_MM - inside
    past = PAST_MM if free > PAST_MM - EVEN_MM else CROSS_MM
    return corner[0] + way[0] * past, corner[1] + way[1] * past
