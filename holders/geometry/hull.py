"""Convex hulls of a few points: what feet span."""

from __future__ import annotations

import math
from itertools import pairwise

Point = tuple[float, float]


def longest_gap(points: list[Point], near_mm: float = 1.0) -> float:
    """The longest way between neighbouring points along the hull's rim, mm.

    Points within ``near_mm`` of a side stand on the rim too, so that feet in the middle of a side halve it. Of two
    points it is their distance, of one it is 0.
    """
    hull = convex_hull(points)
    longest = 0.0
    for a, b in zip(hull, hull[1:] + hull[:1], strict=True):
        side = math.dist(a, b)
        if side == 0:
            continue
        along = [
            ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / side
            for p in points
            if abs(_turn(a, b, p)) / side <= near_mm
        ]
        stops = sorted(s for s in (*along, 0.0, side) if 0.0 <= s <= side)
        longest = max(longest, *(after - before for before, after in pairwise(stops)))
    return longest


def convex_hull(points: list[Point]) -> list[Point]:
    """Corners of the convex hull, anticlockwise (A. M. Andrew's monotone chain, 1979)."""
    rising = sorted(set(points))
    if len(rising) < 3:
        return rising
    chains = []
    for run in (rising, rising[::-1]):
        chain: list[Point] = []
        for p in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 0:
                chain.pop()
            chain.append(p)
        chains.append(chain[:-1])
    return chains[0] + chains[1]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def inside_by(point: Point, hull: list[Point]) -> float:
    """How far a point lies inside an anticlockwise hull, mm; negative outside, and for hulls without area."""
    if len(hull) < 3:
        return -math.inf
    return min(_turn(a, b, point) / math.dist(a, b) for a, b in zip(hull, [*hull[1:], hull[0]], strict=True))


def hull_height(hull: list[Point]) -> float:
    """The least width of a hull across any of its sides, mm: near 0 when its points stand in one line."""
    if len(hull) < 3:
        return 0.0
    sides = list(zip(hull, [*hull[1:], hull[0]], strict=True))
    return min(max(_turn(a, b, p) for p in hull) / math.dist(a, b) for a, b in sides)
