"""Signs in a scan that the measurement may mislead: clipping, upscaling, sharpening, moire."""

from __future__ import annotations

import numpy as np

from holders.measure.slope.judge import Fit
from holders.measure.slope.profile import F64
from holders.measure.slope.target.preview import Preview

CLIPPED = 0.02
FOLDED = 0.1  # of the power in the richest ring
QUARTER = 0.23  # cycles per pixel


def signs_in_pixels(clipped: float) -> list[str]:
    """What the levels themselves say; ``clipped`` is the share of pixels at either end of the scale."""
    if clipped <= CLIPPED:
        return []
    return [f"{100 * clipped:.0f} % of the pixels are clipped: scan with less contrast or exposure"]


def signs_in_spectrum(saw: Preview) -> list[str]:
    """What the noise says: a sensor's own noise is even over frequency, software's is not."""
    signs = []
    if saw.roll_off < 0.3:
        signs.append(
            "there is hardly even noise at the finest frequencies: the scan is upscaled or smoothed; scan at the "
            "sensor's own resolution with every correction off"
        )
    if saw.lift > 1.6:
        signs.append(
            "noise grows towards the finest frequencies: the scan is sharpened in software; switch sharpening off and "
            "scan again"
        )
    return signs


def signs_in_ruling(fit: Fit, cycles: F64) -> list[str]:
    """Whether the ruling's own period is so fine that its overtones cannot be carried by the pixels.

    ``cycles`` (f,): frequencies of the features in cycles per pixel. A ring beyond a quarter that is as rich as the
    coarse ones is a fundamental: its first overtone lies at or beyond the pixels' limit.
    """
    best = np.exp(fit.curve.curves[:, 0]) - fit.curve.noise
    if not (best[cycles > QUARTER] > FOLDED * best.max()).any():
        return []
    return [
        "the ruling is too fine for these pixels: its overtones come back as false detail (aliasing); scan finer or "
        "use a coarser ruling"
    ]
