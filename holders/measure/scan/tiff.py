"""TIFF and BigTIFF in pieces: uncompressed strips by seeking, everything else one strip or tile at a time."""

from __future__ import annotations

import logging
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from holders.core.errors import InputError
from holders.measure.scan.guard import guard_tiff
from holders.measure.scan.model import Pixels, ScanInfo, Span, check_size

CODINGS = {1: "none", 5: "lzw", 8: "deflate", 32946: "deflate", 50013: "deflate"}
MAX_SEGMENT_BYTES = 48 * 2**20
WORKERS = 2
BATCH_BYTES = 16 * 2**20
_MIN_IS_WHITE, _MIN_IS_BLACK, _RGB = 0, 1, 2


class TiffScan:
    """A TIFF on disk. See ``holders.measure.scan.model.Scan``."""

    def __init__(self, path: str, file_bytes: int) -> None:
        import tifffile  # noqa: PLC0415 - 0.1 s that a PNG need not pay

        self._stream = Path(path).open("rb", buffering=0)  # noqa: SIM115 - open as long as the scan is
        try:
            guard_tiff(self._stream, path, file_bytes)
            # its log would repeat to the terminal what our own message says
            logging.getLogger("tifffile").setLevel(logging.CRITICAL)
            self._tiff = tifffile.TiffFile(self._stream, name=Path(path).name)
            self._page: Any = self._tiff.pages[0]
            self._path = path
            self.info = _info(path, file_bytes, self._page)
            self._segment_bytes = _check_segments(path, file_bytes, self._page, self.info)
            self._pool = ThreadPoolExecutor(WORKERS)  # its threads start when first used
        except InputError:
            self._stream.close()
            raise
        except Exception as err:  # the library's many ways of saying "broken"
            self._stream.close()
            raise InputError(
                "scan", path, f"this TIFF cannot be made sense of ({type(err).__name__}); save the scan again"
            ) from err

    def close(self) -> None:
        """Let the file go."""
        self._pool.shutdown()
        self._stream.close()

    def read(self, rows: Span, cols: Sequence[Span]) -> Pixels:
        """See ``Scan.read``."""
        info = self.info
        dtype = np.uint8 if info.bits == 8 else np.uint16
        out = np.empty((rows[1] - rows[0], sum(b - a for a, b in cols), info.channels), dtype)
        if info.random_access:
            self._seek_rows(rows, cols, out)
        else:
            self._decode(rows, cols, out)
        return out

    def _seek_rows(self, rows: Span, cols: Sequence[Span], out: Pixels) -> None:
        page, info = self._page, self.info
        deep = info.bits // 8
        planes = info.channels if page.planarconfig == 2 else 1
        inside = info.channels // planes
        pixel = deep * inside
        step = min(int(page.rowsperstrip), info.height)
        strips = -(-info.height // step)
        kind = np.dtype(page.parent.byteorder + ("u1" if deep == 1 else "u2"))
        fd = self._stream.fileno()
        whole = len(cols) == 1 and cols[0] == (0, info.width)
        for plane in range(planes):
            to = slice(plane, plane + 1) if planes > 1 else slice(None)
            row = rows[0]
            while row < rows[1]:
                strip = row // step
                until = min(rows[1], (strip + 1) * step) if whole else row + 1
                base = page.dataoffsets[plane * strips + strip] + (row - strip * step) * info.width * pixel
                at = 0
                for a, b in cols:
                    raw = os.pread(fd, (until - row) * (b - a) * pixel, base + a * pixel)
                    if len(raw) < (until - row) * (b - a) * pixel:
                        raise self._short()
                    block = np.frombuffer(raw, kind).reshape(until - row, b - a, inside)
                    out[row - rows[0] : until - rows[0], at : at + b - a, to] = block
                    at += b - a
                row = until

    def _segments(self, rows: Span, cols: Sequence[Span]) -> Iterator[int]:
        page, info = self._page, self.info
        planes = info.channels if page.planarconfig == 2 else 1
        if page.is_tiled:
            across, down = -(-info.width // page.tilewidth), -(-info.height // page.tilelength)
            wanted = sorted({c for a, b in cols for c in range(a // page.tilewidth, -(-b // page.tilewidth))})
            tall = page.tilelength
        else:
            tall = min(int(page.rowsperstrip), info.height)
            across, down, wanted = 1, -(-info.height // tall), [0]
        for plane in range(planes):
            for r in range(rows[0] // tall, -(-rows[1] // tall)):
                yield from (plane * across * down + r * across + c for c in wanted)

    def _decode(self, rows: Span, cols: Sequence[Span], out: Pixels) -> None:
        page, fd = self._page, self._stream.fileno()

        def one(index: int) -> tuple[Any, tuple[int, ...]]:
            count = page.databytecounts[index]
            data = os.pread(fd, count, page.dataoffsets[index])
            if len(data) < count:
                raise self._short()
            array, where, _ = page.decode(data, index)
            return array, where

        todo = list(self._segments(rows, cols))
        batch = max(WORKERS, min(4 * WORKERS, BATCH_BYTES // self._segment_bytes))
        for start in range(0, len(todo), batch):
            some = todo[start : start + batch]
            try:
                # a lone piece is not worth a thread, nor the heap that each thread keeps
                for array, where in map(one, some) if len(some) == 1 else self._pool.map(one, some):
                    _place(array, where, rows, cols, out, page.planarconfig == 2)
            except InputError:
                raise
            except Exception as err:
                raise InputError(
                    "scan",
                    self._path,
                    f"a piece of the picture does not decode ({type(err).__name__}); save the scan again",
                ) from err

    def _short(self) -> InputError:
        return InputError("scan", self._path, "the file is cut short; copy or save the scan again")


def _place(
    array: Any, where: tuple[int, ...], rows: Span, cols: Sequence[Span], out: Pixels, planar: bool
) -> None:
    """Copy the part of a decoded strip or tile that was asked for."""
    plane, _, top, left = where[:4]
    block = array[0]
    r0, r1 = max(rows[0], top), min(rows[1], top + block.shape[0])
    at = 0
    for a, b in cols:
        c0, c1 = max(a, left), min(b, left + block.shape[1])
        if c1 > c0 and r1 > r0:
            to = slice(plane, plane + 1) if planar else slice(None)
            out[r0 - rows[0] : r1 - rows[0], at + c0 - a : at + c1 - a, to] = block[
                r0 - top : r1 - top, c0 - left : c1 - left
            ]
        at += b - a


def _info(path: str, file_bytes: int, page: Any) -> ScanInfo:
    width, height = int(page.imagewidth), int(page.imagelength)
    channels = int(page.samplesperpixel)
    sizes = page.bitspersample
    bits = int(sizes[0] if isinstance(sizes, tuple) else sizes)
    check_size(path, width, height, channels, bits)
    coding = CODINGS.get(int(page.compression))
    if coding is None:
        raise InputError(
            "scan", path, "its compression is not read; save it uncompressed, with LZW or deflate"
        )
    if int(page.photometric) not in (_MIN_IS_WHITE, _MIN_IS_BLACK, _RGB):
        raise InputError("scan", path, "it is neither grey nor RGB; save it as grey or RGB")
    if page.dtype is None or page.dtype.kind != "u" or int(page.imagedepth) != 1:
        raise InputError(
            "scan", path, "its samples are not plain 8 or 16 bit numbers; save it as grey or RGB"
        )
    tall = int(page.tilelength) if page.is_tiled else min(int(page.rowsperstrip or height), height)
    orientation = page.tags.valueof(274, default=1)
    warnings = []
    dpi_x, dpi_y = _dpi(page)
    seekable = coding == "none" and not page.is_tiled and int(page.fillorder) == 1
    if len(page.parent.pages) > 1 and page.parent.pages.first is page:
        warnings.append("the file holds more than one picture; the first is measured")
    return ScanInfo(
        path=path,
        width=width,
        height=height,
        channels=channels,
        bits=bits,
        dpi_x=dpi_x,
        dpi_y=dpi_y,
        compression=coding,
        lossy=False,
        white_is_zero=int(page.photometric) == _MIN_IS_WHITE,
        orientation=orientation if orientation in range(1, 9) else 1,
        row_step=1 if seekable else tall,
        random_access=seekable,
        file_bytes=file_bytes,
        warnings=tuple(warnings),
    )


def _dpi(page: Any) -> tuple[float | None, float | None]:
    """Pixels per inch along columns and rows (tags 282, 283, 296; unit 2 inch, 3 cm; unit missing means inch)."""
    per_inch = {2: 1.0, 3: 2.54}.get(int(page.tags.valueof(296, default=2)))
    found: list[float | None] = []
    for code in (282, 283):
        value = page.tags.valueof(code)
        good = (
            per_inch is not None
            and isinstance(value, tuple)
            and len(value) == 2
            and value[1] > 0
            and value[0] > 0
        )
        number = value[0] / value[1] * per_inch if good else 0.0
        found.append(number if number > 1.5 else None)  # 1/1 is what writers put when they do not know
    return found[0], found[1]


def _check_segments(path: str, file_bytes: int, page: Any, info: ScanInfo) -> int:
    """Bytes of one unpacked strip or tile; they must be as many and as long as the size says, and small enough."""
    planes = info.channels if page.planarconfig == 2 else 1
    deep = info.bits // 8 * (info.channels // planes)
    if page.is_tiled:
        if page.tilewidth <= 0 or page.tilelength <= 0:
            raise InputError("scan", path, "its tiles have no size; save the scan again")
        need = -(-info.width // page.tilewidth) * -(-info.height // page.tilelength)
        segment = page.tilewidth * page.tilelength * deep
    else:
        tall = min(int(page.rowsperstrip or 0), info.height)
        if tall <= 0:
            raise InputError("scan", path, "its strips have no height; save the scan again")
        need = -(-info.height // tall)
        segment = tall * info.width * deep
    offsets, counts = page.dataoffsets, page.databytecounts
    if len(offsets) < need * planes or len(counts) < need * planes:
        raise InputError("scan", path, "pieces of the picture are missing from its list; save the scan again")
    if any(o + c > file_bytes or o <= 0 for o, c in zip(offsets, counts, strict=False)):
        raise InputError("scan", path, "the file is cut short; copy or save the scan again")
    if (
        sum(counts[: need * planes]) > 2 * file_bytes
    ):  # one piece that stands for thousands takes a minute to unpack
        raise InputError("scan", path, "pieces of the picture lie on one another; save the scan again")
    if info.random_access:
        if sum(counts) < info.width * info.height * info.channels * info.bits // 8:
            raise InputError("scan", path, "it holds fewer pixels than it claims; save the scan again")
    elif segment > MAX_SEGMENT_BYTES:
        raise InputError(
            "scan",
            path,
            f"its pieces unpack to {segment / 1e6:.0f} MB each, which cannot be read in little memory; save it "
            "uncompressed, or compressed in strips or tiles of usual size",
        )
    return int(segment)
