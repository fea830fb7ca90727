"""Growing an outline by a small amount with its arcs kept: kerf compensation and window relief.

Each line shifts sideways and each arc changes its radius; neighbours meet where the shifted curves cross, so sharp
corners stay sharp. Meant for amounts well under the smallest feature: a segment that would vanish is an error.
"""

from __future__ import annotations

import math

from holders.geometry.outline import TINY, Arc, Outline, Point, Vertex, arc_of, area

_Line = tuple[float, float, float, float]  # point, unit direction
_Curve = _Line | Arc


def grown(outline: Outline, amount_mm: float) -> Outline:
    """The outline moved outward by ``amount_mm`` (inward when negative), whichever way it turns.

    Raises
    ------
    ValueError
        When a segment would vanish or turn inside out: the feature is smaller than the amount.
    """
    if amount_mm == 0:
        return outline
    d = amount_mm if area(outline) > 0 else -amount_mm
    pairs = list(outline.segments())
    curves = [_shifted(a, b, d) for a, b in pairs]
    corners = [
        _meeting(curves[i - 1], curves[i], pairs[i][0], _arriving(*pairs[i - 1]), _leaving(*pairs[i]), d)
        for i in range(len(pairs))
    ]
    vertices = []
    for i, (x, y) in enumerate(corners):
        after = corners[(i + 1) % len(corners)]
        vertices.append(Vertex(x, y, _bulge(curves[i], (x, y), after, pairs[i][0].bulge)))
    return Outline(tuple(vertices))


def _leaving(a: Vertex, b: Vertex) -> float:
    chord = math.atan2(b.y - a.y, b.x - a.x)
    return chord - 2 * math.atan(a.bulge)


def _arriving(a: Vertex, b: Vertex) -> float:
    chord = math.atan2(b.y - a.y, b.x - a.x)
    return chord + 2 * math.atan(a.bulge)


def _shifted(a: Vertex, b: Vertex, d: float) -> _Curve:
    if a.bulge == 0:
        angle = math.atan2(b.y - a.y, b.x - a.x)
        ux, uy = math.cos(angle), math.sin(angle)
        return a.x + uy * d, a.y - ux * d, ux, uy
    arc = arc_of(a, b)
    radius = arc.radius + (d if a.bulge > 0 else -d)
    if radius <= TINY:
        raise ValueError(f"an arc of radius {arc.radius:.3f} mm vanishes when offset by {d:.3f} mm")
    return Arc(arc.cx, arc.cy, radius, arc.start, arc.sweep)


def _meeting(before: _Curve, after: _Curve, at: Vertex, arriving: float, leaving: float, d: float) -> Point:
    turn = math.remainder(leaving - arriving, 2 * math.pi)
    if abs(turn) < 1e-7:  # tangent: both curves pass through the shifted vertex
        return at.x + math.sin(leaving) * d, at.y - math.cos(leaving) * d
    found = _crossings(before, after)
    if not found:
        raise ValueError("two neighbouring edges no longer meet after the offset")
    return min(found, key=lambda p: math.hypot(p[0] - at.x, p[1] - at.y))


def _crossings(one: _Curve, two: _Curve) -> list[Point]:
    if isinstance(one, Arc) and isinstance(two, Arc):
        return _arc_arc(one, two)
    if isinstance(one, Arc):
        return _line_arc(two, one)  # type: ignore[arg-type]
    if isinstance(two, Arc):
        return _line_arc(one, two)
    x, y, ux, uy = one
    px, py, vx, vy = two
    cross = ux * vy - uy * vx
    t = ((px - x) * vy - (py - y) * vx) / cross
    return [(x + ux * t, y + uy * t)]


def _line_arc(line: _Line, arc: Arc) -> list[Point]:
    x, y, ux, uy = line
    along = (arc.cx - x) * ux + (arc.cy - y) * uy
    off2 = (x + ux * along - arc.cx) ** 2 + (y + uy * along - arc.cy) ** 2
    rest = arc.radius**2 - off2
    if rest < 0:
        return []
    half = math.sqrt(rest)
    return [(x + ux * t, y + uy * t) for t in (along - half, along + half)]


def _arc_arc(one: Arc, two: Arc) -> list[Point]:
    dx, dy = two.cx - one.cx, two.cy - one.cy
    gap = math.hypot(dx, dy)
    if gap < TINY:
        return []
    a = (one.radius**2 - two.radius**2 + gap**2) / (2 * gap)
    rest = one.radius**2 - a**2
    if rest < 0:
        return []
    h = math.sqrt(rest)
    mx, my = one.cx + a * dx / gap, one.cy + a * dy / gap
    return [(mx + s * h * dy / gap, my - s * h * dx / gap) for s in (1.0, -1.0)]


def _bulge(curve: _Curve, start: Point, end: Point, was: float) -> float:
    if not isinstance(curve, Arc):
        ux, uy = curve[2], curve[3]
        if (end[0] - start[0]) * ux + (end[1] - start[1]) * uy <= 0:
            raise ValueError("a straight edge vanishes in the offset")
        return 0.0
    a0 = math.atan2(start[1] - curve.cy, start[0] - curve.cx)
    a1 = math.atan2(end[1] - curve.cy, end[0] - curve.cx)
    sweep = (a1 - a0) % (2 * math.pi) if was > 0 else -((a0 - a1) % (2 * math.pi))
    if abs(abs(sweep) - abs(4 * math.atan(was))) > math.pi / 2:
        raise ValueError("an arc turns inside out in the offset")
    return math.tan(sweep / 4)
