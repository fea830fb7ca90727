"""How the film lies in the scan: where the lit area ends on each side, how far it is turned, what of it is seen.

Each side is looked for from the rim inward along many lines, the first strong step of each line is taken, a line laid
through them that outliers do not move, and each line's crossing of the half-way level measured again beside it.
Positions are mm from the scan's first column and row, y down; head is the top and foot the bottom as stored. A turn
is positive clockwise as shown.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import ndimage

from holders.measure.finished.expected import EDGES, EdgeName, Expected
from holders.measure.finished.reduce import F64

ZONE = 0.42  # share of the scan's width or height in which a side is looked for
STEP_SHARE = 0.35  # of the strongest step of a line: what counts as one
LEAST_STEP = 0.1  # of the logarithm of light, from one pixel to the next
LEAST_LIGHT = 0.006  # fraction of full scale by which film and holder differ
FLOOR = 0.004  # fraction of full scale: darker holders look alike
SQUARE = 1.0  # degrees by which two sides of a window may differ
SHOWN = {"left": "left", "right": "right", "head": "upper", "foot": "lower"}
NEAR = 10  # px beside the laid line in which the crossing is measured
SOFT = 3.5  # px inside a side before its own blur has passed
SEEN_SHARE = 0.5  # of the wished border: what counts as seen
WIDER = 2.5  # times the wished border: an even strip as wide is sky
CLEAR_SHARE = 1.0  # per cent of the picture that may be lighter, or darker, than clear film
CLEAR_NEAR = 0.97  # of that percentile's light
TUKEY = 4.685  # biweight constant, 95 % efficiency for normal errors; from memory


@dataclass(frozen=True)
class EdgeLine:
    """One side: ``at_mm`` where it stands at the middle of the other axis, ``turn_deg`` clockwise, both with sigma."""

    name: EdgeName
    at_mm: float
    at_sigma_mm: float
    turn_deg: float
    turn_sigma_deg: float
    share: float


@dataclass(frozen=True)
class Placement:
    """``edges`` that were found; ``skew_deg`` their weighted turn (None with no edge), ``consistent`` that they agree.

    ``window_error_mm`` measured minus designed (width, height); ``rebate_mm`` clear border seen on the wished edge and
    ``rebate_seen`` whether it is at least half of what was wished; ``rebate_at`` the one side that shows it instead;
    ``seen_fraction`` of the designed picture area; ``doubts`` about the sides, in words.
    """

    edges: tuple[EdgeLine, ...]
    skew_deg: float | None
    skew_sigma_deg: float | None
    consistent: bool
    window_error_mm: tuple[float, float] | None
    rebate_mm: float | None
    rebate_seen: bool | None
    seen_fraction: float | None
    doubts: tuple[str, ...] = ()
    rebate_at: EdgeName | None = None

    def edge(self, name: EdgeName) -> EdgeLine | None:
        """The side of that name, if it was found."""
        return next((e for e in self.edges if e.name == name), None)


def place(light: F64, pitch_mm: tuple[float, float], expected: Expected | None = None) -> Placement:
    """Measure a small picture of the scan, (rows, columns) light; ``pitch_mm`` along columns and rows."""
    found = [line for name in EDGES if (line := find_edge(light, pitch_mm, name)) is not None]
    found, doubts = _square(found)
    skew, sigma, consistent = _skew(found)
    edges = tuple(found)
    size = _size(edges)
    error = None
    if expected is not None and size is not None:
        error = (size[0] - expected.window_mm[0], size[1] - expected.window_mm[1])
    rebate, seen, elsewhere = None, None, None
    if expected is not None and expected.rebate_edge is not None:
        border = _border(light, pitch_mm, edges, expected.rebate_edge, expected.rebate_mm)
        rebate = None if border is None else border[0]
        seen = None if rebate is None else rebate >= SEEN_SHARE * expected.rebate_mm
        if seen is False and (elsewhere := _border_elsewhere(light, pitch_mm, edges, expected)) is not None:
            doubts = (
                *doubts,
                f"the clear border is on the {SHOWN[elsewhere]} side, where this holder leaves it on the "
                f"{SHOWN[expected.rebate_edge]}: the scan is mirrored or turned",
            )
    return Placement(
        edges, skew, sigma, consistent, error, rebate, seen, _seen(size, expected), doubts, elsewhere
    )


def oriented(light: F64, name: EdgeName) -> F64:
    """The picture turned so that the side looked for is met first along axis 1, one line a row."""
    if name == "left":
        return light
    if name == "right":
        return light[:, ::-1]
    return light.T if name == "head" else light.T[:, ::-1]


def find_edge(light: F64, pitch_mm: tuple[float, float], name: EdgeName) -> EdgeLine | None:
    """One side, or None where no line of steps is found."""
    lines = oriented(light, name)
    along, across = (pitch_mm[1], pitch_mm[0]) if name in ("left", "right") else pitch_mm
    count, length = lines.shape
    # the logarithm: dark picture against a black holder is a step too
    rim = 1.5 * float(np.percentile(lines[:, : max(2, length // 100)], 95))
    floor = max(FLOOR, rim) if rim < float(np.median(lines)) else FLOOR
    zone = np.log(np.maximum(lines[:, : max(16, int(length * ZONE))], 0.0) + floor)
    zone = ndimage.gaussian_filter1d(zone, 1.0, axis=1)
    zone = ndimage.uniform_filter1d(zone, 5, axis=0)
    step = np.abs(np.gradient(zone, axis=1))
    most = step.max(axis=1)
    usable = most >= LEAST_STEP
    if usable.mean() < 0.3:
        return None
    # one threshold for all lines: a line over dark picture must not take its own weak detail for the side
    high = step >= STEP_SHARE * max(float(np.percentile(most[usable], 75)), LEAST_STEP)
    usable = high.any(axis=1)
    if usable.mean() < 0.3:
        return None
    first = high.argmax(axis=1).astype(float)
    t = np.arange(count, dtype=float)
    line = _robust(t[usable], first[usable], scale_floor=2.0)
    if line is None:
        return None
    where, kept = _crossings(lines, line)
    if kept.sum() < max(12, 0.25 * count):
        return None
    fine = _robust(t[kept], where[kept], scale_floor=0.05)
    if fine is None:
        return None
    a, b = fine
    rest = where[kept] - (a + b * t[kept])
    good = np.abs(rest) < 4 * max(0.05, 1.4826 * float(np.median(np.abs(rest))))
    n = int(good.sum())
    # neighbouring lines share grain and the filter above: about every fifth is its own measurement
    spread = float(rest[good].std()) / np.sqrt(max(n / 5, 1))
    middle = a + b * (count - 1) / 2
    turn = float(np.degrees(np.arctan(b * across / along)))
    turn_sigma = float(np.degrees(spread / (count / np.sqrt(12)) * across / along))
    at = (middle + 0.5) * across
    if name in ("right", "foot"):
        at, turn = length * across - at, -turn
    turn = -turn if name in ("left", "right") else turn
    return EdgeLine(name, float(at), float(spread * across), turn, max(turn_sigma, 1e-4), n / count)


def _robust(t: F64, x: F64, *, scale_floor: float) -> tuple[float, float] | None:
    """Line x = a + b t by Theil and Sen's median of slopes, then Tukey's biweight."""
    if len(t) < 8:
        return None
    gap = len(t) // 3
    slope = float(np.median((x[gap:] - x[:-gap]) / (t[gap:] - t[:-gap])))
    a, b = float(np.median(x - slope * t)), slope
    for _ in range(20):
        rest = x - a - b * t
        scale = max(1.4826 * float(np.median(np.abs(rest))), scale_floor)
        w = np.clip(1 - (rest / (TUKEY * scale)) ** 2, 0, None) ** 2
        if w.sum() < 4:
            return None
        mt, mx = np.average(t, weights=w), np.average(x, weights=w)
        var = float((w * (t - mt) ** 2).sum())
        if var <= 0:
            return None
        b_new = float((w * (t - mt) * (x - mx)).sum()) / var
        a_new = float(mx - b_new * mt)
        done = abs(b_new - b) < 1e-9 and abs(a_new - a) < 1e-6
        a, b = a_new, b_new
        if done:
            break
    return a, b


def _crossings(lines: F64, line: tuple[float, float]) -> tuple[F64, np.ndarray]:
    """Where each line crosses the half-way level within ``NEAR`` of the laid line, px, and which do so cleanly."""
    count, length = lines.shape
    middle = line[0] + line[1] * np.arange(count)
    low = middle.astype(int) - NEAR
    fits = (low >= 0) & (low + 2 * NEAR + 1 <= length)
    rows = np.arange(count)[:, None]
    part = lines[rows, np.clip(low, 0, length - 2 * NEAR - 1)[:, None] + np.arange(2 * NEAR + 1)]
    outside, inside = np.median(part[:, :5], axis=1), np.median(part[:, -5:], axis=1)
    fits &= np.abs(inside - outside) >= LEAST_LIGHT
    level = (part - outside[:, None]) / np.where(fits, inside - outside, 1.0)[:, None] - 0.5
    cross = (level[:, :-1] < 0) & (level[:, 1:] >= 0)
    fits &= cross.any(axis=1)
    away = np.where(cross, np.abs(np.arange(2 * NEAR) + low[:, None] - middle[:, None]), np.inf)
    i = away.argmin(axis=1)
    before, after = level[rows[:, 0], i], level[rows[:, 0], i + 1]
    where = low + i + before / np.where(fits, before - after, 1.0)
    return np.where(fits, where, 0.0), fits


def _square(found: list[EdgeLine]) -> tuple[list[EdgeLine], tuple[str, ...]]:
    """The sides that agree on one turn, and a sentence for each that does not: it is an edge in the picture."""
    if len(found) < 2:
        return found, ()
    turns = np.array([e.turn_deg for e in found])
    votes = [int((np.abs(turns - t) <= SQUARE).sum()) for t in turns]
    best = max(votes)
    if best == 1:
        return [], ("the sides of the lit area do not lie square to one another: none of them is believed",)
    keep = np.abs(turns - np.median(turns[np.array(votes) == best])) <= SQUARE
    lost = [e for e, good in zip(found, keep, strict=True) if not good]
    return [e for e, good in zip(found, keep, strict=True) if good], tuple(
        f"the {SHOWN[e.name]} side of the lit area was not found: the picture is too dark there" for e in lost
    )


def _skew(edges: list[EdgeLine]) -> tuple[float | None, float | None, bool]:
    if not edges:
        return None, None, False
    turn = np.array([e.turn_deg for e in edges])
    weight = np.array([1 / e.turn_sigma_deg**2 for e in edges])
    mean = float(np.average(turn, weights=weight))
    sigma = float(1 / np.sqrt(weight.sum()))
    scatter = float(np.sqrt(np.average((turn - mean) ** 2, weights=weight) / max(len(edges) - 1, 1)))
    return mean, max(sigma, scatter), bool(np.ptp(turn) < 0.15)


def _size(edges: tuple[EdgeLine, ...]) -> tuple[float, float] | None:
    at = {e.name: e.at_mm for e in edges}
    if len(at) < 4:
        return None
    return at["right"] - at["left"], at["foot"] - at["head"]


def _seen(size: tuple[float, float] | None, expected: Expected | None) -> float | None:
    if size is None or expected is None or expected.picture is None:
        return None
    p = expected.picture
    wide = min(p.x + p.width, size[0]) - max(p.x, 0.0)
    high = min(p.y + p.height, size[1]) - max(p.y, 0.0)
    return float(max(0.0, wide) * max(0.0, high) / (p.width * p.height))


def _border(
    light: F64, pitch_mm: tuple[float, float], edges: tuple[EdgeLine, ...], name: EdgeName, wished_mm: float
) -> tuple[float, float] | None:
    """Width of the even strip inside one side, mm, and its light; width 0 if the picture reaches that side."""
    line = next((e for e in edges if e.name == name), None)
    if line is None:
        return None
    lines = oriented(light, name)
    across, along = (pitch_mm[0], pitch_mm[1]) if name in ("left", "right") else (pitch_mm[1], pitch_mm[0])
    length = lines.shape[1] * across
    at = length - line.at_mm if name in ("right", "foot") else line.at_mm
    middle = (lines.shape[0] - 1) / 2
    sign = -1.0 if name in ("left", "foot") else 1.0
    slope = np.tan(np.radians(line.turn_deg)) * sign * along / across
    reach = int(max(wished_mm * 3, 4.0) / across)
    rows = np.arange(int(lines.shape[0] * 0.2), int(lines.shape[0] * 0.8), 2)
    begin = at / across - 0.5 + slope * (rows - middle) + SOFT
    cols = begin[:, None] + np.arange(reach)[None, :]
    strip = ndimage.map_coordinates(
        lines, [np.repeat(rows[:, None], reach, 1), cols], order=1, mode="nearest"
    )
    base = float(np.median(strip[:, :3]))
    even = np.percentile(np.abs(strip - base), 80, axis=0) < max(0.08 * abs(base), 0.01)
    width = (int(np.argmin(even)) if not even.all() else reach) * across + SOFT * across * float(even[0])
    return float(width), base


def _border_elsewhere(
    light: F64, pitch_mm: tuple[float, float], edges: tuple[EdgeLine, ...], expected: Expected
) -> EdgeName | None:
    """The one other side along which the clear border runs, None where none or several look like it.

    Clear film is the lightest that a negative shows, or the darkest of a slide: a strip of even sky is neither.
    """
    at = {e.name: e.at_mm for e in edges}
    if len(at) < len(EDGES):
        return None
    left, right = (round(at[name] / pitch_mm[0]) + 5 for name in ("left", "right"))
    head, foot = (round(at[name] / pitch_mm[1]) + 5 for name in ("head", "foot"))
    inside = light[max(head, 0) : max(foot - 10, 0), max(left, 0) : max(right - 10, 0)]
    if inside.size == 0:
        return None
    dark, clear = np.percentile(inside, (CLEAR_SHARE, 100 - CLEAR_SHARE))
    found = []
    for name in EDGES:
        border = (
            None
            if name == expected.rebate_edge
            else _border(light, pitch_mm, edges, name, expected.rebate_mm)
        )
        if border is None or not SEEN_SHARE * expected.rebate_mm <= border[0] < WIDER * expected.rebate_mm:
            continue
        if border[1] >= CLEAR_NEAR * clear or border[1] <= dark / CLEAR_NEAR:
            found.append(name)
    return found[0] if len(found) == 1 else None
