"""Sub-pixel displacement of many small windows at once, by least squares on their light.

Each window of the first picture is laid on the second: displacement, gain and offset are found by Gauss and Newton
with the mean of both pictures' gradients, so that noise in the gradients does not bias the answer. Pixels that do
not fit (dust in one of the two scans) lose their weight by Tukey's biweight. The covariance follows from the
gradients and what is left over. A test holds it against the registration of Guizar-Sicairos, Thurman and Fienup,
Optics Letters 33, 156 (2008), as a kept library has it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]

TAPS = 6  # of the interpolation kernel
MARGIN = 4  # px that the second picture's windows reach further on each side
STEPS = 6
TUKEY = 4.685  # biweight constant, 95 % efficiency for normal errors; from memory
MOST_STEP = 0.8  # px in one step
NOISE_SLOPE = 0.226  # mean square of the mean slope of two noisy pictures, per variance of their difference
FLOOR = 0.05


@dataclass(frozen=True)
class Moves:
    """Displacements of N windows in pixels (``u`` along columns, ``v`` along rows) with what they are worth.

    ``sigma_u``, ``sigma_v`` standard deviations from gradients and residuals, px; ``likeness`` correlation of the two
    windows once laid on each other, -1..1; ``settled`` where the last step was below 0.02 px.
    """

    u: F64
    v: F64
    sigma_u: F64
    sigma_v: F64
    likeness: F64
    settled: NDArray[np.bool_]


def _kernel(shift: F64) -> F64:
    """Lanczos weights of order 3 for a shift in 0..1, shape (N, TAPS); they sum to one."""
    t = np.arange(-2, 4)[None, :] - shift[:, None]
    w = np.sinc(t) * np.sinc(t / 3)
    return np.asarray(w / w.sum(axis=1, keepdims=True))


def _moved(wide: F32, u: F64, v: F64, side: int) -> F32:
    """Windows of ``side`` out of ``wide`` (N, side + 2 MARGIN, the same), displaced by u, v (|u| < MARGIN - 3)."""
    count = len(wide)
    iu, iv = np.floor(u).astype(int), np.floor(v).astype(int)
    ku, kv = _kernel(u - iu).astype(np.float32), _kernel(v - iv).astype(np.float32)
    rows = np.zeros((count, side, wide.shape[2]), np.float32)
    out = np.zeros((count, side, side), np.float32)
    for offset in np.unique(iv):
        pick = np.nonzero(iv == offset)[0]
        for t in range(TAPS):
            a = MARGIN + offset + t - 2
            rows[pick] += kv[pick, t, None, None] * wide[pick, a : a + side]
    for offset in np.unique(iu):
        pick = np.nonzero(iu == offset)[0]
        for t in range(TAPS):
            a = MARGIN + offset + t - 2
            out[pick] += ku[pick, t, None, None] * rows[pick, :, a : a + side]
    return out


def _gradient(a: F32) -> tuple[F32, F32]:
    """Slope along columns and rows inside a rim of two pixels, by five points (exact to fourth order)."""
    gx = (8 * (a[:, 2:-2, 3:-1] - a[:, 2:-2, 1:-3]) - (a[:, 2:-2, 4:] - a[:, 2:-2, :-4])) / np.float32(12)
    gy = (8 * (a[:, 3:-1, 2:-2] - a[:, 1:-3, 2:-2]) - (a[:, 4:, 2:-2] - a[:, :-4, 2:-2])) / np.float32(12)
    return gx.astype(np.float32, copy=False), gy.astype(np.float32, copy=False)


def register(first: F32, second: F32) -> Moves:
    """Displacement of each window of ``first`` in ``second``.

    Parameters
    ----------
    first:
        (N, side, side) light.
    second:
        (N, side + 2 MARGIN, side + 2 MARGIN) light, centred where the window is expected; what is looked for lies
        within about one pixel and a half of it.
    """
    count, side = first.shape[0], first.shape[1]
    u, v = np.zeros(count), np.zeros(count)
    a = first[:, 2:-2, 2:-2]
    weight = np.ones_like(a)
    last = np.full(count, np.inf)
    sigma = np.full((2, count), np.inf)
    likeness = np.zeros(count)
    todo = np.arange(count)
    for step in range(STEPS):
        if not len(todo):
            break
        moved = _moved(second[todo], u[todo], v[todo], side)
        found = _step(a[todo], first[todo], moved, weight[todo], robust=step >= 1)
        move = np.clip(found.move, -MOST_STEP, MOST_STEP)
        u[todo], v[todo] = u[todo] + move[0], v[todo] + move[1]
        lost = (np.abs(u[todo]) > MARGIN - 2.5) | (np.abs(v[todo]) > MARGIN - 2.5)
        u[todo[lost]], v[todo[lost]] = 0.0, 0.0
        last[todo] = np.where(lost, np.inf, np.hypot(*move))
        sigma[:, todo], likeness[todo], weight[todo] = found.sigma, found.likeness, found.weight
        todo = todo[~lost & ((last[todo] > 0.01) | (step < 2))]
    return Moves(u, v, sigma[0], sigma[1], likeness, last < 0.02)


@dataclass(frozen=True)
class _Step:
    move: F64
    sigma: F64
    likeness: F64
    weight: F32


def _step(a: F32, first: F32, moved: F32, weight: F32, *, robust: bool) -> _Step:
    """One step of Gauss and Newton, all windows together; weights are renewed from the residuals first."""
    b = moved[:, 2:-2, 2:-2]
    n = float(a.shape[1] * a.shape[2])
    gain, rest = _levelled(a, b, weight)
    if robust:
        scale = 1.4826 * np.median(np.abs(rest).reshape(len(a), -1)[:, ::3], axis=1) + 1e-9
        t = rest / (TUKEY * scale[:, None, None]).astype(np.float32)
        np.clip(1 - t * t, 0, None, out=t)
        weight = np.square(t)
        gain, rest = _levelled(a, b, weight)
    ga, gb = _gradient(first), _gradient(moved)
    half = np.float32(0.5)
    g32 = gain.astype(np.float32)[:, None, None]
    gx, gy = half * (g32 * ga[0] + gb[0]), half * (g32 * ga[1] + gb[1])
    total = weight.sum(axis=(1, 2), dtype=np.float64) + 1e-12
    wx, wy = weight * gx, weight * gy
    # gain and offset are projected out of the gradients, so that the covariance knows of them
    xx, yy, xy = (_dot(p, q) for p, q in ((wx, gx), (wy, gy), (wx, gy)))
    xr, yr = _dot(wx, rest), _dot(wy, rest)
    mx, my = wx.sum(axis=(1, 2)) / total, wy.sum(axis=(1, 2)) / total
    xx, yy, xy = xx - total * mx * mx, yy - total * my * my, xy - total * mx * my
    var = _dot(weight * rest, rest) / np.maximum(total - 4, 1.0)
    # noise makes slopes too: its share is taken out of what the slopes are worth, but for a floor
    false = NOISE_SLOPE * var * total
    xx, yy = np.maximum(xx - false, FLOOR * xx), np.maximum(yy - false, FLOOR * yy)
    det = np.maximum(xx * yy - xy * xy, FLOOR * xx * yy + 1e-30)
    move = np.stack([-(yy * xr - xy * yr), -(xx * yr - xy * xr)]) / det
    sigma = np.sqrt(np.stack([yy, xx]) / det * var * n / total)
    spread_a = a - a.mean(axis=(1, 2), keepdims=True)
    spread_b = b - b.mean(axis=(1, 2), keepdims=True)
    like = _dot(spread_a, spread_b) / np.sqrt(_dot(spread_a, spread_a) * _dot(spread_b, spread_b) + 1e-30)
    return _Step(move, sigma, like, weight)


def _dot(p: F32, q: F32) -> F64:
    return np.asarray(np.einsum("nij,nij->n", p, q, optimize=True), dtype=np.float64)


def _levelled(a: F32, b: F32, weight: F32) -> tuple[F64, F32]:
    """Gain of b over a (from the spreads, which noise in either moves alike) and b - gain a - offset."""
    total = weight.sum(axis=(1, 2), dtype=np.float64) + 1e-12
    ma, mb = _dot(weight, a) / total, _dot(weight, b) / total
    da = a - ma.astype(np.float32)[:, None, None]
    db = b - mb.astype(np.float32)[:, None, None]
    gain = np.sqrt((_dot(weight * db, db) + 1e-12) / (_dot(weight * da, da) + 1e-12))
    gain = np.clip(gain, 0.2, 5.0)
    return gain, np.asarray(db - gain.astype(np.float32)[:, None, None] * da)
