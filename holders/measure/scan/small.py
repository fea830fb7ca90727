"""Small numerical tools. A large library has each of them, but to load it takes longer than a whole measurement.

Every one is tested against that library (tests/measure/slope/test_focus_small.py).
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]


def running_median(y: NDArray[np.floating], width: int, axis: int = 0) -> F64:
    """Running median of an odd ``width`` along an axis, ends held."""
    windows = np.lib.stride_tricks.sliding_window_view(_held(y, width, axis), width, axis=axis)
    return np.asarray(np.median(windows, axis=-1), dtype=float)


def running_mean(y: F64, width: int) -> F64:
    """Running mean of a line, ends held; of an even ``width`` the extra value is the one before."""
    total = np.concatenate([[0.0], np.cumsum(_held(np.asarray(y, dtype=float), width, 0))])
    return np.asarray((total[width:] - total[:-width]) / width, dtype=float)


def _held(y: NDArray[np.floating], width: int, axis: int) -> NDArray[np.floating]:
    before = width // 2
    pads = [(0, 0)] * y.ndim
    pads[axis] = (before, width - 1 - before)
    return np.pad(y, pads, mode="edge")


def not_negative(a: F64, b: F64) -> F64:
    """The x >= 0 for which ``a @ x`` is nearest to ``b`` in least squares.

    Lawson and Hanson, Solving Least Squares Problems (1974), chapter 23 (from memory), on the normal equations.
    """
    gram, right = a.T @ a, a.T @ b
    n = len(right)
    x, free = np.zeros(n), np.zeros(n, np.bool_)
    small = 1e-12 * float(np.abs(right).max(initial=1e-300))
    for _ in range(3 * n):
        pull = np.where(free, -np.inf, right - gram @ x)
        at = int(np.argmax(pull))
        if not pull[at] > small:
            break
        free[at] = True
        while True:
            trial = np.zeros(n)
            trial[free] = np.linalg.lstsq(gram[np.ix_(free, free)], right[free], rcond=None)[0]
            low = free & (trial <= 0.0)
            if not low.any():
                x = trial
                break
            share = float((x[low] / np.maximum(x[low] - trial[low], 1e-300)).min())
            x = np.maximum(x + share * (trial - x), 0.0)
            free &= ~(low & (x <= 1e-14 * max(float(x.max()), 1e-300)))
            x[~free] = 0.0
    return x


@lru_cache(maxsize=32)
def _bends(knots: tuple[float, ...]) -> F64:
    """Second derivatives at the knots of each cardinal spline, (knots, splines): level at the first, straight at the
    last knot (cubic splines by their moments, any textbook).
    """
    x = np.asarray(knots)
    m, step = len(x), np.diff(x)
    left, right = np.zeros((m, m)), np.zeros((m, m))
    left[0, :2], right[0, :2] = (2.0 * step[0], step[0]), (-6.0 / step[0], 6.0 / step[0])
    for i in range(1, m - 1):
        left[i, i - 1 : i + 2] = step[i - 1], 2.0 * (step[i - 1] + step[i]), step[i]
        right[i, i - 1 : i + 2] = 6.0 / step[i - 1], -6.0 / step[i - 1] - 6.0 / step[i], 6.0 / step[i]
    left[-1, -1] = 1.0
    return np.asarray(np.linalg.solve(left, right))


def cardinal(knots: F64, u: F64) -> tuple[F64, F64]:
    """Cubic splines that are one at a knot and zero at the others, level at the first knot and straight at the last:
    values at ``u`` (n,) between the first and the last knot, and slopes, each (n, knots).
    """
    bend = _bends(tuple(knots.tolist()))
    j = np.clip(np.searchsorted(knots, u, side="right") - 1, 0, len(knots) - 2)
    step = knots[j + 1] - knots[j]
    b = (u - knots[j]) / step
    a = 1.0 - b
    rows = np.arange(len(u))
    value = (step**2 / 6.0 * (a**3 - a))[:, None] * bend[j] + (step**2 / 6.0 * (b**3 - b))[:, None] * bend[
        j + 1
    ]
    slope = (step / 6.0 * (1.0 - 3.0 * a**2))[:, None] * bend[j] + (step / 6.0 * (3.0 * b**2 - 1.0))[
        :, None
    ] * bend[j + 1]
    value[rows, j] += a
    value[rows, j + 1] += b
    slope[rows, j] -= 1.0 / step
    slope[rows, j + 1] += 1.0 / step
    return value, slope


@lru_cache(maxsize=1)
def _nodes() -> tuple[F64, F64]:
    x, w = np.polynomial.legendre.leggauss(60)
    return np.asarray(x, dtype=float), np.asarray(w, dtype=float)


def student_quantile(freedom: float, share: float) -> float:
    """The value below which ``share`` (over one half) of Student's law lies; ``freedom`` 2 or more.

    Newton's steps on the integral of the density (Gauss and Legendre).
    """
    scale = math.exp(math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)) / math.sqrt(freedom * math.pi)
    x, w = _nodes()
    t = 1.0
    for _ in range(50):
        inner = 0.5 * t * (x + 1.0)
        below = 0.5 + 0.5 * t * scale * float(w @ (1.0 + inner**2 / freedom) ** (-(freedom + 1) / 2))
        step = (share - below) / (scale * (1.0 + t * t / freedom) ** (-(freedom + 1) / 2))
        t += step
        if abs(step) < 1e-10:
            break
    return t


def smooth_length(n: int) -> int:
    """The least whole number not below ``n`` whose only prime factors are 2, 3 and 5: quick to transform."""
    while True:
        rest = n
        for prime in (2, 3, 5):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            return n
        n += 1
