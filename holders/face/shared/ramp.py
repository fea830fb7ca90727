"""The focus ramp's files, for command line and page alike."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from holders.measure.ramp import RampGeometry
from holders.output.bundle.ramp_files import ramp_files

if TYPE_CHECKING:
    from holders.output.formats.export import Producer

RAMP_FOLDER = "focus-ramp"
KERF_MM = 0.18  # common practice for thin sheet, no source; measure your own with a test piece


def ramp_bundle(geometry: RampGeometry, sheet_mm: float | None) -> dict[str, Producer]:
    """File names, each with what makes it: the ramp, its geometry, its sheets where a thickness is given."""
    found: dict[str, Producer] = {
        **ramp_files(geometry, sheet_mm, KERF_MM),
        "ramp.json": partial(_geometry, geometry),
    }
    if sheet_mm is not None:
        found["ramp-from-sheet.json"] = partial(_geometry, geometry.from_sheet(sheet_mm))
    return found


def _geometry(geometry: RampGeometry) -> bytes:
    return bytes(geometry.model_dump_json(indent=1) + "\n", "utf-8")
