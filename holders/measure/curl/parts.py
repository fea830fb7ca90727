"""A line cut into parts of one curl each: curled, straight, or bent, by the direction of its tangent.

The tangent's angle along a line of constant curl is a straight line in arc length, a crease is a jump in it. The best
cut into pieces is found over all places of the cuts (dynamic programming, R. Bellman, Comm. ACM 4, 284 (1961), from
memory), each further piece at a price (the Schwarz criterion, Ann. Statist. 6, 461 (1978), from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

F64 = NDArray[np.float64]
WINDOW_MM = 3.0  # over which the direction of the line is read
NODES = 90
LEAST_PART_MM = 3.0
TOGETHER_MM = 1.5  # along the line, neighbouring directions err alike over so much
ANGLE_FLOOR = 0.004  # rad: what the edge's own irregularity leaves in a direction
SAME_CURL, SAME_SHARE, SAME_TURN = 0.6, 0.2, 0.035
BENT_PER_M, BENT_MM = 25.0, 15.0  # a tighter, shorter piece is a bend
SHORT_MM = 8.0


@dataclass(frozen=True)
class Part:
    """From ``start_mm`` to ``end_mm`` along the line; ``curl_per_m`` signed by the way it turns; ``kind`` is
    "curled", "straight" or "bent".
    """

    start_mm: float
    end_mm: float
    curl_per_m: float
    sigma: float
    kind: str

    @property
    def length_mm(self) -> float:
        """Along the line."""
        return self.end_mm - self.start_mm


def directions(s: F64, points: F64) -> F64:
    """Angle of the tangent at each point, rad, unwrapped: a straight line fitted over a short window."""
    step = float(np.median(np.diff(s)))
    half = max(2, round(0.5 * WINDOW_MM / step))
    even = np.column_stack([ndimage.median_filter(points[:, k], 5, mode="nearest") for k in (0, 1)])
    kernel = np.arange(-half, half + 1, dtype=float)
    kernel /= (kernel**2).sum()
    many = len(s)
    angle = np.empty(many)
    for k in range(many):
        a, b = max(0, k - half), min(many, k + half + 1)
        t = s[a:b] - s[a:b].mean()
        dx, dy = t @ even[a:b, 0], t @ even[a:b, 1]
        angle[k] = np.arctan2(dy, dx)
    # near an end the window is one-sided: its line's direction belongs to its middle
    return np.asarray(np.unwrap(angle))


def middles(s: F64) -> F64:
    """Where along the line the directions of ``directions`` belong."""
    step = float(np.median(np.diff(s)))
    half = max(2, round(0.5 * WINDOW_MM / step))
    many = len(s)
    return np.array([s[max(0, k - half) : min(many, k + half + 1)].mean() for k in range(many)])


def cut(s: F64, points: F64) -> list[Part]:
    """Parts of a line in order. ``s`` (n,) arc length in mm, ``points`` (n, 2) in mm."""
    at, angle = middles(s), directions(s, points)
    keep = np.concatenate([[True], np.diff(at) > 1e-6])
    at, angle = at[keep], angle[keep]
    rough = np.diff(angle, n=2)
    noise = max(1.4826 * float(np.median(np.abs(rough))) * WINDOW_MM / 2, ANGLE_FLOOR)
    nodes = np.linspace(0, len(at), min(NODES, max(2, int((at[-1] - at[0]) / 1.0))) + 1).round().astype(int)
    bounds = _best(at, angle, nodes, noise)
    found = [_part(at, angle, a, b, noise) for a, b in pairwise(bounds)]
    found = _merged(found, at, angle, noise)
    if found:
        found[0] = replace(found[0], start_mm=float(s[0]))
        found[-1] = replace(found[-1], end_mm=float(s[-1]))
    return found


def _merged(found: list[Part], at: F64, angle: F64, noise: float) -> list[Part]:
    """Neighbours that are one part put together, also across something short between them (dust, a dim place)."""
    parts = list(found)
    while True:
        joins = [(k, k + 1) for k in range(len(parts) - 1) if _alike(parts[k], parts[k + 1], at, angle)]
        joins += [
            (k, m)
            for k in range(len(parts) - 2)
            for m in range(k + 2, len(parts))
            if parts[m].start_mm - parts[k].end_mm < SHORT_MM and _alike(parts[k], parts[m], at, angle)
        ]
        if not joins:
            return parts
        k, last = joins[0]
        a, b = (int(np.searchsorted(at, v)) for v in (parts[k].start_mm, parts[last].end_mm))
        parts[k : last + 1] = [_part(at, angle, a, max(b, a + 3), noise)]


def _sums(at: F64, angle: F64) -> F64:
    rows = np.vstack([np.ones_like(at), at, angle, at * at, at * angle, angle * angle])
    return np.column_stack([np.zeros(6), np.cumsum(rows, axis=1)])


def _cost(sums: F64, a: int, b: int) -> float:
    n, x, y, xx, xy, yy = sums[:, b] - sums[:, a]
    vx, vy, cxy = xx - x * x / n, yy - y * y / n, xy - x * y / n
    return max(0.0, float(vy - (cxy * cxy / vx if vx > 1e-12 else 0.0)))


def _best(at: F64, angle: F64, nodes: NDArray[np.int64], noise: float) -> list[int]:
    sums = _sums(at, angle)
    step = float(np.median(np.diff(at)))
    fewer = max(1.0, TOGETHER_MM / step)  # so many neighbours count as one
    price = 3.0 * np.log(max(8.0, len(at) / fewer)) + 4.0
    many = len(nodes)
    best = np.full(many, np.inf)
    back = np.zeros(many, int)
    best[0] = 0.0
    for j in range(1, many):
        for i in range(j):
            if nodes[j] - nodes[i] < 3 or at[min(nodes[j], len(at)) - 1] - at[nodes[i]] < 0.4 * LEAST_PART_MM:
                continue
            value = best[i] + _cost(sums, nodes[i], nodes[j]) / noise**2 / fewer + price
            if value < best[j]:
                best[j], back[j] = value, i
    bounds, j = [int(nodes[-1])], many - 1
    while j > 0:
        j = int(back[j])
        bounds.append(int(nodes[j]))
    return bounds[::-1]


def _line(at: F64, angle: F64, a: int, b: int) -> tuple[float, float]:
    slope, level = np.polyfit(at[a:b], angle[a:b], 1)
    return float(slope), float(level)


def _part(at: F64, angle: F64, a: int, b: int, noise: float) -> Part:
    slope, _ = _line(at, angle, a, b)
    length = float(at[b - 1] - at[a])
    spread = noise / max(length, 0.5) * np.sqrt(12.0 / max(1.0, length / TOGETHER_MM))
    curl, sigma = 1000 * slope, 1000 * float(spread)
    kind = "curled"
    if abs(curl) < max(2 * sigma, 0.3):
        kind = "straight"
    return Part(float(at[a]), float(at[b - 1] if b >= len(at) else at[b]), curl, sigma, kind)


def _alike(one: Part, two: Part, at: F64, angle: F64) -> bool:
    """Whether two neighbours are one part: about the same curl, and no crease between them."""
    if min(one.length_mm, two.length_mm) < LEAST_PART_MM:
        return False
    differ = abs(one.curl_per_m - two.curl_per_m)
    sure = 2 * float(np.hypot(one.sigma, two.sigma))
    most = max(abs(one.curl_per_m), abs(two.curl_per_m))
    a, m, n, b = (int(np.searchsorted(at, v)) for v in (one.start_mm, one.end_mm, two.start_mm, two.end_mm))
    if m - a < 3 or b - n < 3:
        return differ <= sure
    (k1, c1), (k2, c2) = _line(at, angle, a, m), _line(at, angle, n, b)
    middle = 0.5 * (one.end_mm + two.start_mm)
    turn = abs(k1 * middle + c1 - k2 * middle - c2)
    return differ <= max(sure, SAME_CURL, SAME_SHARE * most) and turn <= SAME_TURN


def main_part(parts: list[Part]) -> Part:
    """The part whose curl is the film's: the longest curled one, or the longest straight one where that is most."""
    curled = [p for p in parts if p.kind == "curled"]  # a bend is one of these too, but short
    total = sum(p.length_mm for p in parts)
    longest = max(parts, key=lambda p: p.length_mm)
    if curled:
        best = max(curled, key=lambda p: p.length_mm)
        if best.length_mm >= 0.25 * total:
            return best
    return longest


def named(parts: list[Part], main: Part) -> list[Part]:
    """The parts with short tight ones called bent: tighter than any film curls, or twice as tight as the main part."""
    least = max(BENT_PER_M, 2 * abs(main.curl_per_m))
    return [
        replace(p, kind="bent")
        if p is not main and p.length_mm < BENT_MM and abs(p.curl_per_m) > least
        else p
        for p in parts
    ]
