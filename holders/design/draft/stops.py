"""Loose stops beside a holder: how high, how long and how wide they must be to hold it."""

from __future__ import annotations

from holders.design.height.printed import printed_height
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.facts.models import Material, Printer, Route
from holders.preset.tables.plain import PlainPreset

LONG_MM = 60.0  # of a stop along the holder
LEAST_LONG_MM = 20.0  # touching along less, a holder turns about its stop
HIGH_MM = 3.0  # of a stop beside the holder's lowest sheet or wall
OVERLAP_MM = 1.0  # of stop and holder in height, at least
LEAST_DEEP_MM: dict[Route, float] = {
    "print": 2.0,
    "laser": 6.0,
    "knife": 10.0,
}  # a narrower strip is no stop: common practice, no source


def stop_height_mm(
    material: Material, printer: Printer | None, preset: PlainPreset, under_mm: float
) -> float:
    """How high a stop on the glass is made beside a holder whose underside is at ``under_mm``."""
    wish = under_mm + HIGH_MM
    if printer is not None:
        return printed_height(printer, wish)
    return nearest_sheet(sheet_thicknesses(material, preset), wish, least=under_mm + OVERLAP_MM)
