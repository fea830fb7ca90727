"""Which sheets to lay on one another so that the ledge comes nearest to a wanted height (laser and knife)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from holders.errors import InputError
from holders.preset.resolve import Job

MOST_SHEETS = 4
WORTH_A_SHEET_MM = 0.05  # a further sheet (and glue line) must bring the height at least this much nearer


@dataclass(frozen=True, slots=True)
class Stack:
    """Sheet thicknesses from the glass upward, mm."""

    sheets: tuple[float, ...]

    @property
    def total(self) -> float:
        """Sum of the thicknesses."""
        return sum(self.sheets)


def sheet_thicknesses(job: Job) -> tuple[float, ...]:
    """The sheets at hand: the measured ones of the preset, else the material's nominal stock.

    Raises ``InputError`` when the material has neither.
    """
    given = tuple(job.preset.material.sheets_mm)
    found = given or job.material.stock_mm
    if not found:
        raise InputError(
            "material.sheets_mm", "(empty)", "measure the sheets that you have and list them here"
        )
    return tuple(sorted(set(found)))


def best_stack(thicknesses: Sequence[float], wanted: float) -> Stack:
    """The stack of up to four sheets nearest to ``wanted``; each sheet costs as much as 0.05 mm of error.

    The thickest lies at the bottom, so that the thinnest is the lip and shades least.
    """
    best: tuple[float, tuple[float, ...]] | None = None
    for count in range(1, MOST_SHEETS + 1):
        chosen = min(
            combinations_with_replacement(thicknesses, count),
            key=lambda sheets: (abs(sum(sheets) - wanted), sheets),
        )
        price = abs(sum(chosen) - wanted) + count * WORTH_A_SHEET_MM
        if best is None or price < best[0]:
            best = (price, chosen)
    assert best is not None  # MOST_SHEETS is at least one
    return Stack(tuple(sorted(best[1], reverse=True)))


def nearest_sheet(thicknesses: Sequence[float], wanted: float, least: float = 0.0) -> float:
    """The single sheet nearest to ``wanted`` that is at least ``least`` thick (the thickest if none is)."""
    enough = [t for t in thicknesses if t >= least] or [max(thicknesses)]
    return min(enough, key=lambda t: (abs(t - wanted), t))
