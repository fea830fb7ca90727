"""A glance over a whole scan: where the target lies across it, whether it is ruled, how it is turned."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.cut import TICKS_PER_CELL, Part, cells_for_ruling
from holders.measure.scan.prefetch import prefetch
from holders.measure.scan.spectra import (
    F32,
    F64,
    Cells,
    Features,
    cell_power,
    find_turn,
    frequencies,
    make_features,
)
from holders.measure.scan.view import View
from holders.measure.slope.target.placed import Placed
from holders.measure.slope.target.ticks import count_ticks

STRIPS, PLACES = 40, 12
GOLDEN = 0.6180339887  # its multiples fall most evenly between whole numbers
LONG_STRIPS, LONG_PLACES = 8, 6  # for the longer cells, of the richest
RULED = 6.0  # times more power on the ruling's line than beside it
PLAIN_TURN = 3.0
BLANK = 0.1  # strips with less detail than this share of the richest are margin
ALIKE = 0.3
STEADY = 0.5  # chance grain and dust stay below 0.1, real ticks above 0.6
AHEAD = 8  # strips read before they are looked at: each is a few cells only
LINES = 4
FEW_LINES = 2


@dataclass(frozen=True)
class Preview:
    """What was seen: strips (first pixel across) that hold the target, its turn (tangent) and how marked a ruling it
    is, the cells to cut it into, the period of its ticks (pixels; 0: none). ``roll_off``: power at the very finest
    frequencies over that a little below, and over that of middle ones (``lift``), where the scan is least sharp: 1 for
    a sensor's own noise. ``steady``: the light repeats itself tick for tick, as neither grain nor dirt does;
    ``smooth``: a ruling without overtones, known by that only.
    """

    strips: tuple[int, ...]
    turn: float
    marked: float
    cells: Cells
    period: float
    roll_off: float = 1.0
    lift: float = 1.0
    steady: bool = False
    smooth: bool = False

    @property
    def ruled(self) -> bool:
        """Whether the target is a ruling rather than an even texture."""
        return self.smooth or self.marked >= RULED


@dataclass(frozen=True)
class _Look:
    """Spectra of cells of strips (k,) at places (j,), summed as they were read.

    ``detail`` (k, j) power of middling frequencies; ``total`` (k, rows, bins) sum over places; ``cells_seen`` (k,) how
    many; ``shape`` (k, j, 3) power at the finest frequencies, below them and at middle ones; ``ok`` (k, j) which lie
    on the target.
    """

    starts: NDArray[np.int64]
    detail: F64
    total: F32
    shape: F64
    ok: NDArray[np.bool_]


def glance(view: View, placed: Placed, cells: Cells, slope: float) -> Preview:
    """Look at a dozen places in each of up to forty strips.

    Cells made short for a steep slope may hold a single tick of a coarse ruling, whose turn they cannot tell: where
    no ruling shows, longer ones are tried in the strips and at the places that are richest in detail. A ruling so
    smooth that none of them shows it is known by its light, which repeats itself.
    """
    part = placed.part
    wide, length = part.across[1] - part.across[0], part.along[1] - part.along[0]
    starts = _starts(part, cells, min(STRIPS, max(1, wide * 2 // cells.rows)))
    places = _places(length, cells.block) + part.along[0]
    seen = _look(view, placed, cells, starts, places)
    # the second richest place: a strip with one speck of dust is not a target, a turned ruler is soon out of it
    best = np.sort(seen.detail, axis=1)[:, max(-2, -seen.detail.shape[1])]
    keep = best >= BLANK * np.percentile(best, 95)
    strips = tuple(int(s) for s in starts[keep])
    turn, marked = _turn(seen, keep, cells)
    noise = _noise_shape(seen.shape[keep][seen.ok[keep]])
    richest = tuple(int(s) for s in starts[np.argsort(best)[::-1][:LINES]])
    saw = _told(view, placed, cells, slope, (strips, turn, marked, richest, noise))
    if saw.marked >= RULED:
        return saw
    middles = places + cells.block // 2
    best_place = int(middles[int(np.argmax(seen.detail[keep].sum(axis=0)))])
    ticks = count_ticks(view, placed, cells, richest[:FEW_LINES], 0.0, best_place)
    repeats = ticks.period > 0.0 and ticks.steady >= STEADY
    if repeats and TICKS_PER_CELL * ticks.period <= cells.block:
        return _smooth(view, placed, saw, slope, richest[:FEW_LINES])
    few = middles[np.sort(np.argsort(seen.detail[keep].sum(axis=0))[-LONG_PLACES:])]
    some = starts[keep][np.unique(np.linspace(0, keep.sum() - 1, LONG_STRIPS).round().astype(int))]
    for block in (2 * cells.block, 4 * cells.block):
        longer = replace(cells, block=block, hop=block / 2)
        if longer.count(length) < PLACES:
            break
        at = np.unique(np.clip(few - block // 2, part.along[0], part.along[1] - block))
        again = _look(view, placed, longer, some, at)
        turn, marked = _turn(again, np.ones(len(some), np.bool_), longer)
        if marked >= RULED:
            found = _told(view, placed, longer, slope, (strips, turn, marked, richest, noise))
            if found.period > 0.0:
                return found
    return _smooth(view, placed, saw, slope, richest[:FEW_LINES]) if repeats else saw


def _smooth(view: View, placed: Placed, saw: Preview, slope: float, strips: Sequence[int]) -> Preview:
    """The glance of a ruling so smooth that its spectrum shows one frequency only, which marks no line: its light
    along the slope repeats itself all the same. Anything else comes back as it was.
    """
    ticks = count_ticks(view, placed, saw.cells, strips, 0.0)
    if not (ticks.period > 0.0 and ticks.steady >= STEADY):
        return saw
    length = placed.part.along[1] - placed.part.along[0]
    cells = cells_for_ruling(saw.cells, ticks.period, slope, length)
    return replace(saw, turn=ticks.turn, cells=cells, period=ticks.period, steady=True, smooth=True)


def _places(length: int, block: int) -> NDArray[np.int64]:
    """First pixels of cells spread over the slope at uneven distances: even ones may keep in step with the ticks and
    see the gaps between them only.

    Two of three lie at whole blocks, which pieces of files mostly hold whole, the third in the middle between: ticks
    just at the ends of the ones are in the middle of the others.
    """
    even = np.linspace(0, length - block, PLACES)
    uneven = 4.0 * block * ((np.arange(PLACES) * GOLDEN) % 1.0 - 0.5)
    whole = np.clip(even + uneven, 0, length - block) // block * block
    between = np.where(np.arange(PLACES) % 3 == 1, block // 2, 0)
    return np.unique(np.minimum(whole + between, length - block).astype(np.int64))


def _starts(part: Part, cells: Cells, many: int) -> NDArray[np.int64]:
    """First pixels of strips spread over the width; far between, they keep in step with the file's rows, which come
    in pieces of so many (a strip then lies in one).
    """
    room = part.across[1] - part.across[0] - cells.rows
    starts = np.unique(np.linspace(0, room, many).astype(np.int64))
    if room < 1.25 * many * cells.rows:
        return starts
    in_step = (starts + part.across[0]) // cells.rows * cells.rows - part.across[0]
    return np.unique(np.where(in_step >= 0, in_step, starts))


def _told(
    view: View, placed: Placed, cells: Cells, slope: float,
    seen: tuple[tuple[int, ...], float, float, tuple[int, ...], tuple[float, float]],
) -> Preview:  # fmt: skip
    """The glance that these cells give, its ticks counted if there are any."""
    strips, turn, marked, richest, noise = seen
    period, steady = 0.0, False
    if marked >= RULED:
        ticks = count_ticks(view, placed, cells, richest, turn)
        period = ticks.period if ticks.alike >= ALIKE else 0.0
        steady = period > 0.0 and ticks.steady >= STEADY
        if period > 0.0:
            length = placed.part.along[1] - placed.part.along[0]
            cells = cells_for_ruling(cells, period, slope, length)
    return Preview(strips, turn, marked, cells, period, *noise, steady)


def _look(
    view: View, placed: Placed, cells: Cells, starts: NDArray[np.int64], places: NDArray[np.int64]
) -> _Look:
    across0 = placed.part.across[0]
    middles = across0 + starts[:, None].astype(float) + cells.rows / 2
    ok = placed.wholly_inside(places[None, :].astype(float) + cells.block / 2, middles, cells)
    fy, fx = frequencies(cells)
    radial = np.hypot(fx, fy)
    band = (radial > 0.03) & (radial < 0.2) & (fx > 0.02)
    rings = [(radial > a) & (radial <= b) for a, b in ((0.42, 0.5), (0.3, 0.38), (0.1, 0.16))]
    detail, shape = np.zeros(ok.shape), np.zeros((*ok.shape, 3))
    total = np.zeros((len(starts), cells.rows, cells.block // 2 + 1), np.float32)
    for k, j, light in prefetch(_blocks(view, across0, cells, starts, places), AHEAD):
        within = np.arange(light.shape[1] // cells.block) * cells.block
        power = cell_power(light, cells, within)[0]
        power *= ok[k, j, None, None]
        detail[k, j] = power[:, band].mean(axis=1)
        shape[k, j] = np.stack([power[:, ring].mean(axis=1) for ring in rings], axis=1)
        total[k] += power.sum(axis=0)
    return _Look(starts, detail, total, shape, ok)


def _blocks(
    view: View, across0: int, cells: Cells, starts: NDArray[np.int64], places: NDArray[np.int64]
) -> Iterator[tuple[int, slice, F32]]:
    """Light of cells, those of one strip side by side: strip, places, (rows, places * block).

    The file is walked along its own rows: strip by strip where the slope runs along them, else place by place.
    """
    spans = [(int(p), int(p) + cells.block) for p in places]
    strips = [(across0 + int(s), across0 + int(s) + cells.rows) for s in starts]
    if view.by_columns:
        for k, strip in enumerate(strips):
            yield k, slice(0, len(spans)), view.grey(spans, [strip])
        return
    for j, span in enumerate(spans):
        light = view.grey([span], strips)
        for k in range(len(strips)):
            yield k, slice(j, j + 1), light[k * cells.rows : (k + 1) * cells.rows]


def _turn(seen: _Look, keep: NDArray[np.bool_], cells: Cells) -> tuple[float, float]:
    mean = seen.total[keep].sum(axis=0) / max(int(seen.ok[keep].sum()), 1)
    return find_turn(np.asarray(mean, dtype=float), cells)


def _noise_shape(shape: F64) -> tuple[float, float]:
    """``Preview.roll_off`` and ``lift``, from the least sharp fifth of the cells; ``shape`` (n, 3) as in ``_Look``."""
    if len(shape) < 5 or not shape[:, 2].max() > 0:
        return 1.0, 1.0
    high, below, middle = np.median(shape[shape[:, 2] <= np.percentile(shape[:, 2], 20)], axis=0)
    return float(high / max(below, 1e-30)), float(high / max(middle, 1e-30))


def features_for(saw: Preview) -> tuple[Features, NDArray[np.bool_]]:
    """Features for what the preview saw, and which of them the height is judged by.

    A ruling is judged on its own line only (beside it lie dust, numerals and the ends of ticks), an even texture
    everywhere.
    """
    turned = saw.smooth or saw.marked >= PLAIN_TURN
    features = make_features(saw.cells, saw.turn if turned else 0.0, ruled=saw.ruled)
    return features, features.is_line if saw.ruled else np.ones_like(features.is_line)
