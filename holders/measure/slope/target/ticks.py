"""The ticks of a ruling along the slope: their period, how faithfully they repeat, and how they lean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from holders.measure.scan.model import Span
from holders.measure.scan.small import running_mean
from holders.measure.scan.spectra import F32, F64, MAX_TURN, Cells
from holders.measure.scan.view import View
from holders.measure.slope.target.placed import Placed

FIRST_PEAK = 0.4  # of the highest
REPEATS = 4
SHORT_LINE = 1500  # pixels in which ticks show that they repeat, where that is all one wants to know
LINE_PIXELS = 4500  # in which they are counted, where reading it all would decode the whole file


@dataclass(frozen=True)
class Ticks:
    """``period`` pixels (0: none); ``alike`` how alike the line is to itself one period on (0..1), ``steady`` the
    least of this over one to four periods: specks may lie as far apart as others do, but not four times over; ``turn``
    the tangent of the ticks' turn by the phase of the rows (0 where it cannot be told).
    """

    period: float = 0.0
    alike: float = 0.0
    steady: float = 0.0
    turn: float = 0.0


def ruling_period(line: F64) -> Ticks:
    """Period of the ticks along a line of light and how it repeats itself; the turn is left at 0.

    Autocorrelation of the line without its slow shading finds the period, the peak of the whole line's spectrum near
    it makes it exact to a small part of a period over the whole length. Zero if there is none.
    """
    n = len(line)
    flat = line - running_mean(line, max(5, min(n // 8, 401)))
    spectrum = np.abs(np.fft.rfft(flat, 2 * n)) ** 2
    whole = np.fft.irfft(spectrum)[: max(n // 4, n * 5 // 8)]
    whole = whole / max(float(whole[0]), 1e-30) / (1.0 - np.arange(len(whole)) / n)
    alike = whole[: n // 4]
    dips = np.nonzero(alike < 0.0)[0]
    if len(dips) == 0 or len(alike) - dips[0] < 8:
        return Ticks()
    start = int(dips[0])
    top = float(alike[start:].max())
    # the first peak of some height: not a multiple of the period, at which every fifth or tenth tick is longer
    at = start + int(np.argmax(alike[start:] >= FIRST_PEAK * top))
    while at + 1 < len(alike) and alike[at + 1] > alike[at]:
        at += 1
    guess = 2.0 * n / at
    lo, hi = int(guess * 0.97), int(np.ceil(guess * 1.03)) + 1
    k = lo + int(np.argmax(spectrum[lo : hi + 1]))
    a, b, c = np.log(np.maximum(spectrum[k - 1 : k + 2], 1e-30))
    bend = a - 2.0 * b + c
    k_exact = k + (float(0.5 * (a - c) / bend) if bend < 0 else 0.0)
    period = 2.0 * n / k_exact
    later = np.rint(period * np.arange(1, REPEATS + 1)).astype(int)
    steady = float(whole[later].min()) if later[-1] < len(whole) else 0.0
    return Ticks(period, float(alike[at]), steady)


def count_ticks(
    view: View, placed: Placed, cells: Cells, strips: Sequence[int], turn: float, near: int | None = None
) -> Ticks:
    """The ticks in the strip where they repeat themselves best; ``near``: only in a short line round that pixel.

    One strip may hold nothing but the ends of every fifth tick, or numerals.
    """
    a, b = placed.part.along
    middles = [placed.part.across[0] + s + cells.rows / 2 for s in strips]
    if placed.inside is not None:
        along = np.arange(a, b, dtype=float)
        within = np.nonzero(placed.inside(along, np.full(b - a, middles[0])))[0]
        if len(within):
            a, b = a + int(within[0]), a + int(within[-1]) + 1
    if near is not None and b - a > SHORT_LINE:
        a = min(max(a, near - SHORT_LINE // 2), b - SHORT_LINE)
        b = a + SHORT_LINE
    elif not view.by_columns and not view.scan.info.random_access and b - a > LINE_PIXELS:
        a = (a + b - LINE_PIXELS) // 2
        b = a + LINE_PIXELS
    slides = np.rint(turn * (np.arange(cells.rows) - cells.rows / 2)).astype(int)
    best = Ticks()
    for light in lit(view, (a, b), [(int(m - cells.rows / 2), int(m + cells.rows / 2)) for m in middles]):
        # rows slid over each other so that the ticks fall together
        slid = [np.roll(row, -k) for row, k in zip(light, slides, strict=True)]
        found = ruling_period(np.asarray(np.mean(slid, axis=0), dtype=float))
        if found.alike > best.alike:
            best = Ticks(found.period, found.alike, found.steady, _lean(light, found.period))
    return best


def _lean(light: F32, period: float) -> float:
    """Tangent of the turn of ticks of ``period`` pixels, by how the phase of their fundamental moves over the rows."""
    if period <= 0.0:
        return 0.0
    rows, n = light.shape
    wave = np.exp(-2j * np.pi * np.arange(n) / period) * np.hanning(n)
    phase = (light - light.mean(axis=1, keepdims=True)) @ wave
    # the mean step between rows: blank rows have hardly any say
    step = np.angle((phase[1:] * phase[:-1].conj()).sum())
    turn = float(-step * period / (2.0 * np.pi))
    return turn if abs(turn) <= MAX_TURN and rows > 1 else 0.0


def lit(view: View, along: Span, strips: Sequence[Span]) -> Iterator[F32]:
    """Light of strips (rows, along), the file's rows read once where they hold all of them."""
    if view.by_columns:
        for strip in strips:
            yield view.grey([along], [strip])
        return
    step = 1024
    spans = [(i, min(along[1], i + step)) for i in range(along[0], along[1], step)]
    whole = np.concatenate([view.grey([s], strips) for s in spans], axis=1)
    rows = strips[0][1] - strips[0][0]
    for k in range(len(strips)):
        yield whole[k * rows : (k + 1) * rows]
