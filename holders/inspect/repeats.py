"""What repeats exactly is taken out of a band: printed screens, weave, ribs, fences.

Over a block of a few hundred pixels such patterns have all their power at single frequencies, while rings change their
pitch and spread over many. So no frequency of a block keeps more than a few times the amplitude that the frequencies
around it have (their median: robust against the peaks themselves).
"""

from __future__ import annotations

import numpy as np
from scipy import fft, ndimage

from holders.inspect.bands import F32

BLOCK = 256  # px; blocks overlap by half
MOST = 4.0  # of the amplitude around
CELL = 8  # bins of the side of a square whose median is taken


def without_repeats(band: F32) -> F32:
    """A band (channels, rows, columns) with the lone frequencies of its blocks cut down to what is around them."""
    half = BLOCK // 2
    _, high, wide = band.shape
    window = np.sin(np.pi * (np.arange(BLOCK) + 0.5) / BLOCK).astype(np.float32)  # its square sums to 1
    window = np.outer(window, window)
    rows, cols = (-(-n // half) * half - n for n in (high, wide))
    out = np.empty_like(band)
    for c, plane in enumerate(band):
        whole = np.pad(plane, ((half, half + rows), (half, half + cols)), mode="symmetric")
        total = np.zeros_like(whole)
        for r in range(0, whole.shape[0] - half, half):
            for k in range(0, whole.shape[1] - half, half):
                part = np.s_[r : r + BLOCK, k : k + BLOCK]
                total[part] += _evened(whole[part] * window) * window
        out[c] = total[half : half + high, half : half + wide]
    return out


def _evened(block: F32) -> F32:
    spectrum = fft.rfft2(block, workers=1)
    size = np.abs(spectrum)
    gain = np.minimum(1.0, MOST * _around(size) / np.maximum(size, 1e-12))
    return np.asarray(fft.irfft2(spectrum * gain, s=block.shape, workers=1), np.float32)


def _around(size: F32) -> F32:
    """Median amplitude near each bin: of squares first, then of nine squares."""
    rows, cols = BLOCK // CELL, BLOCK // 2 // CELL
    squares = size[:, :-1].reshape(rows, CELL, cols, CELL).transpose(0, 2, 1, 3).reshape(rows, cols, -1)
    middle = CELL * CELL // 2
    median = ndimage.median_filter(np.partition(squares, middle, axis=2)[:, :, middle], 3, mode="nearest")
    near = np.repeat(np.repeat(median, CELL, axis=0), CELL, axis=1)
    return np.asarray(np.concatenate([near, near[:, -1:]], axis=1), np.float32)
