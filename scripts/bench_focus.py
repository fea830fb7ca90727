"""How long ``holders focus`` takes against plainly reading the same file, and what memory it holds, all in one run.

Makes scans of ``--size`` megabytes (16-bit RGB, a ruling on a slope), uncompressed, with deflate and LZW, in strips
and in tiles, and with ``--tall`` also standing on end; then prints the time of one plain read (uncompressed) or of
tifffile's decoding of every piece (compressed), of the measurement without and with the interpreter's start, their
ratio (measurement over plain), and peak memory.

Uncompressed scans are also measured cold: before each of the two, the file is written out and its pages are given up
(``posix_fadvise``), and the kernel is asked (``mincore``) whether they are really gone; if they are not, that is said
in place of a number. A virtual disk may still hold the file in the memory of the machine around this one.

Memory is VmHWM of the child process that runs the command: the most that was ever resident, which counts the
interpreter, every library mapped from disk and the command's own data. RssAnon at the end is printed beside it: what is
the process's alone, not shared with the files of its libraries. The measurement reads no more rows than the wanted
certainty needs; the share that it read stands beside the answer. Nothing here is a test. The aims: ratio 1.3, peak
under 300 MB.
"""

from __future__ import annotations

import argparse
import ctypes
import json
import mmap
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
import tifffile
from bench_rows import row

DPI, RISE_MM, SHARP_MM, PERIOD_MM = 2400.0, 6.0, 2.7, 0.5
GONE = 0.01  # share of a file's pages that may be left in memory for a read to be called cold
STRIP_ROWS = 64
TILE = (256, 256)
# the command as a user calls it, then what the kernel says of the process
CHILD = """
import re, sys, time
from holders.face.cli.main import app
begin = time.perf_counter()
try:
    app(sys.argv[1:])
except SystemExit as end:
    assert end.code == 0, end.code
taken = time.perf_counter() - begin
status = open("/proc/self/status").read()
held = [int(re.search(key + r":\\s+(\\d+)", status)[1]) / 1024 for key in ("VmHWM", "RssAnon")]
print(taken, *held)
"""


def shape_of(megabytes: float) -> tuple[int, int]:
    """Columns and rows of a 16-bit RGB scan of that size, half as long again as high."""
    columns = round((1.5 * megabytes * 1e6 / 6) ** 0.5)
    return columns, round(columns / 1.5)


