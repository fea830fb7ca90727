"""Two scans of the same film, before and after a change: how far apart they lie, which is sharper where, rings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft, ndimage

from holders.errors import InputError
from holders.inspect.reduce import F64, Reduced
from holders.inspect.rings import RingsResult


@dataclass(frozen=True)
class Comparison:
    """``shift_mm`` (x, y) of the second scan's content against the first's, with ``shift_sigma_mm``.

    ``gain[j, i]``: log of the second's sharpness over the first's, per cell of the first (NaN: nothing to compare);
    ``sharper_fraction``/``softer_fraction`` cells clearly better or worse; ``rings`` a word: "none", "gone", "new",
    "still there".
    """

    shift_mm: tuple[float, float]
    shift_sigma_mm: float
    peak: float
    gain: F64
    mean_gain: float
    sharper_fraction: float
    softer_fraction: float
    rings: str


WHITEN = 0.8
LEAST_PEAK = 10.0  # sigmas; two films that differ reach 5 to 6
CLEAR = 0.15  # logarithm: less is within what two scans of the same thing differ by


def shift_px(first: F64, second: F64) -> tuple[float, float, float]:
    """(rows, columns) by which the second is moved against the first, and how the peak stands out (in sigmas).

    Phase correlation (Kuglin and Hines 1975, from memory), windowed, its peak refined by a transform on a fine grid.
    Whitening is partial: two scans of different sharpness share their coarse detail, and their finest is noise.
    """
    if first.shape != second.shape:
        raise InputError("scan", second.shape, f"the two pictures differ in size: {first.shape}")
    high, wide = first.shape
    window = np.outer(np.hanning(high), np.hanning(wide))
    a = fft.rfft2((first - first.mean()) * window)
    b = fft.rfft2((second - second.mean()) * window)
    cross = b * np.conj(a)
    size = np.abs(cross)
    cross /= size**WHITEN + 1e-9 * float(size.max()) ** WHITEN + 1e-30
    plane = fft.irfft2(cross, s=first.shape)
    peak = float(plane.max() / max(float(plane.std()), 1e-30))
    j, i = np.unravel_index(int(plane.argmax()), plane.shape)
    dy, dx = float(j if j <= high // 2 else j - high), float(i if i <= wide // 2 else i - wide)
    for reach in (1.0, 0.1, 0.01):
        dy, dx = _finer(cross, first.shape, dy, dx, reach)
    return dy, dx, peak


def _finer(
    cross: np.ndarray, shape: tuple[int, ...], dy: float, dx: float, reach: float
) -> tuple[float, float]:
    ys, xs = dy + np.linspace(-reach, reach, 21), dx + np.linspace(-reach, reach, 21)
    fy, fx = np.fft.fftfreq(shape[0]), np.fft.rfftfreq(shape[1])
    weight = np.full(len(fx), 2.0)
    weight[0] = 1.0
    near = np.real(
        np.exp(2j * np.pi * np.outer(ys, fy)) @ (cross * weight) @ np.exp(2j * np.pi * np.outer(fx, xs))
    )
    j, i = np.unravel_index(int(near.argmax()), near.shape)
    return float(ys[j]), float(xs[i])


def compare(
    first: Reduced,
    second: Reduced,
    rings_first: RingsResult | None = None,
    rings_second: RingsResult | None = None,
) -> Comparison:
    """Compare two scans of the same film at the same resolution (within 1 %).

    Raises
    ------
    InputError
        The resolutions differ, or the pictures do not match at all.
    """
    if abs(first.pitch_mm[0] / second.pitch_mm[0] - 1) > 0.01 or first.step != second.step:
        raise InputError(
            "scan", second.pitch_mm, "scan both at the same resolution and of about the same size"
        )
    high = min(first.small.shape[0], second.small.shape[0])
    wide = min(first.small.shape[1], second.small.shape[1])
    a, b = (
        np.log(np.maximum(r.small[:high, :wide].mean(axis=2), 0.004)).astype(float) for r in (first, second)
    )
    dy, dx, peak = shift_px(a, b)
    if peak < LEAST_PEAK:
        raise InputError("scan", "second scan", "the two scans do not show the same film; give two that do")
    px = (first.pitch_mm[0] * first.step, first.pitch_mm[1] * first.step)
    rows, cols = first.fine.shape
    cell = first.cell_px / first.step
    j, i = np.meshgrid(np.arange(rows) + dy / cell, np.arange(cols) + dx / cell, indexing="ij")
    sharp = [np.log(np.maximum(r.fine, 1e-12)) - np.log(np.maximum(r.middle, 1e-12)) for r in (first, second)]
    moved = ndimage.map_coordinates(sharp[1], [j, i], order=1, mode="constant", cval=np.nan)
    lit = first.level > max(0.008, 0.15 * float(np.median(first.level)))
    useful = lit & (first.middle > 0.1 * np.median(first.middle)) & np.isfinite(moved)
    gain = np.where(useful, moved - sharp[0], np.nan)
    good = gain[useful]
    if len(good) == 0:
        raise InputError("scan", "second scan", "no place of the film shows detail in both scans")
    return Comparison(
        shift_mm=(dx * px[0], dy * px[1]), shift_sigma_mm=px[0] / peak, peak=peak, gain=gain,
        mean_gain=float(np.median(good)), sharper_fraction=float((good > CLEAR).mean()),
        softer_fraction=float((good < -CLEAR).mean()), rings=_rings_word(rings_first, rings_second),
    )  # fmt: skip


def _rings_word(before: RingsResult | None, after: RingsResult | None) -> str:
    was, now = bool(before and before.found), bool(after and after.found)
    return {(False, False): "none", (True, False): "gone", (False, True): "new", (True, True): "still there"}[
        was, now
    ]
