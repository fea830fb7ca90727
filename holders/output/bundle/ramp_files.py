"""Which files the focus ramp gets."""

from __future__ import annotations

from holders.design.ramp_parts import cut_ramp, printed_ramp
from holders.measure.ramp import RampGeometry
from holders.output.formats.export import Export, Producer
from holders.output.formats.registry import export_files

TITLE, STEM = "focus ramp", "ramp"


def ramp_files(ramp: RampGeometry, sheet_mm: float | None, kerf_mm: float) -> dict[str, Producer]:
    """File names, each with what makes it: the printed ramp, and its sheets when a thickness is given."""
    found = export_files(Export(TITLE, STEM, "print", (printed_ramp(ramp),)))
    if sheet_mm is None:
        return found
    sheets = Export(TITLE, STEM, "laser", tuple(cut_ramp(ramp, sheet_mm)), kerf_mm, modelled=False)
    return found | export_files(sheets)
