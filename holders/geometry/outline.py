"""Closed outlines of straight lines and true arcs, in the plane of the glass.

An arc is kept as a bulge (tangent of a quarter of its sweep, positive when it turns left), the way DXF polylines
carry it, so that a cut line stays an arc from the design to the machine. Outer outlines run anticlockwise.
All lengths in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

Point = tuple[float, float]
Bounds = tuple[float, float, float, float]
CornerForm = Literal["slanted", "hollow", "stepped"]

TINY = 1e-9


@dataclass(frozen=True, slots=True)
class Vertex:
    """A corner of an outline and the bulge of the segment that leaves it."""

    x: float
    y: float
    bulge: float = 0.0


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular segment: centre, radius, start angle and signed sweep (rad)."""

    cx: float
    cy: float
    radius: float
    start: float
    sweep: float


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed path; the last vertex's segment returns to the first."""

    vertices: tuple[Vertex, ...]

    def segments(self) -> Iterator[tuple[Vertex, Vertex]]:
        """Each segment as (start, end); the bulge stands on the start."""
        yield from pairwise((*self.vertices, self.vertices[0]))


@dataclass(frozen=True, slots=True)
class Region:
    """An outer outline with holes: what a slab covers."""

    outer: Outline
    holes: tuple[Outline, ...] = ()


def rectangle(x: float, y: float, width: float, height: float, radius: float = 0.0) -> Outline:
    """A rectangle from its corner of least x and y, anticlockwise, corners rounded by ``radius``."""
    return walled(x, y, width, height, radius, ())


def circle(cx: float, cy: float, radius: float) -> Outline:
    """A full circle as two half arcs."""
    return Outline((Vertex(cx - radius, cy, 1.0), Vertex(cx + radius, cy, 1.0)))


@dataclass(frozen=True, slots=True)
class Bay:
    """A widening (``depth_mm`` > 0) or bite (< 0) on one edge of a rectangle.

    ``edge`` is foot (least y), right, head (greatest y) or left; ``centre_mm`` is the bay's middle, measured along
    x for head and foot and along y for left and right; ``radius_mm`` rounds its far corners, ``root_mm`` those where it
    leaves the edge.
    """

    edge: str
    centre_mm: float
    width_mm: float
    depth_mm: float
    radius_mm: float = 0.0
    root_mm: float = 0.0


_EDGES = ("foot", "right", "head", "left")


def walled(
    x: float,
    y: float,
    width: float,
    height: float,
    radius: float,
    bays: Iterable[Bay],
    corner_cut: float = 0.0,
    form: CornerForm = "slanted",
) -> Outline:
    """A rounded rectangle whose edges carry bays; ``corner_cut`` slants off the corner of least x and y, hollows it
    by a quarter circle round that corner, or steps it back by a square.

    Raises ``ValueError`` when a bay does not fit between the corners of its edge or touches another.
    """
    corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
    steps = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))
    found: list[Vertex] = []
    for index, edge in enumerate(_EDGES):
        (ax, ay), (ux, uy) = corners[index], steps[index]
        nx, ny = uy, -ux  # outward
        length = width if index % 2 == 0 else height
        here = corner_cut if index == 0 and corner_cut else radius
        home = index == len(_EDGES) - 1 and corner_cut > 0
        end = length - (corner_cut if home else radius)

        def at(along: float, out: float, bulge: float = 0.0) -> Vertex:
            return Vertex(ax + ux * along + nx * out, ay + uy * along + ny * out, bulge)  # noqa: B023

        found.append(at(here, 0.0))
        mine = [(_along(bay, edge, ax, ay, ux, uy), bay) for bay in bays if bay.edge == edge]
        for middle, bay in sorted(mine, key=lambda item: item[0]):
            low, high = middle - bay.width_mm / 2, middle + bay.width_mm / 2
            if low - bay.root_mm < here - TINY or high + bay.root_mm > end + TINY:
                raise ValueError(f"a bay of {bay.width_mm} mm does not fit on the {edge} edge")
            found.extend(_bay(at, low, high, bay))
            here = high + bay.root_mm
        if home or radius > 0:
            found.append(at(end, 0.0, (-QUARTER if form == "hollow" else 0.0) if home else QUARTER))
        if home and form == "stepped":
            found.append(at(end, -corner_cut))
    return Outline(_merged(found))


QUARTER = math.tan(math.pi / 8)


def _along(bay: Bay, edge: str, ax: float, ay: float, ux: float, uy: float) -> float:
    return (bay.centre_mm - ax) * ux if edge in ("foot", "head") else (bay.centre_mm - ay) * uy


