"""What a lens that sees across its width in perspective does to a ramp's places, as the ramp's own two rows show it.

A point at height z above the glass appears nearer to the lens's axis by the share z / D. Both rows of marks are known
places at known heights, so between them the true place of any pixel at any height follows by a straight line in z, and
their scales give D. Only a slope that runs across the bed shows it: along the bed the carriage carries the lens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from holders.measure.ramp import RampGeometry
from holders.measure.scan.view import View
from holders.measure.slope.target.marks import MarkReading, RampSeen

LENS_MM = 300.0  # from a flatbed's lens to its glass along the folded path: common practice, no source
AXIS_MM = 60.0  # how far a ramp lies off the lens's axis, where that is not seen: half of a usual bed's half; judgement
ROWS_MM = 0.05  # by which two printed rows are off against each other; judgement
SCALES = 4e-4  # by which their scales differ; judgement
PLATE_MM = 0.15  # by which the rows' plates lie higher or lower than drawn; judgement
CLEAR = 4.0  # standard deviations by which rows must differ in scale before a distance is given


@dataclass(frozen=True)
class LensSeen:
    """From the glass to the lens along the folded path, mm, with its standard deviation."""

    distance_mm: float
    sigma_mm: float


def lens_seen(view: View, both: RampSeen, ramp: RampGeometry) -> LensSeen | None:
    """The lens's distance by the two rows' scales; None along the bed, or where they do not differ clearly."""
    if both.other is None or not view.by_columns:
        return None
    low, high = _heights(both, ramp)
    ratio = both.row.pixels_per_mm / both.other.pixels_per_mm
    curve = (ratio - 1.0) / (ratio * high - low)  # 1 / D
    unsure = math.hypot(SCALES, both.row.scale_sigma, both.other.scale_sigma)
    if ratio - 1.0 < CLEAR * unsure:
        return None
    share = math.hypot(unsure / (ratio - 1.0), math.sqrt(2.0) * PLATE_MM / (high - low))
    return LensSeen(1.0 / curve, share / curve)


def shift_at(
    view: View, both: RampSeen, ramp: RampGeometry, at_px: tuple[float, float], height_mm: float
) -> tuple[float, float]:
    """By how much the target at a pixel (along, across) lies higher than its row of marks says, and how unsure that is.

    ``height_mm``: the target's height there, near enough. (0, 0) for a slope along the bed.
    """
    if not view.by_columns:
        return 0.0, 0.0
    own = ramp.mark_height_mm(far=both.row.far)
    above = height_mm - own
    if both.other is None:
        return 0.0, ramp.slope * abs(above) / LENS_MM * AXIS_MM
    low, high = _heights(both, ramp)
    apart = _x(both.other, at_px) - _x(both.row, at_px)
    share = above / (high - low)
    unsure = math.hypot(ROWS_MM * share, apart * math.sqrt(2.0) * PLATE_MM / (high - low))
    return ramp.slope * apart * share, ramp.slope * unsure


def _heights(both: RampSeen, ramp: RampGeometry) -> tuple[float, float]:
    return ramp.mark_height_mm(far=both.row.far), ramp.mark_height_mm(far=not both.row.far)


def _x(row: MarkReading, at_px: tuple[float, float]) -> float:
    return float(row.x(np.array([at_px[0]]), np.array([at_px[1]]))[0])
