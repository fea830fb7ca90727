"""A scan of stood film in pieces: a small picture of all of it, and averaged windows at full resolution."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.scan.model import Scan, to_float

F32 = NDArray[np.float32]
COARSE_MM, FINE_MM = 0.2, 0.02
HELD_BYTES = 24 * 2**20
LEAST_DPI, MOST_DPI = 72.0, 25600.0
LEAST_PIXELS = 48


@dataclass(frozen=True)
class Grid:
    """Mean light of blocks of pixels. ``light`` (rows, columns); ``left_mm``, ``top_mm`` is the outer corner of the
    first block, ``pitch_x``, ``pitch_y`` from block to block, mm.
    """

    light: F32
    left_mm: float
    top_mm: float
    pitch_x: float
    pitch_y: float

    def index(self, x_mm: NDArray[np.float64], y_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """(2, ...) row and column indices of points; the middle of the first block is 0."""
        return np.stack(
            [(y_mm - self.top_mm) / self.pitch_y - 0.5, (x_mm - self.left_mm) / self.pitch_x - 0.5]
        )


@dataclass(frozen=True)
class Sheet:
    """An opened scan with its pixel pitch across columns and rows, mm."""

    scan: Scan
    pitch_x: float
    pitch_y: float

    @property
    def width_mm(self) -> float:
        """Across the columns."""
        return self.scan.info.width * self.pitch_x

    @property
    def height_mm(self) -> float:
        """Across the rows."""
        return self.scan.info.height * self.pitch_y

    def steps(self, pitch_mm: float) -> tuple[int, int]:
        """How many pixels across and down make a block of about that size, at least one."""
        return max(1, round(pitch_mm / self.pitch_x)), max(1, round(pitch_mm / self.pitch_y))

    def window(
        self, x_mm: tuple[float, float], y_mm: tuple[float, float], pitch_mm: float,
        progress: Callable[[float], None] | None = None,
    ) -> Grid:  # fmt: skip
        """Mean light on a grid of about ``pitch_mm`` over a part of the scan, read a few rows at a time."""
        info = self.scan.info
        kx, ky = self.steps(pitch_mm)
        # blocks start at whole multiples, so that neighbouring windows agree
        c0, c1 = _span(x_mm, self.pitch_x, kx, info.width)
        r0, r1 = _span(y_mm, self.pitch_y, ky, info.height)
        wide, high = (c1 - c0) // kx, (r1 - r0) // ky
        light = np.empty((high, wide), np.float32)
        used = {2: 1, 4: 3, 5: 3}.get(info.channels, info.channels)
        at_once = max(ky, HELD_BYTES // ((c1 - c0) * info.channels * 6) // ky * ky)
        at_once = max(at_once, -(-min(info.row_step, 512) // ky) * ky)
        for top in range(r0, r0 + high * ky, at_once):
            until = min(top + at_once, r0 + high * ky)
            pixels = to_float(self.scan.read((top, until), [(c0, c0 + wide * kx)]), info)[:, :, :used]
            grey = pixels.mean(axis=2, dtype=np.float32)
            part = grey.reshape((until - top) // ky, ky, wide, kx).mean(axis=(1, 3))
            light[(top - r0) // ky : (until - r0) // ky] = part
            if progress is not None:
                progress((until - r0) / (high * ky))
        return Grid(light, c0 * self.pitch_x, r0 * self.pitch_y, kx * self.pitch_x, ky * self.pitch_y)


def _span(mm: tuple[float, float], pitch: float, step: int, size: int) -> tuple[int, int]:
    whole = size // step * step
    a = max(0, min(int(mm[0] / pitch) // step * step, whole - step))
    b = min(whole, max(a + step, -(-int(np.ceil(mm[1] / pitch)) // step) * step))
    return a, b


def sheet_of(scan: Scan, dpi: float | None) -> Sheet:
    """The scan with its pitch; ``dpi`` overrides what the file says.

    Raises
    ------
    InputError
        No resolution known, one that no bed has, or too few pixels.
    """
    info = scan.info
    across, down = (dpi, dpi) if dpi is not None else (info.dpi_x, info.dpi_y)
    if across is None or down is None:
        raise InputError(
            "--dpi", "(missing)", f"{Path(info.path).name} does not say its resolution: give the pixels per inch that "
            "it was scanned at, such as 600",
        )  # fmt: skip
    for value in (across, down):
        if not LEAST_DPI <= value <= MOST_DPI:
            raise InputError("--dpi", value, "no bed scans at this; give the scan's true pixels per inch")
    if min(info.width, info.height) < LEAST_PIXELS:
        raise InputError(
            "scan", info.path, f"{info.width} x {info.height} pixels are too few to measure an arc"
        )
    return Sheet(scan, 25.4 / across, 25.4 / down)


def coarse_of(sheet: Sheet, progress: Callable[[float], None] | None = None) -> Grid:
    """A small picture of the whole scan, about 0.2 mm from block to block."""
    return sheet.window((0.0, sheet.width_mm), (0.0, sheet.height_mm), COARSE_MM, progress)
