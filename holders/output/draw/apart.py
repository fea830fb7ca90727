"""The parts pulled apart and seen from the home corner, so that one sees how they go together.

Parts at different heights are pulled apart upward, the pieces of a split part away from its middle.

Isometric projection; slabs are painted from the lowest up, each with its walls that face the viewer and then its top.
"""

from __future__ import annotations

import math
from itertools import pairwise

from holders.design.model import Design, Part, Slab
from holders.design.pieces.pose import part_bounds
from holders.geometry.outline import Outline, Point, area, points
from holders.output.draw.canvas import EDGE, FINE, Picture

COS, SIN = math.cos(math.pi / 6), math.sin(math.pi / 6)
RAISE = 3.0  # heights are drawn this much larger
CHORD_MM = 0.3
APART = 0.2  # of a piece's way from the middle of its whole
WALL, WALL_DARK, TOP = "#d8d8d8", "#b4b4b4", "#fafafa"


def pulled_apart(design: Design, width: float) -> Picture:
    """All parts above one another, ``width`` mm wide on paper."""
    o, moves = design.outer, _moves(design)
    x0, y0, wide, high = _extent(design, moves)
    scale = (width - 4) / ((wide + high) * COS)
    lifts = _lifts(design, 0.30 * (o.width + o.height) * SIN)
    rise = max(lifts.values(), default=0.0) + design.total_height * RAISE
    picture = Picture(width, ((wide + high) * SIN + rise) * scale + 4)
    left, bottom = 2 + high * COS * scale, picture.height - 2

    def at(x: float, y: float, z: float) -> Point:
        across, up = (x - x0) - (y - y0), (x - x0) + (y - y0)
        return left + across * COS * scale, bottom - (up * SIN + z) * scale

    def farthest_first(part: Part) -> tuple[float, float, float]:
        px, py, qx, qy = part_bounds(part)
        return lifts[part.name], -(px + py + qx + qy), part.z0

    for part in sorted(design.parts, key=farthest_first):
        mx, my = moves[part.name]
        for dx, dy in sorted(part.places, key=lambda place: -(place[0] + place[1])):
            for slab in sorted(part.slabs, key=lambda s: s.z0):
                _slab(picture, slab, (dx + mx, dy + my), lifts[part.name], at)
            _letters(picture, part, (dx + mx, dy + my), lifts[part.name], at)
    return picture


def _moves(design: Design) -> dict[str, Point]:
    """How far each part is moved aside: pieces away from the middle of their whole, others not at all."""
    found: dict[str, Point] = {}
    for part in design.parts:
        mates = [part_bounds(p) for p in design.parts if p.whole and p.whole == part.whole] or [(0.0,) * 4]
        x0, y0, x1, y1 = part_bounds(part)
        mx = (min(b[0] for b in mates) + max(b[2] for b in mates)) / 2
        my = (min(b[1] for b in mates) + max(b[3] for b in mates)) / 2
        away = ((x0 + x1) / 2 - mx, (y0 + y1) / 2 - my) if part.whole else (0.0, 0.0)
        found[part.name] = (APART * away[0], APART * away[1])
    return found


def _extent(design: Design, moves: dict[str, Point]) -> tuple[float, float, float, float]:
    """Least x and y of all that is drawn, and its width and length."""
    o = design.outer
    boxes = [(o.x, o.y, o.right, o.top)] if not design.seams else []
    for part in design.parts:
        (x0, y0, x1, y1), (mx, my) = part_bounds(part), moves[part.name]
        boxes += [(x0 + mx + dx, y0 + my + dy, x1 + mx + dx, y1 + my + dy) for dx, dy in part.places]
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    return x0, y0, max(b[2] for b in boxes) - x0, max(b[3] for b in boxes) - y0


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
