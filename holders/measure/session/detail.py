"""How much of a scan's finest detail is there, against its coarser detail, to compare the sheets of one session by.

Alone it says little, as it depends on picture, grain and noise; a sheet far below all others of its session, made with
the same scanner, holder and resolution, lay out of focus.
"""

from __future__ import annotations

import numpy as np

from holders.measure.scan.model import Scan, to_float

TILE_PX = 64
BANDS = 12  # of rows, spread over the scan
FINE = (0.2, 0.35)  # cycles per pixel
COARSE = (0.04, 0.1)
RIM = 0.15  # of width and height: the holder's own edges


def detail_of(scan: Scan) -> float:
    """Power of the finest detail over that of the coarser detail, the median over tiles; 0 for a scan without any.

    Raises ``InputError`` for a piece of the open scan that cannot be read.
    """
    info = scan.info
    rows = np.linspace(RIM * info.height, (1 - RIM) * info.height - TILE_PX, BANDS).astype(int)
    cols = (int(RIM * info.width), int((1 - RIM) * info.width))
    if rows[0] >= rows[-1] or cols[1] - cols[0] < TILE_PX:
        return 0.0
    ratios = np.concatenate([_ratios(_grey(scan, int(row), cols)) for row in rows])
    return float(np.median(ratios)) if ratios.size else 0.0


def _grey(scan: Scan, row: int, cols: tuple[int, int]) -> np.ndarray:
    light: np.ndarray = to_float(scan.read((row, row + TILE_PX), [cols]), scan.info).mean(axis=2)
    return light


def _ratios(strip: np.ndarray) -> np.ndarray:
    count = strip.shape[1] // TILE_PX
    tiles = strip[:, : count * TILE_PX].reshape(TILE_PX, count, TILE_PX).transpose(1, 0, 2)
    window = np.hanning(TILE_PX)
    tiles = (tiles - tiles.mean(axis=(1, 2), keepdims=True)) * window[:, None] * window[None, :]
    power = np.abs(np.fft.rfft2(tiles)) ** 2
    radius = np.hypot(np.fft.fftfreq(TILE_PX)[:, None], np.fft.rfftfreq(TILE_PX)[None, :])
    fine, coarse = (power[:, (radius >= low) & (radius < high)].mean(axis=1) for low, high in (FINE, COARSE))
    return np.asarray(fine[coarse > 0] / coarse[coarse > 0])
