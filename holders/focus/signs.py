"""Signs in a scan that the measurement may mislead: clipping, upscaling, sharpening, moire."""

from __future__ import annotations

from holders.focus.glance import Glance

CLIPPED = 0.02
FINEST_TICK_PIXELS = 4.5


def signs_in_pixels(clipped: float) -> list[str]:
    """What the levels themselves say; ``clipped`` is the share of pixels at either end of the scale."""
    if clipped <= CLIPPED:
        return []
    return [f"{100 * clipped:.0f} % of the pixels are clipped: scan with less contrast or exposure"]


def signs_in_spectrum(saw: Glance) -> list[str]:
    """What noise and ruling say: a sensor's own noise is even over frequency, software's is not.

    A ruling with fewer than about four pixels to a tick has its overtones beyond what the pixels can carry: they
    come back as false detail.
    """
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
    if 0.0 < saw.period < FINEST_TICK_PIXELS:
        signs.append(
            f"the ruling has only {saw.period:.1f} pixels to a tick: its overtones alias; scan finer or use a coarser "
            "ruling"
        )
    return signs
