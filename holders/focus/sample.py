"""Which parts of a scan are read, and their spectra: only as much as the wanted certainty needs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.errors import InputError
from holders.focus.scan import Span
from holders.focus.spectra import F32, F64, Cells, Features, cell_power, find_turn, make_features
from holders.focus.view import View

Progress = Callable[[str, float], None]

HEIGHT_PER_CELL = 0.13  # mm: a cell's blur is nearly one blur
LEAST_PLACES, GOOD_PLACES = 16, 60
PREVIEW_STRIPS, PREVIEW_PLACES = 40, 12
CHUNK_PIXELS = 6_000_000
RULED = 6.0  # times more power on the ruling's line than beside it
PLAIN_TURN = 3.0


@dataclass(frozen=True)
class Part:
    """The part of a view that lies on the slope: spans in stored pixels."""

    along: Span
    across: Span


def choose_cells(view: View, part: Part, slope: float) -> Cells:
    """Cells short enough for the slope and long enough for the detail.

    Raises
    ------
    InputError
        Fewer than 16 places: too short a scan.
    """
    length, wide = part.along[1] - part.along[0], part.across[1] - part.across[0]
    rows = next((r for r in (64, 32, 16) if wide >= 1.5 * r or r == 16), 16)
    fits = [Cells(b, rows, view.pitch_mm) for b in (256, 128, 64, 32)]
    fine = [c for c in fits if c.block * view.pitch_mm * abs(slope) <= HEIGHT_PER_CELL]
    good = [c for c in fine if c.count(length) >= GOOD_PLACES]
    cells = good[0] if good else fits[-1] if not fine else fine[-1]
    if cells.count(length) < LEAST_PLACES or wide < rows:
        raise InputError(
            "scan",
            f"{length} x {wide} pixels on the slope",
            "too little to measure; scan finer or a longer part",
        )
    return cells


@dataclass(frozen=True)
class Taken:
    """Spectra of strips: power (channels, strips, n, f), level (channels, strips, n), share of pixels clipped."""

    power: F64
    level: F64
    clipped: float
    strips: tuple[int, ...]

    def joined(self, more: Taken) -> Taken:
        """Both together."""
        n, m = len(self.strips), len(more.strips)
        return Taken(
            np.concatenate([self.power, more.power], axis=1),
            np.concatenate([self.level, more.level], axis=1),
            (n * self.clipped + m * more.clipped) / (n + m),
            self.strips + more.strips,
        )


def preview(view: View, part: Part, cells: Cells) -> tuple[list[int], float, float]:
    """A glance at the whole part: which strips hold the target, how a ruling is turned, how marked it is."""
    wide = part.across[1] - part.across[0]
    starts = np.unique(
        np.linspace(0, wide - cells.rows, min(PREVIEW_STRIPS, max(1, wide * 2 // cells.rows))).astype(int)
    )
    length = part.along[1] - part.along[0]
    places = np.unique(np.linspace(0, length - cells.block, PREVIEW_PLACES).astype(int)) + part.along[0]
    spans = [(int(p), int(p) + cells.block) for p in places]
    spectra = []
    if view.by_columns:
        for s in starts:
            a = part.across[0] + int(s)
            spectra.append(_glance(view.read(spans, (a, a + cells.rows)).mean(axis=2), cells))
    else:
        whole = [view.read([s], part.across).mean(axis=2) for s in spans]
        for s in starts:
            spectra.append(_glance(np.concatenate([w[s : s + cells.rows] for w in whole], axis=1), cells))
    power = np.asarray(spectra)  # (strips, places, rows, bins)
    fy, fx = np.fft.fftfreq(cells.rows)[:, None], np.fft.rfftfreq(cells.block)[None, :]
    radial = np.hypot(fx, fy)
    band = (radial > 0.03) & (radial < 0.2) & (fx > 0.02)
    detail = (
        np.median(power[:, :, band].mean(axis=2), axis=1)
        if len(spans) < 4
        else np.sort(power[:, :, band].mean(axis=2), axis=1)[:, -4]
    )
    keep = detail >= 0.1 * np.percentile(detail, 95)
    turn, marked = find_turn(power[keep].mean(axis=(0, 1)), cells)
    return [int(s) for s in starts[keep]], turn, marked


def _glance(strip: F32, cells: Cells) -> F32:
    n = strip.shape[1] // cells.block
    out = [
        cell_power(np.ascontiguousarray(strip[:, i * cells.block : (i + 1) * cells.block]), cells)[0][0]
        for i in range(n)
    ]
    return np.asarray(out)


def plan(starts: list[int], part: Part, cells: Cells) -> list[list[int]]:
    """All strips worth reading, in passes: each spreads over the target, each doubles what came before."""
    wide = part.across[1] - part.across[0]
    hop = cells.rows // 2
    gap = max(hop, int(np.median(np.diff(starts)))) if len(starts) > 1 else wide
    every = [s for s in range(0, wide - cells.rows + 1, hop) if any(abs(s - t) <= gap for t in starts)] or [0]
    length = part.along[1] - part.along[0]
    passes: list[list[int]] = []
    done: set[int] = set()
    budget = max(6, 4_000_000 // (length * cells.rows // 2))
    while len(done) < len(every):
        n = min(len(every), budget if not done else 2 * len(done))
        at = {every[i] for i in np.unique(np.linspace(0, len(every) - 1, n).round().astype(int))} - done
        if not at:
            at = set(every) - done
        passes.append(sorted(at))
        done |= at
    return passes


def take(
    view: View, part: Part, cells: Cells, features: Features, strips: list[int], tell: Progress
) -> Taken:
    """Read strips and make their spectra, a few million pixels at a time."""
    channels = view.channels
    length = part.along[1] - part.along[0]
    n = cells.count(length)
    f = features.weights.shape[1]
    power = np.empty((channels, len(strips), n, f))
    level = np.empty((channels, len(strips), n))
    clipped = 0.0
    for i, j, data in _pieces(view, part, cells, strips):
        at, to = i, j
        count = cells.count(data.shape[2])
        share = count / n * data.shape[0] / len(strips)
        clipped += share * float(np.count_nonzero((data >= 0.9999) | (data <= 0.0))) / data.size
        for k in range(data.shape[0]):
            for c in range(channels):
                spectra, mean = cell_power(np.ascontiguousarray(data[k, :, :, c]), cells)
                power[c, at + k, to : to + count] = spectra.reshape(count, -1) @ features.weights
                level[c, at + k, to : to + count] = mean
        tell("reading", min(1.0, (at + data.shape[0]) / len(strips) * (to + count) / n))
    return Taken(power, level, clipped, tuple(strips))


def _pieces(view: View, part: Part, cells: Cells, strips: list[int]) -> Iterator[tuple[int, int, F32]]:
    """Pieces of strips: (first strip, first place, light (strips, rows, along, channels))."""
    length = part.along[1] - part.along[0]
    n = cells.count(length)
    if view.by_columns:
        for i, s in enumerate(strips):
            a = part.across[0] + s
            per = max(1, CHUNK_PIXELS // (cells.rows * cells.hop * view.channels))
            for first in range(0, n, per):
                last = min(n, first + per)
                lo = part.along[0] + first * cells.hop
                hi = part.along[0] + (last - 1) * cells.hop + cells.block
                yield i, first, view.read([(lo, hi)], (a, a + cells.rows))[None]
        return
    # the slope runs down the file: every strip is cut out of the same rows, read once
    low, high = strips[0], strips[-1] + cells.rows
    per = max(1, CHUNK_PIXELS // ((high - low) * cells.hop * view.channels))
    for first in range(0, n, per):
        last = min(n, first + per)
        lo = part.along[0] + first * cells.hop
        hi = part.along[0] + (last - 1) * cells.hop + cells.block
        block = view.read([(lo, hi)], (part.across[0] + low, part.across[0] + high))
        yield 0, first, np.stack([block[s - low : s - low + cells.rows] for s in strips])


def features_for(cells: Cells, turn: float, marked: float) -> tuple[Features, NDArray[np.bool_]]:
    """Features for what the preview saw, and which of them the height is judged by.

    A ruling is judged on its own line only (beside it lie dust, numerals and the ends of ticks), an even texture
    everywhere.
    """
    features = make_features(cells, turn if marked >= PLAIN_TURN else 0.0)
    judged = features.is_line if marked >= RULED else np.ones_like(features.is_line)
    return features, judged
