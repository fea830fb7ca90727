"""Finds the ramp's slots in a scan and from them where every pixel lies on the ramp.

Nothing is taken from the scan's resolution: the slots' own pitch gives the scale, so a wrong resolution shows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.ramp import (
    FAR_SLOT_MM,
    MARK_PITCH_MM,
    NARROW_MM,
    SLOT_LENGTH_MM,
    WIDE_MM,
    WORD,
    WORD_RUN,
    RampGeometry,
)
from holders.measure.scan.view import View
from holders.measure.slope.profile import F64

PREVIEW_ALONG = 2400  # pixels of the reduced picture in which the slots are sought
FEWEST = WORD_RUN
MOST_ROWS = 48  # a dozen ramps in one scan, each row found once or twice
LENGTH_OFF = 0.14  # of a slot's length over the pitch: less than what tells near from far slots
MOST_TURN = 0.3  # tangent
MOST_WRONG = 0.1  # share of slots that dust may have spoiled


@dataclass(frozen=True)
class MarkReading:
    """Where a scan's pixels lie on the ramp: ``x = x0 + xa * along + xc * across``, likewise y (mm; stored pixels).

    ``marks`` how many slots were read, ``wrong`` how many of them did not fit the word, ``pixels_per_mm`` by their
    pitch, ``turn`` tangent of the ramp's turn in the scan, ``mirrored`` whether the scan shows it mirrored. ``far``:
    these are the raised row's slots; ``scale_sigma`` standard deviation of the scale, as a share of it.
    """

    x0: float
    xa: float
    xc: float
    y0: float
    ya: float
    yc: float
    marks: int
    wrong: int
    pixels_per_mm: float
    turn: float
    mirrored: bool
    far: bool = False
    scale_sigma: float = 0.0

    def x(self, along: F64, across: F64) -> F64:
        """Ramp x of pixels, mm."""
        return np.asarray(self.x0 + self.xa * along + self.xc * across)

    def y(self, along: F64, across: F64) -> F64:
        """Ramp y of pixels, mm."""
        return np.asarray(self.y0 + self.ya * along + self.yc * across)


@dataclass(frozen=True)
class Picture:
    """A small grey picture (across, along); one of its pixels is ``step`` stored ones."""

    light: NDArray[np.float32]
    step: float


@dataclass(frozen=True)
class _Slots:
    centre: F64  # (n, 2) along, across, in stored pixels
    long: F64
    short: F64
    axis: F64  # (n, 2) direction of the long side


@dataclass(frozen=True)
class RampSeen:
    """One ramp in a scan: the row that tells its place, and the other one where that was read too."""

    row: MarkReading
    other: MarkReading | None = None

    @property
    def marks(self) -> int:
        """How many slots were read in all."""
        return self.row.marks + (self.other.marks if self.other else 0)

    @property
    def wrong(self) -> int:
        """How many of them did not fit the word."""
        return self.row.wrong + (self.other.wrong if self.other else 0)


def read_marks(view: View, ramp: RampGeometry) -> MarkReading:
    """Read the slots of the ramp that shows most of them; see ``read_ramps``."""
    return read_ramps(view, ramp)[0].row


def read_ramps(view: View, ramp: RampGeometry) -> tuple[RampSeen, ...]:
    """All ramps of this shape that lie along the view, those with most slots first.

    Raises
    ------
    InputError
        Nowhere seven slots in a row, or a row that is not on the ramp's word.
    """
    picture = _reduced(view)
    slots = _find(picture)
    found = [r for group in _rows(slots) if (r := _decode(picture, slots, group, ramp)) is not None]
    found.sort(key=lambda r: (r.far, 3 * r.wrong - r.marks))  # the row on the glass tells most
    seen: list[RampSeen] = []
    for row in found:
        at = next((i for i, one in enumerate(seen) if _same_ramp(one.row, row, ramp)), None)
        if at is None:
            seen.append(RampSeen(row))
        elif seen[at].other is None and row.far and not seen[at].row.far:
            seen[at] = RampSeen(seen[at].row, row)
    if not seen:
        raise InputError(
            "--ramp", view.scan.info.path,
            "the ramp's height marks are not found: scan with the slots beside the window in the picture, lamp on, "
            "seven slots or more, turned by less than 10 degrees from the picture's edges",
        )  # fmt: skip
    return tuple(sorted(seen, key=lambda one: 3 * one.wrong - one.marks))


def _same_ramp(a: MarkReading, b: MarkReading, ramp: RampGeometry) -> bool:
    """Whether two rows tell of one ramp: both lay its middle to nearly the same pixel."""
    apart = np.subtract(_middle(a, ramp), _middle(b, ramp))
    return bool(np.hypot(*apart) < 0.3 * ramp.width_mm * a.pixels_per_mm)


def _middle(seen: MarkReading, ramp: RampGeometry) -> F64:
    """Pixel (along, across) of the ramp's middle."""
    turn = np.array([[seen.xa, seen.xc], [seen.ya, seen.yc]])
    place = np.array([0.5 * ramp.length_mm - seen.x0, 0.5 * (ramp.bay.y0 + ramp.bay.y1) - seen.y0])
    return np.asarray(np.linalg.solve(turn, place))


