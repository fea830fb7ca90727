"""The ledge that a measured surface asks for: by how much to raise or lower it so that most of the film is sharp."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]

STEP_MM = 0.01
ROUNDING_MM = 1e-9


@dataclass(frozen=True)
class LedgeAdvice:
    """``change_mm`` to raise the ledge by (negative: lower it); shares of the known film that are sharp, now and then.

    ``height_mm`` of the film on the ledge afterwards; ``limited`` where the least gap to the glass stopped it.
    """

    change_mm: float
    height_mm: float
    sharp_now: float
    sharp_then: float
    limited: bool


def best_ledge(
    z_mm: F64, ledge_mm: float, band_mm: tuple[float, float], least_gap_mm: float = 0.0
) -> LedgeAdvice | None:
    """The change that puts most of a surface into the band; of equally good ones the middle. None for no heights.

    Parameters
    ----------
    z_mm:
        Measured heights above the glass, mm; nan where not known.
    ledge_mm:
        Height of the film on its ledge, mm.
    band_mm:
        Lowest and highest sharp height above the glass, mm.
    least_gap_mm:
        Nearer than this to the glass the lowest point may not come.
    """
    z = np.sort(z_mm[np.isfinite(z_mm)])
    if not z.size:
        return None
    low, high = band_mm
    steps = np.arange(low - float(z[-1]), high - float(z[0]) + STEP_MM, STEP_MM)
    allowed = float(z[0]) + steps >= least_gap_mm - ROUNDING_MM
    if not allowed.any():
        steps, allowed = np.array([least_gap_mm - float(z[0])]), np.array([True])
    # a place on the very edge of the band is in it, however the step to it was rounded
    first = np.searchsorted(z, low - steps - ROUNDING_MM, side="left")
    inside = np.searchsorted(z, high - steps + ROUNDING_MM, side="right") - first
    share = inside / z.size
    best = float(share[allowed].max())
    good = steps[allowed & (share >= best - 1e-9)]
    change = float(good[np.argmin(np.abs(good - float(np.median(good))))])
    now = float(np.mean((z >= low - ROUNDING_MM) & (z <= high + ROUNDING_MM)))
    limited = bool(share.max() > best + 1e-9)
    return LedgeAdvice(change, ledge_mm + change, now, best, limited)
