"""Measure memory and time of ``holders surface`` on two whole 8x10 scans at 2400 per inch, 16-bit colour, deflate.

    python scripts/judge_surface_size.py [--dpi 2400] [--folder /tmp/somewhere]
    python scripts/judge_surface_size.py --inspect [--dpi 1200]

Writes two scans of some 2.8 GB unpacked (the same strips again and again down the film, so that they are made in
seconds; a reader unpacks every one), decodes both in one process of one thread, measures them in another, and prints
processor seconds of both, their ratio, seconds by the clock, and the largest memory. The scans are deleted afterwards.
With ``--inspect`` one of them is looked at by ``holders inspect``, without and with ``--preset``; 0.7 GB at 1200 per
inch.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import subprocess
import sys
import tempfile
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import tifffile
from scipy import ndimage

FILM_MM, RIM_MM, SHIFT_MM = (193.0, 243.0), 3.0, 10.0
TALL = 16  # rows of a strip
PRESET = Path(__file__).resolve().parent.parent / "presets" / "8x10-printed.toml"
ROWS = 64 * TALL  # after which the film's texture comes again: some 11 mm at 2400 per inch
CHILD_DECODE = """
import sys, tifffile
for path in sys.argv[1:]:
    with tifffile.TiffFile(path) as file:
        for _ in file.pages[0].segments(maxworkers=1, buffersize=16 << 20):
            pass
"""


def texture(columns: int) -> np.ndarray:
    """``ROWS`` rows of film: smooth noise with a channel's own noise, 16 bits, three channels."""
    random = np.random.default_rng(7)
    film = ndimage.gaussian_filter(random.standard_normal((ROWS, columns), np.float32), 1.5, mode="wrap")
    film = 0.35 + 0.08 * film / film.std()
    out = np.empty((ROWS, columns, 3), np.uint16)
    for k in range(3):
        noisy = film + 0.004 * random.standard_normal(film.shape, np.float32)
        out[..., k] = np.clip(noisy, 0, 1) * 65535
    return out


def write(path: Path, film: np.ndarray, dpi: int, at_mm: float) -> Path:
    """One scan with the film's left side at ``at_mm``."""
    wide = round((FILM_MM[0] + SHIFT_MM + 2 * RIM_MM) / 25.4 * dpi)
    rim, high = round(RIM_MM / 25.4 * dpi / TALL) * TALL, round(FILM_MM[1] / 25.4 * dpi / TALL) * TALL
    left = round(at_mm / 25.4 * dpi)

    def packed(strip: np.ndarray | None) -> bytes:
        rows = np.full((TALL, wide, 3), 60, np.uint16)
        if strip is not None:
            rows[:, left : left + strip.shape[1]] = strip
        return zlib.compress(rows.tobytes(), 6)

    dark = packed(None)
    lit = [packed(film[k : k + TALL]) for k in range(0, ROWS, TALL)]

    def strips() -> Iterator[bytes]:
        yield from [dark] * (rim // TALL)
        for k in range(high // TALL):
            yield lit[k % len(lit)]
        yield from [dark] * (rim // TALL)

    tifffile.imwrite(
        path, strips(), shape=(high + 2 * rim, wide, 3), dtype=np.uint16, photometric="rgb", compression="zlib",
        rowsperstrip=TALL, resolution=(dpi, dpi), resolutionunit="INCH", metadata=None, bigtiff=False,
    )  # fmt: skip
    return path


def make(folder: Path, dpi: int) -> None:
    """Both scans."""
    film = texture(round(FILM_MM[0] / 25.4 * dpi))
    for name, move in (("a", 0.0), ("b", SHIFT_MM)):
        write(folder / f"{name}.tif", film, dpi, RIM_MM + move)


def spent(command: list[str]) -> tuple[float, float, float, int]:
    """Processor seconds, seconds by the clock, largest memory in MB, and exit code of a child."""
    begin = time.perf_counter()
    child = subprocess.Popen(command, stdout=sys.stderr)
    _, status, used = os.wait4(child.pid, 0)
    return (
        used.ru_utime + used.ru_stime,
        time.perf_counter() - begin,
        used.ru_maxrss / 1024 * 1.048576,
        os.waitstatus_to_exitcode(status),
    )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--dpi", type=int, default=2400)
    parser.add_argument("--folder", type=Path)
    parser.add_argument("--inspect", action="store_true", help="measure holders inspect instead")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory(dir=asked.folder) as folder:
        # in a child: what the system says of a process' largest memory includes that of the one that started it
        maker = multiprocessing.get_context("spawn").Process(target=make, args=(Path(folder), asked.dpi))
        maker.start()
        maker.join()
        scans = [Path(folder) / name for name in ("a.tif", "b.tif")]
        names = [str(path) for path in scans]
        with tifffile.TiffFile(names[0]) as file:
            shape = file.pages[0].shape
        unpacked = np.prod(shape, dtype=float) * 2 / 1e9
        print(
            f"each {shape[1]} x {shape[0]} pixels, {unpacked:.2f} GB, {scans[0].stat().st_size / 1e9:.2f} GB packed"
        )
        surface = [
            sys.executable, "-m", "holders", "surface", *names, "--ledge", "3", "--lens-distance", "300", "--out",
            folder,
        ]  # fmt: skip
        look = [sys.executable, "-m", "holders", "inspect", names[0], "--out", folder]
        rows = {"decoding both": [sys.executable, "-c", CHILD_DECODE, *names], "holders surface": surface}
        if asked.inspect:
            rows = {"holders inspect": look, "holders inspect --preset": [*look, "--preset", str(PRESET)]}
        took = {}
        for name, command in rows.items():
            cpu, clock, memory, code = spent(command)
            took[name] = cpu
            print(
                f"{name}: {cpu:.1f} s of the processor, {clock:.1f} s by the clock, {memory:.0f} MB, exit {code}",
                flush=True,
            )
        if not asked.inspect:
            print(f"ratio {took['holders surface'] / took['decoding both']:.2f}")


if __name__ == "__main__":
    main()