def _reduced(view: View) -> Picture:
    """Every so-manieth line across, means of as many pixels along; each piece of the file decoded once."""
    step = max(1, round(view.along / PREVIEW_ALONG))
    lines = np.arange(step // 2, view.across, step)
    wide = view.along // step
    out = np.empty((len(lines), wide), np.float32)
    if view.by_columns:
        tall = max(step, view.lines_at_once // step * step)
        for top in range(0, view.across, tall):
            some = (lines >= top) & (lines < top + tall)
            if not some.any():
                continue
            picked = lines[some]
            if view.scan.info.random_access:
                light = view.grey([(0, wide * step)], [(int(n), int(n) + 1) for n in picked])
            else:
                raw = view.raw([(0, wide * step)], [(int(picked[0]), int(picked[-1]) + 1)])
                light = view.light(raw[picked - picked[0]]).mean(axis=2, dtype=np.float32)
            out[some] = light.reshape(len(picked), wide, step).mean(axis=2)
        return Picture(out, float(step))
    at_once = max(1, view.lines_at_once // step)
    for first in range(0, wide, at_once):
        last = min(wide, first + at_once)
        raw = view.raw([(first * step, last * step)], [(0, view.across)])[lines]
        light = view.light(raw).mean(axis=2, dtype=np.float32)
        out[:, first:last] = light.reshape(len(lines), last - first, step).mean(axis=2)
    return Picture(out, float(step))


def _find(small: Picture) -> _Slots:
    """Bright spots that are about as long and thin as a slot, measured by their moments."""
    from scipy import ndimage  # noqa: PLC0415

    picture, step = small.light, small.step
    dark, bright = np.percentile(picture, 1.0), np.percentile(picture, 99.7)
    names, _ = ndimage.label(picture > dark + 0.4 * (bright - dark))
    found: list[tuple[float, ...]] = []
    for i, box in enumerate(ndimage.find_objects(names), start=1):
        tall, wide = box[0].stop - box[0].start, box[1].stop - box[1].start
        if not (4 <= max(tall, wide) <= 0.15 * picture.shape[1] and min(tall, wide) >= 2):
            continue
        yy, xx = np.nonzero(names[box] == i)
        middle = np.array([xx.mean(), yy.mean()])
        cov = np.cov(np.stack([xx, yy])) + np.eye(2) / 12.0
        values, vectors = np.linalg.eigh(cov)
        # a rectangle of sides a, b has variances a^2/12, b^2/12 and fills a*b
        short, long = np.sqrt(12.0 * values)
        if not (1.7 <= long / short <= 8.0 and 0.75 <= len(xx) / (short * long) <= 1.25):
            continue
        place = (middle + np.array([box[1].start + 0.5, box[0].start + 0.5])) * step
        found.append((*place, long * step, short * step, *vectors[:, 1]))
    table = np.asarray(found, dtype=float).reshape(-1, 6)
    return _Slots(table[:, :2], table[:, 2], table[:, 3], table[:, 4:])


def _rows(slots: _Slots) -> list[NDArray[np.int64]]:
    """Groups of slots of one length that lie on one line square to their long side, most first."""
    groups: list[NDArray[np.int64]] = []
    seen: set[tuple[int, ...]] = set()
    for i in range(len(slots.long)):
        across = slots.axis[i]
        off = slots.centre - slots.centre[i]
        alike = (np.abs(slots.long / slots.long[i] - 1.0) < 0.15) & (np.abs(slots.axis @ across) > 0.985)
        along = off @ np.array([across[1], -across[0]])
        near = alike & (np.abs(off @ across) < 0.3 * slots.long[i] + 0.06 * np.abs(along))
        if near.sum() < FEWEST:
            continue
        line = np.polyfit(along[near], (off @ across)[near], 1)
        straight = near & (np.abs(off @ across - np.polyval(line, along)) < 0.15 * slots.long[i])
        members = np.nonzero(straight)[0]
        key = tuple(members.tolist())
        if len(members) >= FEWEST and key not in seen:
            seen.add(key)
            groups.append(members)
    return sorted(groups, key=len, reverse=True)[:MOST_ROWS]


def _decode(
    picture: Picture, slots: _Slots, group: NDArray[np.int64], ramp: RampGeometry
) -> MarkReading | None:
    centre = slots.centre[group]
    middle = centre.mean(axis=0)
    direction = np.linalg.svd(centre - middle, full_matrices=False)[2][0]
    if abs(direction[1]) > MOST_TURN * abs(direction[0]):
        return None  # it runs the other way: seen along the scan's other axis
    direction *= np.sign(direction[0])
    t = (centre - middle) @ direction
    order = np.argsort(t)
    t, width, centre = t[order], slots.short[group][order], centre[order]
    kind = _kind(t, float(np.median(slots.long[group])), ramp)
    if kind is None:
        return None
    pitch, far = kind
    number = np.rint((t - t[0]) / pitch).astype(int)
    if len(set(number.tolist())) < len(number):
        return None
    bits = (width / pitch > 0.5 * (NARROW_MM + WIDE_MM) / MARK_PITCH_MM).astype(int)
    place = _in_word(number, bits, len(ramp.marks()))
    if place is None:
        return None
    first, forward, wrong = place
    x = np.array([ramp.marks()[first + (k if forward else -k)].box.x0 for k in number])
    x = x + np.array([ramp.marks()[first + (k if forward else -k)].box.x1 for k in number])
    return _mapped(picture, 0.5 * x, centre, (forward, wrong, far), ramp)


def _kind(t: F64, long: float, ramp: RampGeometry) -> tuple[float, bool] | None:
    """The pitch of a row, px, and whether it is the raised one, by the slots' length over it."""
    for far, length in ((False, SLOT_LENGTH_MM), (True, FAR_SLOT_MM))[: 2 if ramp.two_rows else 1]:
        pitch = _pitch(t, long * MARK_PITCH_MM / length)
        if pitch is not None and abs(long / pitch * MARK_PITCH_MM / length - 1.0) < LENGTH_OFF:
            return pitch, far
    return None


def _pitch(t: F64, guess: float) -> float | None:
    """Spacing of the slots in pixels by least squares, from a first guess good to a tenth."""
    gaps = np.diff(t)
    near = gaps[(gaps > 0.75 * guess) & (gaps < 1.3 * guess)]
    if len(near) < FEWEST - 2:
        return None
    pitch = float(np.median(near))
    for _ in range(3):
        number = np.rint((t - t[0]) / pitch)
        pitch = float(np.polyfit(number, t, 1)[0])
    rest = t - np.polyval(np.polyfit(number, t, 1), number)
    return pitch if np.abs(rest).max() < 0.15 * pitch else None


def _in_word(number: NDArray[np.int64], bits: NDArray[np.int64], count: int) -> tuple[int, bool, int] | None:
    """Where in the word these bits are: first index, forwards or not, how many do not fit; None if not sure."""
    word = np.array([int(c) for c in WORD[:count]])
    tries: list[tuple[int, int, bool]] = []
    for forward in (True, False):
        for first in range(count):
            at = first + (number if forward else -number)
            if at.min() >= 0 and at.max() < count:
                tries.append((int((word[at] != bits).sum()), first, forward))
    tries.sort(key=lambda item: item[0])
    if not tries:
        return None
    wrong, first, forward = tries[0]
    runner_up = tries[1][0] if len(tries) > 1 else len(bits)
    # a slot read wrongly must not be able to make another place as good
    sure = wrong <= MOST_WRONG * len(bits) and (runner_up > 2 * wrong)
    return (first, forward, wrong) if sure else None


def _mapped(
    picture: Picture, x: F64, centre: F64, how: tuple[bool, int, bool], ramp: RampGeometry
) -> MarkReading:
    """The similarity between stored pixels and ramp, from slot middles; the window's side tells mirroring."""
    forward, wrong, far = how
    design = np.column_stack([np.ones(len(x)), centre[:, 0]])
    line = np.linalg.lstsq(design, centre[:, 1], rcond=None)[0]
    turn = float(line[1])
    unit = np.array([1.0, turn]) / np.hypot(1.0, turn)
    t = centre @ unit
    scale = float(np.polyfit(t, x, 1)[0])  # mm per pixel, signed
    rest = x - np.polyval(np.polyfit(t, x, 1), t)
    scale_sigma = float(np.sqrt((rest @ rest) / max(len(x) - 2, 1)) / (np.linalg.norm(x - x.mean()) + 1e-9))
    xa, xc = (scale * unit).tolist()
    x0 = float(np.mean(x - centre @ (scale * unit)))
    side = _window_side(picture, centre, unit, ramp, abs(scale))
    up = -side if far else side  # the window lies above the near row's y and below the far row's
    square = np.array([-unit[1], unit[0]]) * up * abs(scale)
    track = ramp.far_track if far else ramp.track
    y0 = 0.5 * (track.y0 + track.y1) - float(np.mean(centre @ square))
    mirrored = (up > 0) != forward
    return MarkReading(
        x0, xa, xc, y0, float(square[0]), float(square[1]), len(x), wrong, 1.0 / abs(scale), turn, mirrored,
        far, scale_sigma,
    )  # fmt: skip


def _window_side(picture: Picture, centre: F64, unit: F64, ramp: RampGeometry, scale: float) -> float:
    """+1 if the window lies to the side of greater across, else -1.

    Between slots and window lie wall and ledge, all dark; on the other side a thin wall, then bare glass or nothing.
    """
    track, window = ramp.track, ramp.window
    base = 0.5 * (track.y0 + track.y1)
    ledge = 0.5 * (ramp.bay.y0 + window.y0) - base
    middle = 0.5 * (window.y0 + window.y1) - base
    normal = np.array([-unit[1], unit[0]])

    def light(distance_mm: float, side: float, nothing: float) -> float:
        at = np.rint((centre + normal * side * distance_mm / scale) / picture.step - 0.5).astype(int)
        inside = (
            (at >= 0).all(axis=1) & (at[:, 0] < picture.light.shape[1]) & (at[:, 1] < picture.light.shape[0])
        )
        if inside.mean() < 0.5:
            return nothing
        return float(np.median(picture.light[at[inside, 1], at[inside, 0]]))

    score = {side: light(middle, side, 0.0) - light(ledge, side, 1.0) for side in (1.0, -1.0)}
    return 1.0 if score[1.0] >= score[-1.0] else -1.0
