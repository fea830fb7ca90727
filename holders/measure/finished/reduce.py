"""One walk over a scan of any size: a small picture of it, and how much fine detail each cell holds.

The fine detail is power per cell in two bands of the full-resolution scan, so that sharpness is judged on the pixels
as scanned, while rings and placement are judged on the small picture.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.finished.rings.bands import F32
from holders.measure.scan.model import Scan, to_float

F64 = NDArray[np.float64]
LONGEST = 2000  # px: long side of the small picture
STRIP_BYTES = 24 * 2**20  # float32 pixels held at once
CELLS = 48  # along the long side
DARK = 0.004


@dataclass(frozen=True)
class Reduced:
    """``small`` (rows, columns, channels) light; ``step`` scan pixels per small pixel; pitches in mm.

    ``fine`` and ``middle`` (j, i): power of the logarithm of light in two bands of the full scan, per cell; ``level``
    mean light; ``noise_like`` mean light's own noise is not taken out. ``cell_px`` side of a cell in scan pixels.
    """

    small: F32
    step: int
    pitch_mm: tuple[float, float]
    fine: F64
    middle: F64
    level: F64
    cell_px: int
    warnings: tuple[str, ...]


def pitches(scan: Scan, dpi: float | None) -> tuple[float, float]:
    """Pixel to pixel along columns and rows, mm.

    Raises
    ------
    InputError
        No resolution in the file and none given, or one that no bed has.
    """
    told = (dpi, dpi) if dpi is not None else (scan.info.dpi_x, scan.info.dpi_y)
    if told[0] is None or told[1] is None:
        raise InputError(
            "--dpi",
            "(missing)",
            f"{Path(scan.info.path).name} does not say its resolution: give the pixels per inch that it was scanned "
            "at, such as 1200",
        )
    for value in told:
        if value is not None and not 72.0 <= value <= 25600.0:
            raise InputError("--dpi", value, "no bed scans at this; give the scan's true pixels per inch")
    return 25.4 / told[0], 25.4 / told[1]


def reduce_scan(
    scan: Scan, *, dpi: float | None = None, progress: Callable[[float], None] | None = None
) -> Reduced:
    """Walk over the scan once, a strip of rows at a time.

    Raises
    ------
    InputError
        The scan is smaller than 64 pixels on a side, says no resolution, or a piece of it cannot be read.
    """
    info = scan.info
    if min(info.width, info.height) < 64:
        raise InputError("scan", info.path, f"{info.width} x {info.height} pixels are too few to inspect")
    pitch = pitches(scan, dpi)
    channels = {2: 1, 4: 3, 5: 3}.get(info.channels, info.channels)
    longest = max(info.width, info.height)
    step = -(-longest // LONGEST)
    cell = max(32, -(-longest // CELLS)) // step * step
    cell = max(cell, step)
    wide, high = info.width // step, info.height // step
    small = np.empty((high, wide, channels), np.float32)
    grid = (max(1, info.height // cell), max(1, info.width // cell))
    sums = np.zeros((3, *grid))
    counts = np.zeros(grid)
    per_row = info.width * channels * 4
    rows = max(1, min(STRIP_BYTES // per_row, 512) // step) * step
    rows = max(rows, -(-min(info.row_step, 256) // step) * step)
    for top in range(0, high * step, rows):
        until = min(top + rows, high * step)
        strip = to_float(scan.read((top, until), [(0, info.width)]), info)[:, :, :channels]
        part = strip[:, : wide * step].reshape((until - top) // step, step, wide, step, channels)
        small[top // step : until // step] = part.mean(axis=(1, 3))
        _detail(strip, top, cell, sums, counts)
        if progress is not None:
            progress(until / (high * step))
    mean = sums / np.maximum(counts, 1)
    return Reduced(
        small=small, step=step, pitch_mm=(pitch[0], pitch[1]), fine=mean[0], middle=mean[1], level=mean[2],
        cell_px=cell, warnings=info.warnings,
    )  # fmt: skip


def _detail(strip: F32, top: int, cell: int, sums: F64, counts: F64) -> None:
    """Add the strip's power in two bands to the cells: differences at 1 and at 4 pixels, both ways."""
    green = np.log(np.maximum(strip[:, :, min(1, strip.shape[2] - 1)], np.float32(DARK)))
    high, wide = green.shape
    if high < 9:
        return
    four = green[: high // 4 * 4, : wide // 4 * 4].reshape(high // 4, 4, wide // 4, 4).mean(axis=(1, 3))
    # second differences see no slope of tone; robustly: an edge across a cell must not pass for grain
    fine = _second(green)
    middle = np.repeat(np.repeat(_second(four), 4, 0), 4, 1)
    for j in range(top // cell, (top + high - 1) // cell + 1):
        if j >= sums.shape[1]:
            break
        a, b = max(j * cell - top, 0), min((j + 1) * cell - top, high)
        for i in range(sums.shape[2]):
            box = np.s_[a:b, i * cell : (i + 1) * cell]
            n = float((b - a) * cell)
            for k, plane in enumerate((fine, middle)):
                piece = plane[box]
                if piece.size:
                    sums[k, j, i] += n * float(np.median(piece))
            sums[2, j, i] += n * float(strip[box].mean())
            counts[j, i] += n


def _second(a: F32) -> F32:
    """Square of the second differences down and across, the same shape as ``a``."""
    out = np.zeros_like(a)
    out[1:-1] += (a[2:] - 2 * a[1:-1] + a[:-2]) ** 2
    out[:, 1:-1] += (a[:, 2:] - 2 * a[:, 1:-1] + a[:, :-2]) ** 2
    return out
