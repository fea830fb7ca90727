"""The sheets of a holder that is cut (laser and knife): the stack below the ledge, and single sheets above it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holders.design.height.stacks import Target, glue_of, ranked, sheet_thicknesses, sheets_at_hand
from holders.facts.models import Material
from holders.preset.tables.plain import PlainPreset

__all__ = ["Stack", "chosen_stack", "nearest_sheet", "sheet_thicknesses"]


@dataclass(frozen=True, slots=True)
class Stack:
    """Sheet thicknesses from the glass upward and the glue line between any two, mm."""

    sheets: tuple[float, ...]
    glue_mm: float = 0.0

    @property
    def total(self) -> float:
        """Sheets and glue lines together."""
        return sum(self.sheets) + self.glued

    @property
    def glued(self) -> float:
        """What the glue lines add."""
        return (len(self.sheets) - 1) * self.glue_mm


def chosen_stack(material: Material, preset: PlainPreset, target: Target) -> Stack:
    """The stack that ranks first of all that the sheets at hand make.

    Raises ``InputError`` when there are no sheets, or too many kinds.
    """
    glue = glue_of(material)
    best = ranked(sheets_at_hand(material, preset), target, glue)[0]
    return Stack(best.sheets_mm, glue.thickness_mm)


def nearest_sheet(thicknesses: Sequence[float], wanted: float, least: float = 0.0) -> float:
    """The single sheet nearest to ``wanted`` that is at least ``least`` thick (the thickest if none is)."""
    enough = [t for t in thicknesses if t >= least] or [max(thicknesses)]
    return min(enough, key=lambda t: (abs(t - wanted), t))
