"""How a scan is cut into cells: as the slope allows and as the target asks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.errors import InputError
from holders.focus.scan import Span
from holders.focus.spectra import F64, Cells
from holders.focus.view import View

HEIGHT_PER_CELL = 0.13  # mm: a cell's blur is nearly one blur
RULED_HEIGHT_PER_CELL = 0.45  # mm: ticks may be far apart; the curve is then smoothed evenly on both sides
FIRST_PEAK = 0.4  # of the highest
LEAST_PLACES, GOOD_PLACES = 16, 60


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
    fits = [Cells(b, rows, view.pitch_mm, b / 2) for b in (256, 128, 64, 32)]
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


def cells_for_ruling(cells: Cells, period: float, slope: float, length: int) -> Cells:
    """Cells in step with a ruling of ``period`` pixels, each with two ticks or more where the slope allows it."""
    from scipy.fft import next_fast_len  # noqa: PLC0415

    hop = period * max(1, int(np.ceil(24.0 / period)))
    most = RULED_HEIGHT_PER_CELL / (abs(slope) * cells.pitch_mm)
    block = int(max(2.6 * period, 2.0 * hop, 48.0))
    block = 2 * next_fast_len(block // 2, real=True)
    made = Cells(block, cells.rows, cells.pitch_mm, hop)
    return made if block <= most and made.count(length) >= LEAST_PLACES else cells


def ruling_period(line: F64) -> tuple[float, float]:
    """Period of the ticks along a line of light, pixels, and how alike the line is to itself one period on (0..1).

    Autocorrelation of the line without its slow shading finds the period, the peak of the whole line's spectrum near
    it makes it exact to a small part of a period over the whole length. Zero if there is none.
    """
    from scipy import fft  # noqa: PLC0415
    from scipy.ndimage import uniform_filter1d  # noqa: PLC0415

    n = len(line)
    flat = line - uniform_filter1d(line, max(5, min(n // 8, 401)), mode="nearest")
    spectrum = np.abs(fft.rfft(flat, 2 * n)) ** 2
    alike = fft.irfft(spectrum)[: n // 4]
    alike = alike / max(float(alike[0]), 1e-30) / (1.0 - np.arange(len(alike)) / n)
    dips = np.nonzero(alike < 0.0)[0]
    if len(dips) == 0 or len(alike) - dips[0] < 8:
        return 0.0, 0.0
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
    return 2.0 * n / k_exact, float(alike[at])
