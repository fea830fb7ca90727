"""What a scan on disk is: its size, its depth, and windows of its pixels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError

Pixels = NDArray[Any]
Span = tuple[int, int]
MAX_SIDE = 400_000
MAX_SLENDER = 1000  # times as long as wide
MAX_PIXELS = 40_000_000_000


@dataclass(frozen=True)
class ScanInfo:
    """What a scan says about itself.

    ``dpi_x``/``dpi_y`` are pixels per inch along columns and rows as tagged, ``None`` where the file does not say.
    ``orientation`` is the TIFF orientation code 1..8 (1: first row on top, first column on the left).
    ``row_step`` is the number of rows that come together when one is read (strip or tile height; 1 if any row can be
    had alone), ``random_access`` says that single pixels can be had without decoding what lies before them.
    """

    path: str
    width: int
    height: int
    channels: int
    bits: int
    dpi_x: float | None
    dpi_y: float | None
    compression: str
    lossy: bool
    white_is_zero: bool
    orientation: int
    row_step: int
    random_access: bool
    file_bytes: int
    warnings: tuple[str, ...] = field(default=())


class Scan(Protocol):
    """An opened scan. ``read`` gives pixels as (rows, columns, channels), native byte order, 8 or 16 bit."""

    info: ScanInfo

    def read(self, rows: Span, cols: Sequence[Span]) -> Pixels:
        """Pixels of ``rows`` (half open) in each of the column spans, side by side."""
        ...

    def close(self) -> None:
        """Let the file go."""
        ...


def check_size(path: str, width: int, height: int, channels: int, bits: int) -> None:
    """Refuse sizes that no scan has (they come from broken or hostile files)."""
    if width <= 0 or height <= 0:
        raise InputError("scan", path, f"the file says it is {width} x {height} pixels; scan again")
    if width > MAX_SIDE or height > MAX_SIDE or width * height > MAX_PIXELS:
        raise InputError("scan", path, f"{width} x {height} pixels is more than any bed gives; crop the scan")
    if max(width, height) > MAX_SLENDER * min(width, height):
        raise InputError(
            "scan", path, f"{width} x {height} pixels is too narrow for its length; scan a wider strip"
        )
    if bits not in (8, 16):
        raise InputError("scan", path, f"{bits} bits a channel; save it with 8 or 16 bits, grey or RGB")
    if not 1 <= channels <= 5:
        raise InputError("scan", path, f"{channels} channels; save it as grey or RGB")


def to_float(pixels: Pixels, info: ScanInfo) -> NDArray[np.float32]:
    """Pixels as fractions of full scale, light = 1, whatever the file's depth and photometric sense."""
    out = np.multiply(pixels, np.float32(1.0 / (255.0 if info.bits == 8 else 65535.0)), dtype=np.float32)
    return np.subtract(np.float32(1.0), out, out=out) if info.white_is_zero else out
