"""Power spectra of small blocks of a scan, collected while its rows go by.

A block is 64 x 64 pixels under a Hann window, overlapping by half or more (Welch's method), its light divided by its
mean. Rings of spatial frequency are averaged; frequencies along the scan's own axes are left out, since the sensor's
streaks and the rows of its carriage lie there, as do most edges of holders and houses.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.measure.finished.blur.packed import Squares
from holders.measure.finished.rings.bands import F32
from holders.measure.scan.spectra import hann

BLOCK = 64
RINGS = (
    np.array([4, 5, 6, 7.5, 9, 11, 13, 15, 17.5, 20, 23, 26, 29, 32.5, 36.5, 45.4]) / BLOCK
)  # cycles per pixel
OFF_AXIS = 2  # bins beside either axis that are left out: the window's main lobe
FINEST_DPI = 2600.0  # finer scans are binned first: a flatbed's lens passes nothing beyond what this can hold
MOST_BLOCKS = 40_000
SMALL = 1600  # pixels along the long side: below, blocks lie closer
LEVELS_LOST = 0.004  # share of pixels of a block that may lie at either end of the scale


@dataclass(frozen=True)
class BlockSpectra:
    """Spectra of ``n`` blocks.

    ``power`` (n, rings): power density of light over mean light, white noise of variance v gives v in each ring;
    ``level`` (n,) mean light as a fraction of full scale; ``steps`` (n,) one step of the file's scale over the mean
    light; ``x_px``, ``y_px`` (n,) middles, in pixels of the scan; ``usable`` (n,) not clipped.
    ``pixel_mm`` side of a binned pixel and ``bin_px`` how many of the scan's it holds along one side; ``hop_px`` from
    block to block, in pixels of the scan. ``packed``: once packed with losses in squares of eight pixels (JPEG).
    """

    power: F32
    level: F32
    x_px: F32
    y_px: F32
    usable: np.ndarray
    pixel_mm: float
    bin_px: int
    hop_px: int
    step: float
    packed: bool = False


def ring_of_bins() -> np.ndarray:
    """Which ring each bin of ``rfft2`` belongs to, (64, 33); -1 for none."""
    fy, fx = np.abs(np.fft.fftfreq(BLOCK))[:, None], np.fft.rfftfreq(BLOCK)[None, :]
    ring = np.digitize(np.hypot(fx, fy), RINGS) - 1
    off = (np.minimum(fx, fy) * BLOCK >= OFF_AXIS) & (ring < len(RINGS) - 1)
    return np.where(off, ring, -1)


class BlockWalk:
    """Takes a scan's rows as they come and keeps the spectra of its blocks."""

    def __init__(self, width: int, height: int, pitch_mm: float, bits: int) -> None:
        self._bin = max(1, int(25.4 / pitch_mm / FINEST_DPI + 0.35))
        self._wide, high = width // self._bin, height // self._bin
        hop = BLOCK // 2 if max(self._wide, high) > SMALL else BLOCK // 4
        while (self._wide / hop) * (high / hop) > MOST_BLOCKS:
            hop += BLOCK // 4
        self._hop, self._pixel_mm, self._step = hop, pitch_mm * self._bin, 1.0 / (2**bits - 1)
        self._starts = np.arange(0, self._wide - BLOCK + 1, hop)
        self._window = hann(BLOCK)[:, None] * hann(BLOCK)[None, :]
        ring = ring_of_bins().ravel()
        self._order = np.argsort(ring, kind="stable")[int((ring < 0).sum()) :]
        self._cuts = np.searchsorted(ring[self._order], np.arange(len(RINGS) - 1))
        self._count = np.bincount(ring[ring >= 0])
        self._raw = np.empty((0, width), np.float32)
        self._rows = np.empty((0, self._wide), np.float32)
        self._top = 0
        self._squares = Squares()
        self._found: list[tuple[F32, F32, np.ndarray, int]] = []

    def add(self, light: F32) -> None:
        """More rows of one channel, (rows, width), as fractions of full scale."""
        self._squares.add(light)
        self._raw = np.concatenate([self._raw, light]) if len(self._raw) else light
        n = len(self._raw) // self._bin
        part = self._raw[: n * self._bin, : self._wide * self._bin]
        if self._bin > 1:
            part = part.reshape(n, self._bin, self._wide, self._bin).mean(axis=(1, 3), dtype=np.float32)
        self._raw = self._raw[n * self._bin :].copy()
        self._rows = np.concatenate([self._rows, part])
        while len(self._rows) >= BLOCK and len(self._starts):
            self._row_of_blocks(self._rows[:BLOCK])
            skip = min(self._hop, len(self._rows))
            self._rows = self._rows[skip:]
            self._top += skip
        self._rows = self._rows.copy()

    def _row_of_blocks(self, rows: F32) -> None:
        from scipy import fft  # noqa: PLC0415 - quick on many small blocks

        view = np.lib.stride_tricks.sliding_window_view(rows, BLOCK, axis=1)
        blocks = np.moveaxis(view[:, self._starts], 1, 0).copy()
        level = np.tensordot(blocks, self._window, axes=2) / self._window.sum()
        ends = (blocks <= 0.5 * self._step) | (blocks >= 1.0 - 0.5 * self._step)
        usable = ends.mean(axis=(1, 2)) <= LEVELS_LOST
        blocks -= level[:, None, None]
        blocks *= self._window
        spectrum = fft.rfft2(blocks, axes=(1, 2))
        power = (spectrum.real**2 + spectrum.imag**2).reshape(len(blocks), -1)
        rings = np.add.reduceat(power[:, self._order], self._cuts, axis=1) / self._count
        rings /= float((self._window**2).sum()) * np.maximum(level, 1e-5)[:, None] ** 2
        self._found.append((rings.astype(np.float32), level.astype(np.float32), usable, self._top))

    def done(self) -> BlockSpectra:
        """All of them."""
        n = len(self._starts)
        rings = len(RINGS) - 1
        tops = np.repeat([f[3] for f in self._found], n)
        power = np.concatenate([f[0] for f in self._found]) if self._found else np.empty((0, rings))
        level = np.concatenate([f[1] for f in self._found]) if self._found else np.empty(0)
        usable = np.concatenate([f[2] for f in self._found]) if self._found else np.empty(0, bool)
        middle = (np.tile(self._starts, len(self._found)) + BLOCK / 2) * self._bin
        return BlockSpectra(
            power=np.asarray(power, np.float32), level=np.asarray(level, np.float32),
            x_px=middle.astype(np.float32), y_px=((tops + BLOCK / 2) * self._bin).astype(np.float32),
            usable=usable, pixel_mm=self._pixel_mm, bin_px=self._bin, hop_px=self._hop * self._bin, step=self._step,
            packed=self._squares.done(),
        )  # fmt: skip
