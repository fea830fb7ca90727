"""Scans read into small grey pictures, a band of rows at a time, two files beside each other.

A scan of any size becomes one channel at some 500 to 1200 pixels per inch: as much as the registration uses, and little
enough to stay in memory. Values are the root of the light (its noise is then nearly even), 0..65535.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.scan.model import Scan
from holders.measure.scan.opened import open_scan

FULL = 65535.0
MOST_PIXELS = 50_000_000  # of all small pictures together
ENOUGH_DPI = 1200.0
BAND_BYTES = 6 * 2**20  # of the file read at once
LEAST_SIDE = 200  # px of a scan: less shows no surface
UNLIKE_DPI = 0.002

U16 = NDArray[np.uint16]
Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class Picture:
    """One scan as the root of its light (rows, columns), 0..65535; ``pitch_mm`` pixel to pixel (across, along)."""

    path: str
    light: U16
    pitch_mm: tuple[float, float]
    scan_dpi: float
    warnings: tuple[str, ...]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the scan, mm."""
        return self.light.shape[1] * self.pitch_mm[0], self.light.shape[0] * self.pitch_mm[1]


def read_pictures(paths: Sequence[str | Path], dpi: float | None, progress: Progress) -> list[Picture]:
    """All scans of one measurement, alike in resolution.

    Raises
    ------
    InputError
        A scan that cannot be read, without resolution, too small, or of another resolution than the first.
    """
    with ExitStack() as opened:
        scans = []
        for path in paths:
            scans.append(open_scan(path))
            opened.callback(scans[-1].close)
        pitches = [_pitch(scan, dpi) for scan in scans]
        _refuse_unlike(scans, pitches)
        factor = _factor(scans, pitches[0])
        done = [0.0] * len(scans)

        def tell(which: int, share: float) -> None:
            done[which] = share
            progress("reading", sum(done) / len(done))

        def one(which: int) -> Picture:
            return _read(scans[which], pitches[which], factor, partial(tell, which))

        with ThreadPoolExecutor(2) as pool:
            return list(pool.map(one, range(len(scans))))


def _refuse_unlike(scans: Sequence[Scan], pitches: Sequence[tuple[float, float]]) -> None:
    for scan, pitch in zip(scans, pitches, strict=True):
        if any(abs(a / b - 1) > UNLIKE_DPI for a, b in zip(pitch, pitches[0], strict=True)):
            raise InputError(
                "SCAN",
                scan.info.path,
                f"it has {25.4 / pitch[0]:.0f} pixels per inch and the first scan {25.4 / pitches[0][0]:.0f}; scan "
                "both at the same resolution",
            )


def _pitch(scan: Scan, dpi: float | None) -> tuple[float, float]:
    info = scan.info
    across, along = (dpi, dpi) if dpi is not None else (info.dpi_x, info.dpi_y)
    name = Path(info.path).name
    if across is None or along is None:
        raise InputError(
            "--dpi", "(missing)", f"{name} does not say its resolution: give the pixels per inch that it was scanned "
            "at, such as 1200"
        )  # fmt: skip
    for value in (across, along):
        if not 72.0 <= value <= 25600.0:
            raise InputError("--dpi", value, "no bed scans at this; give the scan's true pixels per inch")
    if min(info.width, info.height) < LEAST_SIDE:
        raise InputError(
            "SCAN",
            info.path,
            f"{info.width} x {info.height} pixels are too few; scan at 600 pixels per inch or more",
        )
    return 25.4 / across, 25.4 / along


def _factor(scans: Sequence[Scan], pitch: tuple[float, float]) -> int:
    """How many pixels of a side become one."""
    most = max(s.info.width * s.info.height for s in scans)
    factor = max(1, int(25.4 / pitch[0] / ENOUGH_DPI))
    while most / factor**2 > MOST_PIXELS / len(scans):
        factor += 1
    return factor


def _read(scan: Scan, pitch: tuple[float, float], factor: int, tell: Callable[[float], None]) -> Picture:
    info = scan.info
    wide, high = info.width // factor, info.height // factor
    out = np.empty((high, wide), np.uint16)
    rows = max(1, BAND_BYTES // (info.width * info.channels * info.bits // 8) // factor) * factor
    rows = max(rows, -(-min(info.row_step, 512) // factor) * factor)
    channel = 1 if info.channels >= 3 else 0
    scale = 1.0 / ((255.0 if info.bits == 8 else FULL) * factor**2)
    for top in range(0, high * factor, rows):
        until = min(top + rows, high * factor)
        raw = scan.read((top, until), [(0, info.width)])[:, : wide * factor, channel]
        light = _binned(raw, factor) * np.float32(scale)
        if info.white_is_zero:
            light = 1 - light
        np.sqrt(np.clip(light, 0, 1, out=light), out=light)
        out[top // factor : until // factor] = np.rint(light * np.float32(FULL))
        tell(until / (high * factor))
    turned, swapped = _upright(out, info.orientation)
    pitch = (pitch[1], pitch[0]) if swapped else pitch
    return Picture(info.path, turned, (pitch[0] * factor, pitch[1] * factor), 25.4 / pitch[0], info.warnings)


def _binned(raw: NDArray[Any], factor: int) -> NDArray[np.float32]:
    """Sums of blocks of ``factor`` x ``factor`` pixels."""
    if factor == 1:
        return raw.astype(np.float32)
    high, wide = raw.shape[0] // factor, raw.shape[1] // factor
    sums = raw[0::factor].astype(np.uint32)
    for k in range(1, factor):
        sums += raw[k::factor]
    out = sums[:, 0::factor].astype(np.float32)
    for k in range(1, factor):
        out += sums[:, k::factor]
    return out[:high, :wide]


def _upright(a: U16, code: int) -> tuple[U16, bool]:
    """The picture as it is shown, by the TIFF orientation code; and whether rows became columns."""
    flips: dict[int, Callable[[U16], U16]] = {
        2: lambda p: p[:, ::-1], 3: lambda p: p[::-1, ::-1], 4: lambda p: p[::-1], 5: lambda p: p.T,
        6: lambda p: np.rot90(p, -1), 7: lambda p: p[::-1, ::-1].T, 8: lambda p: np.rot90(p, 1),
    }  # fmt: skip
    return (np.ascontiguousarray(flips[code](a)), code >= 5) if code in flips else (a, False)


def shrunk(light: U16, factor: int) -> NDArray[np.float32]:
    """Means of blocks of ``factor`` x ``factor`` pixels."""
    high, wide = light.shape[0] // factor, light.shape[1] // factor
    return _binned(light[: high * factor, : wide * factor], factor) / np.float32(factor**2)
