"""How much contrast a scan keeps at each fineness, from slanted edges.

The method of ISO 12233:2014, 6.2.4-6.2.5 (read): the pixels round a straight edge are laid out by their distance from
it, averaged in quarters of a pixel, differentiated by [-1/2, 0, 1/2] into the line spread function, put under a window
and transformed; the loss of that derivative, sin(x)/x with x = 2 pi f / 4 for f in cycles a pixel, is taken out again.
Many short edges are laid over each other, since ticks of a ruler are short. The standard's Hamming window narrows a
spread function that is wide beside it (a Gaussian of s under a window of 4.4 s to either side seems to keep half its
contrast up to 1.1 times the true frequency), and between two ticks there is room for a short window only: ours is flat
but for its ends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]

PER_PIXEL = 4
LEAST_ROWS = 12
MOST_OFF = 0.35  # pixels: scatter of an edge's places about a straight line
LEAST_FILLED = 0.9  # of the quarter pixels that must hold a pixel
FLAT = 0.6  # of the window, to either side, before it falls as a cosine does


@dataclass(frozen=True)
class Response:
    """Modulation transfer: ``frequency`` cycles a pixel (n,), ``kept`` share of the contrast (n,)."""

    frequency: F64
    kept: F64

    def falls_to(self, share: float) -> float | None:
        """The lowest frequency at which no more than ``share`` is kept; None where it does not fall so far."""
        below = np.flatnonzero(self.kept < share)
        if not len(below) or below[0] == 0:
            return None
        i = int(below[0])
        a, b = self.kept[i - 1], self.kept[i]
        return float(
            self.frequency[i - 1] + (a - share) / (a - b) * (self.frequency[i] - self.frequency[i - 1])
        )


@dataclass(frozen=True)
class Laid:
    """Pixels laid out by their distance (pixels) from an edge, light between 0 and 1."""

    distance: F64
    light: F64


def lay_out(patch: F64, half: int) -> Laid | None:
    """Pixels of a patch whose edge runs roughly along its columns, dark to bright or bright to dark.

    Parameters
    ----------
    patch : (rows, columns), the edge near the middle column.
    half : pixels to either side that are taken.

    Returns None where no straight edge crosses all rows.
    """
    patch = np.asarray(patch, dtype=float)
    if patch[:, : patch.shape[1] // 2].mean() > patch[:, patch.shape[1] // 2 :].mean():
        patch = patch[:, ::-1]
    rows, columns = patch.shape
    slope = np.zeros_like(patch)
    slope[:, 1:-1] = 0.5 * (patch[:, 2:] - patch[:, :-2])
    x, y = np.arange(columns), np.arange(rows)
    middle = np.full(rows, 0.5 * (columns - 1))
    line = np.array([0.0, middle[0]])
    for width in (half, half, max(4, half // 2)):
        off = x[None, :] - middle[:, None]
        window = np.where(np.abs(off) <= width, 0.54 + 0.46 * np.cos(np.pi * off / width), 0.0)
        pull = np.clip(slope, 0.0, None) * window
        total = pull.sum(axis=1)
        if rows < LEAST_ROWS or total.min() <= 0.2 * np.median(total):
            return None
        place = (pull * x).sum(axis=1) / total
        line = np.polyfit(y, place, 1)
        middle = np.polyval(line, y)
    if float(np.std(place - middle)) > MOST_OFF:
        return None
    distance = (x[None, :] - middle[:, None]) / np.hypot(1.0, line[0])
    inside = np.abs(distance) <= half
    ends = inside & (np.abs(distance) >= 0.75 * half)
    dark, bright = patch[ends & (distance < 0)], patch[ends & (distance > 0)]
    if not (dark.size and bright.size):
        return None  # the edge lies at the patch's own rim
    low, high = np.median(dark), np.median(bright)
    if not high > low:
        return None
    return Laid(distance[inside], (patch[inside] - low) / (high - low))


def respond(laid: list[Laid], half: int) -> Response | None:
    """The transfer of all edges laid over each other; None where quarter pixels stay empty."""
    distance = np.concatenate([one.distance for one in laid])
    light = np.concatenate([one.light for one in laid])
    size = 2 * half * PER_PIXEL
    at = np.floor((distance + half) * PER_PIXEL).astype(int)
    ok = (at >= 0) & (at < size)
    count = np.bincount(at[ok], minlength=size)
    if float((count > 0).mean()) < LEAST_FILLED:
        return None
    mean = np.bincount(at[ok], light[ok], minlength=size) / np.maximum(count, 1)
    edge = np.interp(np.arange(size), np.flatnonzero(count), mean[count > 0])
    spread = np.zeros(size)
    spread[1:-1] = 0.5 * (edge[2:] - edge[:-2])
    spread = np.roll(spread, size // 2 - int(np.argmax(np.convolve(spread, np.ones(PER_PIXEL), "same"))))
    off = np.abs(2.0 * (np.arange(size) + 0.5) / size - 1.0)
    spread *= 0.5 + 0.5 * np.cos(np.pi * np.clip((off - FLAT) / (1.0 - FLAT), 0.0, 1.0))
    whole = np.abs(np.fft.rfft(spread))
    frequency = np.fft.rfftfreq(size, 1.0 / PER_PIXEL)
    keep = frequency <= 1.0
    frequency = frequency[keep]
    lost = np.sinc(2.0 * frequency / PER_PIXEL)
    kept = whole[keep] / max(float(whole[0]), 1e-30) / np.maximum(lost, 0.1)
    return Response(np.asarray(frequency, dtype=float), np.asarray(kept, dtype=float))
