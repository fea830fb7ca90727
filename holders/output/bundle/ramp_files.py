"""Which files the focus ramp gets."""

from __future__ import annotations

from holders.design.ramp_parts import cut_ramp, lid_frame, printed_ramp
from holders.measure.ramp import RampGeometry
from holders.output.formats.export import Export, Producer
from holders.output.formats.registry import export_files

TITLE, STEM = "focus ramp", "ramp"


def ramp_files(ramp: RampGeometry, sheet_mm: float | None, kerf_mm: float) -> dict[str, Producer]:
    """File names, each with what makes it: the printed ramp, and its sheets when a thickness is given."""
    found = export_files(Export(TITLE, STEM, "print", (printed_ramp(ramp), lid_frame(ramp))))
    if sheet_mm is None:
        return found
    cut = cut_ramp(ramp.from_sheet(sheet_mm), sheet_mm)
    sheets = Export(TITLE, STEM, "laser", tuple(cut), kerf_mm, modelled=False)
    return found | export_files(sheets)
