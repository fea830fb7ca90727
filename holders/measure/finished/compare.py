"""Two scans of the same film, before and after a change: how far apart they lie, which is sharper where, rings."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import fft

from holders.core.errors import InputError
from holders.measure.finished.blur.blocks import RINGS
from holders.measure.finished.blur.judge import IN_BAND
from holders.measure.finished.blur.transfer import judged_lp_mm
from holders.measure.finished.reduce import F64, Reduced
from holders.measure.finished.rings.rings import RingsResult


@dataclass(frozen=True)
class Comparison:
    """``shift_mm`` (x, y) of the second scan's content against the first's, with ``shift_sigma_mm``.

    ``gain[j, i]``: logarithm of the second's contrast in fine detail over the first's, noise taken out, per cell of the
    first (NaN: nothing to compare); ``sharper_fraction``/``softer_fraction`` cells clearly better or worse. The film is
    the same in both, so what one shows and the other does not was lost by the scan, not by the picture:
    ``blurred_before``/``blurred_after`` are the shares that one scan shows the other to have out of the focus band.
    ``compared_fraction`` of the cells; ``rings`` a word: "none", "gone", "new", "still there".
    """

    shift_mm: tuple[float, float]
    shift_sigma_mm: float
    peak: float
    gain: F64
    mean_gain: float
    sharper_fraction: float
    softer_fraction: float
    blurred_before: float
    blurred_after: float
    compared_fraction: float
    rings: str

    def to_values(self) -> dict[str, object]:
        """Plain values for JSON; a cell with nothing to compare is None."""
        grid = [[round(float(v), 3) if np.isfinite(v) else None for v in row] for row in self.gain.tolist()]
        return {
            "shift": [round(float(v), 3) for v in self.shift_mm], "shift_sigma": round(float(self.shift_sigma_mm), 4),
            "mean_gain": round(float(self.mean_gain), 4), "sharper_fraction": round(float(self.sharper_fraction), 4),
            "softer_fraction": round(float(self.softer_fraction), 4),
            "blurred_before": round(float(self.blurred_before), 4),
            "blurred_after": round(float(self.blurred_after), 4),
            "compared_fraction": round(float(self.compared_fraction), 4), "gain": grid, "rings": self.rings,
        }  # fmt: skip


Area = tuple[float, float, float, float]
WHITEN = 0.8
RIM_PX = 4  # inside the lit area's sides: their blur and a small turn
LEAST_PEAK = 10.0  # sigmas; two films that differ reach 5 to 6
CLEAR = 0.15  # logarithm: less is within what two scans of the same thing differ by
MOST = 24  # cells along a side
DARK = 0.01  # of full scale
LEAST_OF_NOISE = 0.15  # detail weaker than this share of the noise is not seen


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
    inside: tuple[Area | None, Area | None] = (None, None),
) -> Comparison:
    """Compare two scans of the same film at the same resolution (within 1 %).

    ``inside`` is the lit area of each (left, top, right, bottom; mm). Where both are known only what lies within them
    is matched: two films in one holder share the holder's outline, which says nothing about the film.

    Raises
    ------
    InputError
        The resolutions differ, the pictures do not match at all, or one was packed with losses (JPEG).
    """
    for scan, name in ((first, "first scan"), (second, "second scan")):
        if scan.blocks.packed:
            raise InputError(
                "scan",
                name,
                "it was once packed as JPEG, which changes the fine detail compared; save both as TIFF",
            )
    if abs(first.pitch_mm[0] / second.pitch_mm[0] - 1) > 0.01 or first.step != second.step:
        raise InputError(
            "scan", second.pitch_mm, "scan both at the same resolution and of about the same size"
        )
    px = (first.pitch_mm[0] * first.step, first.pitch_mm[1] * first.step)
    a, at_a = _film(first, inside[0] if inside[1] else None, px)
    b, at_b = _film(second, inside[1] if inside[0] else None, px)
    high, wide = min(a.shape[0], b.shape[0]), min(a.shape[1], b.shape[1])
    dy, dx, peak = shift_px(a[:high, :wide], b[:high, :wide])
    dy, dx = dy + at_b[0] - at_a[0], dx + at_b[1] - at_a[1]
    if peak < LEAST_PEAK:
        raise InputError("scan", "second scan", "the two scans do not show the same film; give two that do")
    gain = detail_gain(first, second, (dx * px[0], dy * px[1]), inside[0])
    known = np.isfinite(gain)
    good = gain[known]
    if len(good) == 0:
        raise InputError("scan", "second scan", "no place of the film shows detail in both scans")
    out = -float(np.log(IN_BAND))
    return Comparison(
        shift_mm=(dx * px[0], dy * px[1]), shift_sigma_mm=px[0] / peak, peak=peak, gain=gain,
        mean_gain=float(np.median(good)), sharper_fraction=float((good > CLEAR).mean()),
        softer_fraction=float((good < -CLEAR).mean()), blurred_before=float((good > out).mean()),
        blurred_after=float((good < -out).mean()), compared_fraction=float(known.mean()),
        rings=_rings_word(rings_first, rings_second),
    )  # fmt: skip


def detail_gain(first: Reduced, second: Reduced, shift_mm: tuple[float, float], inside: Area | None) -> F64:
    """Logarithm of the second's contrast in fine detail over the first's, beside coarse detail, (rows, columns).

    Blocks of both scans are paired by place, so that the same film stands on both sides; the noise of each cell, seen
    in its highest frequencies, is taken out.
    """
    from scipy.spatial import KDTree  # noqa: PLC0415

    a, b = first.blocks, second.blocks
    pitch = first.pitch_mm
    at_a = np.stack([a.x_px * pitch[0], a.y_px * pitch[1]], axis=1)
    at_b = np.stack([b.x_px * second.pitch_mm[0], b.y_px * second.pitch_mm[1]], axis=1) - np.asarray(shift_mm)
    size = first.small.shape[1] * first.step * pitch[0], first.small.shape[0] * first.step * pitch[1]
    box = (0.0, 0.0, *size) if inside is None else inside
    columns, rows = (
        max(1, min(MOST, int((box[k + 2] - box[k]) / (2.5 * a.hop_px * pitch[0])))) for k in (0, 1)
    )
    gain = np.full((rows, columns), np.nan)
    if not len(at_a) or not len(at_b):
        return gain
    nearest = KDTree(at_b).query(at_a)
    away, other = np.asarray(nearest[0]), np.asarray(nearest[1], dtype=np.intp)
    good = (away < a.hop_px * pitch[0]) & a.usable & b.usable[other]
    good &= (a.level > DARK) & (b.level[other] > DARK)
    i = np.floor((at_a[:, 0] - box[0]) / (box[2] - box[0]) * columns).astype(int)
    j = np.floor((at_a[:, 1] - box[1]) / (box[3] - box[1]) * rows).astype(int)
    for row, column in np.ndindex(rows, columns):
        pick = np.flatnonzero(good & (i == column) & (j == row))
        if len(pick) >= 3:
            gain[row, column] = _gain(
                np.asarray(a.power[pick], float), np.asarray(b.power[other[pick]], float), a.pixel_mm
            )
    return gain


def _gain(first: F64, second: F64, pixel_mm: float) -> float:
    """Of one cell; NaN where neither scan shows detail above its noise."""
    middle = 0.5 * (RINGS[1:] + RINGS[:-1])
    judged = judged_lp_mm(pixel_mm) * pixel_mm
    fine, coarse = (middle > 0.7 * judged) & (middle < 1.2 * judged), middle < 0.45 * judged
    if coarse.sum() < 2:
        coarse = middle < middle[2]
    logs = []
    seen = []
    for power in (first, second):
        mean = np.exp(np.log(np.maximum(power, 1e-14)).mean(axis=0))
        noise = float(mean[-3:].min())
        detail = max(float(mean[fine].mean()) - noise, LEAST_OF_NOISE * noise)
        seen.append(detail > 2 * LEAST_OF_NOISE * noise)
        logs.append(
            0.5 * float(np.log(detail / max(float(mean[coarse].mean()) - noise, LEAST_OF_NOISE * noise)))
        )
    return logs[1] - logs[0] if any(seen) else float("nan")


def _film(scan: Reduced, inside: Area | None, px: tuple[float, float]) -> tuple[F64, tuple[int, int]]:
    """Logarithm of light of the film alone, and its first row and column in the small picture."""
    light = np.log(np.maximum(scan.small.mean(axis=2), 0.004)).astype(float)
    if inside is None:
        return light, (0, 0)
    left, right = int(np.ceil(inside[0] / px[0])) + RIM_PX, int(inside[2] / px[0]) - RIM_PX
    top, bottom = int(np.ceil(inside[1] / px[1])) + RIM_PX, int(inside[3] / px[1]) - RIM_PX
    if min(right - left, bottom - top) < 64:
        return light, (0, 0)
    return light[top:bottom, left:right], (top, left)


def _rings_word(before: RingsResult | None, after: RingsResult | None) -> str:
    was, now = bool(before and before.found), bool(after and after.found)
    if after is not None and not after.told:
        return "cannot tell"
    return {(False, False): "none", (True, False): "gone", (False, True): "new", (True, True): "still there"}[
        was, now
    ]
