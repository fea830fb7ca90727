"""The parts pulled apart in height and seen from the home corner, so that one sees how they go together.

Isometric projection; slabs are painted from the lowest up, each with its walls that face the viewer and then its top.
"""

from __future__ import annotations

import math
from itertools import pairwise

from holders.design.model import Design, Part, Slab
from holders.design.outline import Outline, Point, area, points
from holders.report.draw.canvas import EDGE, FINE, Picture

COS, SIN = math.cos(math.pi / 6), math.sin(math.pi / 6)
RAISE = 3.0  # heights are drawn this much larger
CHORD_MM = 0.3
WALL, WALL_DARK, TOP = "#d8d8d8", "#b4b4b4", "#fafafa"


def pulled_apart(design: Design, width: float) -> Picture:
    """All parts above one another, ``width`` mm wide on paper."""
    o = design.outer
    span = (o.width + o.height) * COS
    scale = (width - 4) / span
    gap = 0.30 * (o.width + o.height) * SIN
    lifts = _lifts(design, gap)
    high = max(lifts.values(), default=0.0) + design.total_height * RAISE
    picture = Picture(width, ((o.width + o.height) * SIN + high) * scale + 4)
    left, bottom = 2 + o.height * COS * scale, picture.height - 2

    def at(x: float, y: float, z: float) -> Point:
        across, up = (x - o.x) - (y - o.y), (x - o.x) + (y - o.y)
        return left + across * COS * scale, bottom - (up * SIN + z) * scale

    for part in sorted(design.parts, key=lambda p: (lifts[p.name], p.z0)):
        for dx, dy in sorted(part.places, key=lambda place: -(place[0] + place[1])):
            for slab in sorted(part.slabs, key=lambda s: s.z0):
                _slab(picture, slab, (dx, dy), lifts[part.name], at)
            _letters(picture, part, (dx, dy), lifts[part.name], at)
    return picture


def _lifts(design: Design, gap: float) -> dict[str, float]:
    """How far each part is raised: parts at one height together, each next height a gap more."""
    levels = sorted({round(part.z0, 3) for part in design.parts})
    return {part.name: levels.index(round(part.z0, 3)) * gap for part in design.parts}


def _slab(picture: Picture, slab: Slab, shift: Point, lift: float, at) -> None:  # type: ignore[no-untyped-def]
    z0, z1 = lift + slab.z0 * RAISE, lift + slab.z1 * RAISE
    dx, dy = shift
    rings = [(hole, -1.0) for hole in slab.region.holes] + [(slab.region.outer, 1.0)]
    for outline, outward in rings:
        ring = [(x + dx, y + dy) for x, y in points(outline, CHORD_MM)]
        for (ax, ay), (bx, by), dark in _facing(ring, outward * _sense(outline)):
            quad = [at(ax, ay, z0), at(bx, by, z0), at(bx, by, z1), at(ax, ay, z1)]
            picture.polygon([quad], FINE, WALL_DARK if dark else WALL)
    tops = [
        [at(x + dx, y + dy, z1) for x, y in points(outline, CHORD_MM)]
        for outline in (slab.region.outer, *slab.region.holes)
    ]
    picture.polygon(tops, EDGE, TOP)


def _sense(outline: Outline) -> float:
    return 1.0 if area(outline) > 0 else -1.0


def _facing(ring: list[Point], sense: float) -> list[tuple[Point, Point, bool]]:
    """Wall pieces that look toward the home corner, farthest first; dark ones look to the right."""
    found = []
    for a, b in pairwise([*ring, ring[0]]):
        nx, ny = (b[1] - a[1]) * sense, (a[0] - b[0]) * sense
        if nx + ny < 0:
            found.append((a, b, abs(ny) > abs(nx)))
    return sorted(found, key=lambda item: -(item[0][0] + item[0][1] + item[1][0] + item[1][1]))


def _letters(picture: Picture, part: Part, shift: Point, lift: float, at) -> None:  # type: ignore[no-untyped-def]
    for groove in part.grooves:
        lines = [
            [at(x + shift[0], y + shift[1], lift + groove.z_top * RAISE) for x, y in s]
            for s in groove.strokes
        ]
        picture.strokes(lines, FINE)