def _bay(at, low: float, high: float, bay: Bay) -> list[Vertex]:  # type: ignore[no-untyped-def]
    depth = bay.depth_mm
    r = min(bay.radius_mm, abs(depth), bay.width_mm / 2)
    sign = 1.0 if depth > 0 else -1.0
    bulge = sign * QUARTER
    f = min(bay.root_mm, abs(depth) - r)
    before, after = [at(low, 0.0)], [at(high, 0.0)]
    if f > 0:
        before = [at(low - f, 0.0, -bulge), at(low, sign * f)]
        after = [at(high, sign * f, -bulge), at(high + f, 0.0)]
    if r <= 0:
        return [*before, at(low, depth), at(high, depth), *after]
    return [
        *before,
        at(low, depth - sign * r, bulge),
        at(low + r, depth),
        at(high - r, depth, bulge),
        at(high, depth - sign * r),
        *after,
    ]


def _merged(vertices: list[Vertex]) -> tuple[Vertex, ...]:
    """Drop vertices that repeat the next one (keeping its bulge)."""
    out: list[Vertex] = []
    for vertex, after in zip(vertices, [*vertices[1:], vertices[0]], strict=True):
        if math.hypot(vertex.x - after.x, vertex.y - after.y) > TINY:
            out.append(vertex)
    return tuple(out)


def arc_of(a: Vertex, b: Vertex) -> Arc:
    """The arc that a bulged segment stands for. Raises ``ValueError`` for a straight one."""
    if a.bulge == 0:
        raise ValueError("a straight segment is no arc")
    dx, dy = b.x - a.x, b.y - a.y
    s = (1 - a.bulge**2) / (4 * a.bulge)
    cx = (a.x + b.x) / 2 - dy * s
    cy = (a.y + b.y) / 2 + dx * s
    return Arc(cx, cy, math.hypot(a.x - cx, a.y - cy), math.atan2(a.y - cy, a.x - cx), 4 * math.atan(a.bulge))


def middle_of(a: Vertex, b: Vertex) -> Point:
    """The point half way along a segment."""
    if a.bulge == 0:
        return (a.x + b.x) / 2, (a.y + b.y) / 2
    arc = arc_of(a, b)
    angle = arc.start + arc.sweep / 2
    return arc.cx + arc.radius * math.cos(angle), arc.cy + arc.radius * math.sin(angle)


def area(outline: Outline) -> float:
    """Signed area in mm², positive when anticlockwise; arcs exactly."""
    total = 0.0
    for a, b in outline.segments():
        total += (a.x * b.y - b.x * a.y) / 2
        if a.bulge:
            arc = arc_of(a, b)
            total += arc.radius**2 * (arc.sweep - math.sin(arc.sweep)) / 2
    return total


def region_area(region: Region) -> float:
    """Area of the outer outline less its holes, mm²."""
    return abs(area(region.outer)) - sum(abs(area(hole)) for hole in region.holes)


def length(outline: Outline) -> float:
    """Length of the path, mm; arcs exactly."""
    return sum(
        abs((arc := arc_of(a, b)).sweep) * arc.radius if a.bulge else math.hypot(b.x - a.x, b.y - a.y)
        for a, b in outline.segments()
    )


def bounds(outline: Outline) -> Bounds:
    """(least x, least y, greatest x, greatest y), arcs included."""
    xs = [v.x for v in outline.vertices]
    ys = [v.y for v in outline.vertices]
    for a, b in outline.segments():
        if not a.bulge:
            continue
        arc = arc_of(a, b)
        low, high = sorted((arc.start, arc.start + arc.sweep))
        for quarter in range(math.ceil(low / (math.pi / 2)), math.floor(high / (math.pi / 2)) + 1):
            xs.append(arc.cx + arc.radius * math.cos(quarter * math.pi / 2))
            ys.append(arc.cy + arc.radius * math.sin(quarter * math.pi / 2))
    return min(xs), min(ys), max(xs), max(ys)


def points(outline: Outline, chord_error_mm: float = 0.005) -> list[Point]:
    """The outline as straight pieces whose chords stay within ``chord_error_mm`` of the arcs."""
    found: list[Point] = []
    for a, b in outline.segments():
        found.append((a.x, a.y))
        if a.bulge:
            arc = arc_of(a, b)
            step = 2 * math.acos(max(-1.0, 1 - chord_error_mm / arc.radius))
            count = max(1, math.ceil(abs(arc.sweep) / step))
            for k in range(1, count):
                angle = arc.start + arc.sweep * k / count
                found.append((arc.cx + arc.radius * math.cos(angle), arc.cy + arc.radius * math.sin(angle)))
    return found


def moved(outline: Outline, dx: float, dy: float) -> Outline:
    """The outline shifted by (dx, dy)."""
    return Outline(tuple(Vertex(v.x + dx, v.y + dy, v.bulge) for v in outline.vertices))


def mirrored(outline: Outline, axis_x: float) -> Outline:
    """The outline seen from below: mirrored about the line x = ``axis_x``, its sense of turning kept."""
    flipped = [Vertex(2 * axis_x - b.x, b.y, a.bulge) for a, b in outline.segments()]
    return Outline(tuple(reversed(flipped)))
