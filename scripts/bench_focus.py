"""How long a focus measurement takes against plainly reading the same file, all in one run.

Makes a scan of ``--size`` megabytes (16-bit RGB, a ruling on a slope) uncompressed and with deflate, then prints the
time of one plain read (uncompressed) or of tifffile's decoding (compressed), of the measurement, their ratio, and the
measurement's peak memory. Nothing here is a test. The aim is a ratio of 1.3 and a peak under 300 MB.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
import tifffile

DPI, RISE_MM, SHARP_MM = 2400.0, 6.0, 2.7
STRIP_ROWS = 64


def shape_of(megabytes: float) -> tuple[int, int]:
    """Columns and rows of a 16-bit RGB scan of that size, half as long again as high."""
    columns = round((1.5 * megabytes * 1e6 / 6) ** 0.5)
    return columns, round(columns / 1.5)


def make(path: Path, megabytes: float, compression: str | None) -> None:
    """Write a scan of a ruling whose contrast falls away from its sharp height."""
    columns, rows = shape_of(megabytes)
    length_mm = columns * 25.4 / DPI
    x = np.arange(columns) * 25.4 / DPI
    blur = (0.02 + 0.07 * np.abs(RISE_MM * x / length_mm - SHARP_MM)) / 0.5
    light = 0.6 + 0.3 * np.exp(-2 * (np.pi * blur) ** 2) * np.cos(2 * np.pi * x / 0.5)
    rng = np.random.default_rng(1)
    tile = (
        np.clip(light[None, :, None] + 0.004 * rng.standard_normal((STRIP_ROWS, columns, 3)), 0, 1) * 65535
    ).astype(np.uint16)

    data = np.concatenate([tile] * (-(-rows // STRIP_ROWS)))[:rows]
    tifffile.imwrite(
        path, data, photometric="rgb", rowsperstrip=STRIP_ROWS, compression=compression, resolution=(DPI, DPI),
        resolutionunit="INCH", bigtiff=megabytes > 3900,
    )  # fmt: skip


def plain_read(path: Path) -> float:
    """Seconds to read the file's bytes once, in pieces."""
    begin = time.perf_counter()
    with path.open("rb", buffering=0) as stream:
        while stream.read(16 << 20):
            pass
    return time.perf_counter() - begin


def decode(path: Path) -> float:
    """Seconds that tifffile takes to decode every strip, in bounded memory."""
    begin = time.perf_counter()
    with tifffile.TiffFile(path) as file:
        for _ in file.pages[0].segments(maxworkers=2, buffersize=16 << 20):  # type: ignore[union-attr]
            pass
    return time.perf_counter() - begin


def measure(path: Path, size: float) -> tuple[float, float, str]:
    """Seconds, peak memory in MB and the answer of one measurement, in a process of its own."""
    length_mm = shape_of(size)[0] * 25.4 / DPI
    code = (
        "import re, sys, time\n"
        "from holders.focus.geometry import SlopeGeometry\n"
        "from holders.focus.measure import measure_focus\n"
        "t = time.perf_counter()\n"
        f"r = measure_focus([sys.argv[1]], geometry=SlopeGeometry({RISE_MM}, {length_mm}))\n"
        "t = time.perf_counter() - t\n"
        "peak = int(re.search(r'VmHWM:\\s+(\\d+)', open('/proc/self/status').read())[1]) / 1024\n"
        "print(t, peak, f'{r.height:.3f}+-{r.height_sigma:.3f} mm, {100 * r.read_share:.0f} % read')"
    )
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    seconds, peak, words = done.stdout.split(" ", 2)
    return float(seconds), float(peak), words.strip()


def main() -> None:
    """Make the scans, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--size", type=float, default=300.0, help="megabytes of the scan")
    size = parser.parse_args().size
    print(
        f"{'scan':14} {'plain s':>8} {'measure s':>10} {'ratio':>6} {'peak MB':>8}  answer (true {SHARP_MM})"
    )
    with tempfile.TemporaryDirectory() as folder:
        for name, compression in (("uncompressed", None), ("deflate", "zlib"), ("LZW", "lzw")):
            path = Path(folder) / f"{name}.tif"
            make(path, size, compression)
            reading = plain_read if compression is None else decode
            plain = sorted(reading(path) for _ in range(3))[1]
            seconds, peak, words = measure(path, size)
            print(f"{name:14} {plain:8.2f} {seconds:10.2f} {seconds / plain:6.2f} {peak:8.0f}  {words}")
            path.unlink()


if __name__ == "__main__":
    main()
