"""One walk over a scan of any size: a small picture of it, and the spectra of small blocks of its full resolution.

Sharpness is judged on the blocks, rings and placement on the small picture.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.finished.blur.blocks import BlockSpectra, BlockWalk
from holders.measure.finished.rings.bands import F32
from holders.measure.scan.model import Pixels, Scan, ScanInfo, to_float

F64 = NDArray[np.float64]
Counts = NDArray[np.uint16]
LONGEST = 2000  # px: long side of the small picture
STRIP_BYTES = 12 * 2**20  # float32 pixels held at once


@dataclass(frozen=True)
class Reduced:
    """``small`` (rows, columns, channels) light; ``step`` scan pixels per small pixel; pitches in mm.

    ``blocks``: spectra of the scan at its full resolution, middle channel. ``ends`` (2, rows, columns, channels): how
    many of the scan's pixels in each small one stand at the lower and at the upper end of the file's scale.
    """

    small: F32
    step: int
    pitch_mm: tuple[float, float]
    blocks: BlockSpectra
    warnings: tuple[str, ...]
    ends: Counts

    @property
    def small_pitch_mm(self) -> tuple[float, float]:
        """From pixel to pixel of the small picture, along columns and rows."""
        return self.pitch_mm[0] * self.step, self.pitch_mm[1] * self.step


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
    wide, high = info.width // step, info.height // step
    small = np.empty((high, wide, channels), np.float32)
    ends = np.zeros(
        (2, high, wide, channels), np.uint16
    )  # a side of 400 000 px gives 200 x 200 in each at most
    walk = BlockWalk(info.width, info.height, float(np.sqrt(pitch[0] * pitch[1])), info.bits)
    one = min(1, channels - 1)  # green: most of what the eye calls sharp
    per_row = info.width * channels * 4
    rows = max(1, min(STRIP_BYTES // per_row, 512) // step) * step
    rows = max(rows, -(-min(info.row_step, 256) // step) * step)
    for top in range(0, high * step, rows):
        until = min(top + rows, high * step)
        pixels = scan.read((top, until), [(0, info.width)])
        _count(pixels[:, : wide * step, :channels], info, step, ends[:, top // step : until // step])
        strip = to_float(pixels, info)[:, :, :channels]
        part = strip[:, : wide * step].reshape((until - top) // step, step, wide, step, channels)
        small[top // step : until // step] = part.mean(axis=(1, 3))
        walk.add(strip[:, :, one])
        if progress is not None:
            progress(until / (high * step))
    return Reduced(
        small=small, step=step, pitch_mm=(pitch[0], pitch[1]), blocks=walk.done(), warnings=info.warnings,
        ends=ends,
    )  # fmt: skip


def _count(pixels: Pixels, info: ScanInfo, step: int, into: Counts) -> None:
    """Count a strip's pixels at the ends of the file's scale, into the small pixels (2, rows, columns, channels)."""
    bottom, top = pixels == 0, pixels == 2**info.bits - 1
    _, rows, wide, channels = into.shape
    for number, at_end in enumerate((top, bottom) if info.white_is_zero else (bottom, top)):
        if at_end.any():
            into[number] = at_end.reshape(rows, step, wide, step, channels).sum(axis=(1, 3), dtype=np.uint16)
