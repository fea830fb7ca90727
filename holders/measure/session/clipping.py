"""How much of a scan stands at the end of its scale, channel by channel."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.measure.scan.model import Scan

LOOKED_AT = 400  # rows of a scan at most, evenly spread


@dataclass(frozen=True, slots=True)
class Clipping:
    """Shares of pixels at the lower and at the upper end of the scale, one pair for each channel."""

    low: tuple[float, ...]
    high: tuple[float, ...]


def clipping_of(scan: Scan) -> Clipping:
    """The shares over rows spread evenly over an open scan.

    Raises ``InputError`` for a piece that cannot be read.
    """
    info = scan.info
    top = 2**info.bits - 1
    step = max(info.row_step, 1)
    starts = np.unique(
        np.linspace(0, max(info.height - 1, 0), LOOKED_AT // step + 1).astype(int) // step * step
    )
    low = np.zeros(info.channels)
    high = np.zeros(info.channels)
    seen = 0
    for first in starts:
        pixels = scan.read((int(first), int(min(first + step, info.height))), [(0, info.width)])
        low += (pixels <= 0).sum(axis=(0, 1))
        high += (pixels >= top).sum(axis=(0, 1))
        seen += pixels.shape[0] * pixels.shape[1]
    if info.white_is_zero:
        low, high = high, low
    return Clipping(tuple(float(v) / seen for v in low), tuple(float(v) / seen for v in high))
