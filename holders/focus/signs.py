"""Signs in a scan that the measurement may mislead: clipping, upscaling, sharpening."""

from __future__ import annotations

import numpy as np

from holders.focus.sample import Taken
from holders.focus.spectra import Features

CLIPPED = 0.02


def signs_in_pixels(clipped: float) -> list[str]:
    """What the levels themselves say; ``clipped`` is the share of pixels at either end of the scale."""
    if clipped <= CLIPPED:
        return []
    return [f"{100 * clipped:.0f} % of the pixels are clipped: scan with less contrast or exposure"]


def signs_in_spectrum(taken: Taken, features: Features, pitch_mm: float) -> list[str]:
    """What the noise says: a sensor's own is even over frequency, software's is not.

    The lowest power of each ring along the slope, where the target is blurred away, is the noise (or bounds it).
    """
    power = taken.power.mean(axis=(0, 1))
    floor = np.percentile(power, 8, axis=0)
    nyquist = 0.5 / pitch_mm
    beside = ~features.is_line
    top = beside & (features.frequency > 0.75 * nyquist)
    middle = beside & (features.frequency > 0.3 * nyquist) & (features.frequency < 0.6 * nyquist)
    if not (top.any() and middle.any()):
        return []
    ratio = float(floor[top].mean() / max(floor[middle].mean(), 1e-30))
    if ratio < 0.25:
        return [
            "there is no detail and hardly noise near the finest frequencies: the scan is upscaled or smoothed; scan "
            "at the sensor's own resolution with every correction off"
        ]
    if ratio > 1.6:
        return [
            "noise grows towards the finest frequencies: the scan is sharpened in software; switch sharpening off and "
            "scan again"
        ]
    return []