def make(path: Path, megabytes: float, *, compression: str | None, tiled: bool, tall: bool = False) -> None:
    """Write a scan of a ruling whose contrast falls away from its sharp height; ``tall``: the slope runs down it."""
    columns, rows = shape_of(megabytes)
    length_mm = columns * 25.4 / DPI
    x = np.arange(columns) * 25.4 / DPI
    blur = 0.02 + 0.07 * np.abs(RISE_MM * x / length_mm - SHARP_MM)
    light = np.full(columns, 0.5)
    # lines of three tenths of the period, as their harmonics; those beyond what the pixels can show left out
    for k in range(1, int(0.45 * DPI / 25.4 * PERIOD_MM) + 1):
        f = k / PERIOD_MM
        light -= (
            0.6
            / (np.pi * k)
            * np.sin(0.3 * np.pi * k)
            * np.exp(-2 * (np.pi * blur * f) ** 2)
            * np.cos(2 * np.pi * f * x)
        )
    rng = np.random.default_rng(1)
    patch = (
        np.clip(light[None, :, None] + 0.004 * rng.standard_normal((STRIP_ROWS, columns, 3)), 0, 1) * 65535
    )
    data = np.concatenate([patch.astype(np.uint16)] * (-(-rows // STRIP_ROWS)))[:rows]
    if tall:
        data = np.ascontiguousarray(np.swapaxes(data, 0, 1))
    pieces: dict[str, Any] = {"tile": TILE} if tiled else {"rowsperstrip": STRIP_ROWS}
    tifffile.imwrite(
        path, data, photometric="rgb", compression=compression, resolution=(DPI, DPI), resolutionunit="INCH",
        bigtiff=megabytes > 3900, **pieces,
    )  # fmt: skip


def plain_read(path: Path) -> float:
    """Seconds to read the file's bytes once, in pieces."""
    begin = time.perf_counter()
    with path.open("rb", buffering=0) as stream:
        while stream.read(16 << 20):
            pass
    return time.perf_counter() - begin


def held(path: Path) -> float:
    """Share of the file's pages that the kernel holds in memory (``mincore``)."""
    size = path.stat().st_size
    pages = -(-size // mmap.PAGESIZE)
    seen = (ctypes.c_ubyte * pages)()
    libc = ctypes.CDLL(None, use_errno=True)
    libc.mincore.argtypes = (ctypes.c_void_p, ctypes.c_size_t, ctypes.c_void_p)
    # private and writable only because ctypes cannot take the address of a map that is not; no page is touched
    with path.open("rb") as stream, mmap.mmap(stream.fileno(), size, access=mmap.ACCESS_COPY) as area:
        view = ctypes.c_ubyte.from_buffer(area)
        failed = libc.mincore(ctypes.addressof(view), size, seen)
        del view
    if failed:
        raise OSError(ctypes.get_errno(), "mincore")
    return float((np.frombuffer(seen, np.uint8) & 1).mean())


def forget(path: Path) -> float:
    """Write the file out and give up its pages; the share of them that is still in memory after that."""
    with path.open("rb") as stream:
        os.fsync(stream.fileno())
        os.posix_fadvise(stream.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
    return held(path)


def cold(path: Path, size: float) -> str:
    """The measurement against one plain read, both from the disk, in words; or why that cannot be told."""
    plain, taken, share = [], [], ""
    for _ in range(3):
        left = forget(path)
        if left > GONE:
            return f"not measured: {100 * left:.0f} % of the file stays in memory when it is given up"
        plain.append(plain_read(path))
        left = forget(path)
        if left > GONE:
            return f"not measured: {100 * left:.0f} % of the file stays in memory when it is given up"
        seconds, _, _, _, words = measure(path, size)
        taken.append(seconds)
        share = words.rsplit(", ", 1)[1]
    best, read = min(taken), min(plain)
    warm = plain_read(path)
    if read < 1.5 * warm:
        return f"not measured: a read after the pages were given up is as quick as one from memory ({read:.2f} s)"
    return f"{best / read:.2f} ({best:.1f} s against {read:.1f} s, {share})"


def decode(path: Path) -> float:
    """Seconds that tifffile takes to decode every strip or tile, in bounded memory, with two threads."""
    begin = time.perf_counter()
    with tifffile.TiffFile(path) as file:
        for _ in file.pages[0].segments(maxworkers=2, buffersize=16 << 20):
            pass
    return time.perf_counter() - begin


def measure(path: Path, size: float) -> tuple[float, float, float, float, str]:
    """Seconds without and with start-up, peak and own memory in MB, and the answer, of the command in a child."""
    length_mm = shape_of(size)[0] * 25.4 / DPI
    begin = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", CHILD, "focus", str(path), "--rise", str(RISE_MM), "--run", str(length_mm), "--json"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    whole = time.perf_counter() - begin
    answer, numbers = done.stdout.strip().splitlines()
    found = json.loads(answer)
    seconds, peak, own = (float(v) for v in numbers.split())
    words = f"{found['height']:.3f}+-{found['height_sigma']:.3f} mm, {100 * found['read_share']:.0f} % of rows measured"
    return seconds, whole, peak, own, words


def main() -> None:
    """Make the scans, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=float, default=300.0, help="megabytes of the scan")
    parser.add_argument("--tall", action="store_true", help="also scans whose slope runs down the file")
    parser.add_argument("--folder", type=Path, default=None, help="where the scans are made (and removed)")
    options = parser.parse_args()
    print(
        f"{'scan':22} {'plain s':>8} {'measure s':>10} {'ratio':>6} {'whole s':>8} {'peak MB':>8} {'own MB':>7}  "
        f"answer (true {SHARP_MM})"
    )
    codings = (("uncompressed", None), ("deflate", "zlib"), ("LZW", "lzw"))
    kinds = [(name, coding, tiled, False) for tiled in (False, True) for name, coding in codings]
    kinds += [(name, coding, False, True) for name, coding in codings] if options.tall else []
    with tempfile.TemporaryDirectory(dir=options.folder) as folder:
        for name, compression, tiled, tall in kinds:
            title = f"{name}, {'tiles' if tiled else 'strips'}{', tall' if tall else ''}"
            path = Path(folder) / "scan.tif"
            make(path, options.size, compression=compression, tiled=tiled, tall=tall)
            reading = plain_read if compression is None else decode
            # by turns, so that a machine that grows slower or faster meanwhile does so to both
            turns = [(reading(path), measure(path, options.size)) for _ in range(5)]
            plain = sorted(turn[0] for turn in turns)[2]
            seconds, whole, peak, own, words = sorted(turn[1] for turn in turns)[2]
            print(
                f"{title:22} {plain:8.2f} {seconds:10.2f} {seconds / plain:6.2f} {whole:8.2f} {peak:8.0f} {own:7.0f}  "
                f"{words}",
                flush=True,
            )
            share = words.rsplit(", ", 1)[1]
            reading_words = "one plain read from memory" if compression is None else "tifffile's decoding"
            row(
                f"`focus` on a scan of {options.size / 1000:g} GB ({title}) against {reading_words}",
                f"{seconds / plain:.2f} ({seconds:.1f} s, peak {peak:.0f} MB, {share})",
                "at most 1.3, below 300 MB",
            )
            if compression is None:
                row(
                    f"`focus` on a scan of {options.size / 1000:g} GB ({title}) against one plain read from the disk",
                    cold(path, options.size),
                    "at most 1.3",
                )
            path.unlink()


if __name__ == "__main__":
    main()
