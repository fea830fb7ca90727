"""A glance over a whole scan: where the target lies across it, whether it is ruled, how it is turned."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.focus.cut import Part, cells_for_ruling, ruling_period
from holders.focus.placed import Placed
from holders.focus.spectra import F32, F64, Cells, Features, cell_power, find_turn, frequencies, make_features
from holders.focus.view import View

STRIPS, PLACES = 40, 12
RULED = 6.0  # times more power on the ruling's line than beside it
PLAIN_TURN = 3.0
BLANK = 0.1  # strips with less detail than this share of the richest are margin
ALIKE = 0.3
LINE_PIXELS = (
    6000  # of the line in which the ticks are counted, where reading it all would decode the whole file
)


@dataclass(frozen=True)
class Glance:
    """What was seen: strips (first pixel across) that hold the target, its turn (tangent) and how marked a ruling it
    is, the cells to cut it into, the period of its ticks (pixels; 0: none). ``roll_off``: power at the very finest
    frequencies over that a little below, and over that of middle ones (``lift``), where the scan is least sharp: 1 for
    a sensor's own noise.
    """

    strips: tuple[int, ...]
    turn: float
    marked: float
    cells: Cells
    period: float
    roll_off: float = 1.0
    lift: float = 1.0


def glance(view: View, placed: Placed, cells: Cells, slope: float) -> Glance:
    """Look at a dozen places in each of up to forty strips.

    Cells made short for a steep slope may hold a single tick of a coarse ruling, whose turn they cannot tell: where
    no ruling shows, longer ones are tried.
    """
    saw = _look(view, placed, cells, slope)
    length = placed.part.along[1] - placed.part.along[0]
    for block in (2 * cells.block, 4 * cells.block):
        longer = replace(cells, block=block, hop=block / 2)
        if saw.marked >= RULED or longer.count(length) < PLACES:
            break
        again = _look(view, placed, longer, slope)
        if again.marked >= RULED and again.period > 0.0:
            return again
    return saw


def _look(view: View, placed: Placed, cells: Cells, slope: float) -> Glance:
    part = placed.part
    starts, places, power = _spectra(view, part, cells)
    middles = part.across[0] + starts[:, None].astype(float) + cells.rows / 2
    along = places[None, :].astype(float) + cells.block / 2
    ok = placed.wholly_inside(along, middles, cells)
    power *= ok[:, :, None, None]
    fy, fx = frequencies(cells)
    radial = np.hypot(fx, fy)
    band = (radial > 0.03) & (radial < 0.2) & (fx > 0.02)
    detail = np.sort(power[:, :, band].mean(axis=2), axis=1)
    # the second richest place: a strip with one speck of dust is not a target, a turned ruler is soon out of it
    best = detail[:, max(-2, -detail.shape[1])]
    keep = best >= BLANK * np.percentile(best, 95)
    seen = power[keep].sum(axis=(0, 1)) / max(int(ok[keep].sum()), 1)
    turn, marked = find_turn(np.asarray(seen, dtype=float), cells)
    strips = tuple(int(s) for s in starts[keep])
    period = 0.0
    if marked >= RULED:
        found, alike = ruling_period(_line(view, placed, cells, int(starts[int(np.argmax(best))]), turn))
        period = found if alike >= ALIKE else 0.0
        if period > 0.0:
            cells = cells_for_ruling(cells, period, slope, part.along[1] - part.along[0])
    return Glance(strips, turn, marked, cells, period, *_noise_shape(power[keep][ok[keep]], radial))


def _noise_shape(power: F32, radial: F64) -> tuple[float, float]:
    """``Glance.roll_off`` and ``lift``, from the least sharp fifth of the cells."""
    top, below = (radial > 0.42) & (radial <= 0.5), (radial > 0.3) & (radial <= 0.38)
    middle = (radial > 0.1) & (radial <= 0.16)
    sharp = power[:, middle].mean(axis=1)
    if len(sharp) < 5 or not sharp.max() > 0:
        return 1.0, 1.0
    dull = power[sharp <= np.percentile(sharp, 20)]
    high = np.median(dull[:, top].mean(axis=1))
    return (
        float(high / max(np.median(dull[:, below].mean(axis=1)), 1e-30)),
        float(high / max(np.median(dull[:, middle].mean(axis=1)), 1e-30)),
    )


def _spectra(view: View, part: Part, cells: Cells) -> tuple[NDArray[np.int64], NDArray[np.int64], F32]:
    """First pixels of strips (across) and places (along), and spectra (strips, places, rows, bins)."""
    wide, length = part.across[1] - part.across[0], part.along[1] - part.along[0]
    many = min(STRIPS, max(1, wide * 2 // cells.rows))
    starts = np.unique(np.linspace(0, wide - cells.rows, many).astype(np.int64))
    places = np.unique(np.linspace(0, length - cells.block, PLACES).astype(np.int64)) + part.along[0]
    spans = [(int(p), int(p) + cells.block) for p in places]
    within = np.arange(len(spans)) * cells.block
    if view.by_columns:
        strips = (
            view.read(spans, (part.across[0] + s, part.across[0] + s + cells.rows)) for s in starts.tolist()
        )
        return starts, places, np.asarray([cell_power(s.mean(axis=2), cells, within)[0] for s in strips])
    whole = np.concatenate([view.read([s], part.across).mean(axis=2) for s in spans], axis=1)
    return (
        starts,
        places,
        np.asarray([cell_power(whole[s : s + cells.rows], cells, within)[0] for s in starts.tolist()]),
    )


def _line(view: View, placed: Placed, cells: Cells, strip: int, turn: float) -> F64:
    """Light along a strip, its rows slid over each other so that the ticks fall together."""
    a, b = placed.part.along
    first = placed.part.across[0] + strip
    if placed.inside is not None:
        within = np.nonzero(
            placed.inside(np.arange(a, b, dtype=float), np.full(b - a, first + cells.rows / 2))
        )[0]
        if len(within):
            a, b = a + int(within[0]), a + int(within[-1]) + 1
    if not view.by_columns and not view.scan.info.random_access and b - a > LINE_PIXELS:
        a = (a + b - LINE_PIXELS) // 2
        b = a + LINE_PIXELS
    light = view.read([(a, b)], (first, first + cells.rows)).mean(axis=2)
    slides = np.rint(turn * (np.arange(cells.rows) - cells.rows / 2)).astype(int)
    return np.asarray(
        np.mean([np.roll(row, -k) for row, k in zip(light, slides, strict=True)], axis=0), dtype=float
    )


def features_for(cells: Cells, turn: float, marked: float) -> tuple[Features, NDArray[np.bool_]]:
    """Features for what the preview saw, and which of them the height is judged by.

    A ruling is judged on its own line only (beside it lie dust, numerals and the ends of ticks), an even texture
    everywhere.
    """
    ruled = marked >= RULED
    features = make_features(cells, turn if marked >= PLAIN_TURN else 0.0, ruled=ruled)
    return features, features.is_line if ruled else np.ones_like(features.is_line)
