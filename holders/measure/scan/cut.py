"""How a scan is cut into cells: as the slope allows and as the target asks."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.core.errors import InputError
from holders.measure.scan.model import Span
from holders.measure.scan.small import smooth_length
from holders.measure.scan.spectra import Cells
from holders.measure.scan.view import View

HEIGHT_PER_CELL = 0.13  # mm: a cell's blur is nearly one blur
RULED_HEIGHT_PER_CELL = 0.45  # mm: ticks may be far apart; the curve is then smoothed evenly on both sides
TICKS_PER_CELL = 2.6
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


def widest_ticks_mm(slope: float) -> float:
    """Distance between ticks, mm, up to which cells in step with them are short enough for the slope."""
    return RULED_HEIGHT_PER_CELL / (TICKS_PER_CELL * abs(slope))


def cells_for_ruling(cells: Cells, period: float, slope: float, length: int) -> Cells:
    """Cells in step with a ruling of ``period`` pixels, each with two ticks or more where the slope allows it."""
    hop = period * max(1, int(np.ceil(24.0 / period)))
    most = RULED_HEIGHT_PER_CELL / (abs(slope) * cells.pitch_mm)
    block = int(max(TICKS_PER_CELL * period, 2.0 * hop, 48.0))
    block = 2 * smooth_length(block // 2)
    made = Cells(block, cells.rows, cells.pitch_mm, hop)
    return made if block <= most and made.count(length) >= LEAST_PLACES else cells
