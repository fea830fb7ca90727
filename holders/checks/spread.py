"""How far the height of a stack of sheets may be off, as their tolerances allow."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from holders.design.model import Design

if TYPE_CHECKING:
    from holders.preset.resolve import Job

CALIPER_MM = 0.03  # a sheet that was measured with a plain caliper


def measured_sheets(job: Job) -> tuple[float, ...]:
    """The sheet thicknesses that the preset lists as measured, mm."""
    return tuple(getattr(job.preset.material, "sheets_mm", ()))


def stack_tolerance_mm(job: Job, design: Design) -> float:
    """Root sum of squares of the tolerances of the sheets below the film (mm, about two standard deviations).

    Sheets listed in the preset count as measured; others by the stock's tolerance.
    """
    ledge = design.heights.foot_protrusion + design.heights.ledge_height
    sheets = [s.z1 - s.z0 for part in design.parts for s in part.slabs if s.z1 <= ledge + 1e-6]
    if measured_sheets(job):
        return CALIPER_MM * math.sqrt(len(sheets))
    material = job.material
    return math.hypot(*(material.stock_tolerance_mm + material.stock_tolerance_share * t for t in sheets))
