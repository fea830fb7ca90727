"""Sharpness across the frame: how much of its fine detail each cell keeps, beside what the picture offers there.

Blur takes the fine band away and leaves the middle one. The measure is log(fine/middle): what the picture offers
cancels as far as its detail has a common spectrum, and grain has. Cells without detail in either band say nothing
(NaN). The measure is relative: 1 is the sharpest tenth of the frame. A low-order surface of the defocus is then
fitted; blur is even in the defocus, so a height's *sign* shows only where the predicted surface is given.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage, optimize

from holders.measure.finished.reduce import F64, Reduced

Pattern = Literal["even", "sag", "tilt", "curl", "edge", "unclear"]
IN_BAND = 0.6  # of the sharpest tenth's fine/middle ratio: where the eye begins to see a difference; common practice
LEAST_DETAIL = 0.15  # of the median cell's middle power: below it the cell is blank
DARKEST = 0.008


@dataclass(frozen=True)
class SharpnessMap:
    """``grid[j, i]`` 0 to about 1, NaN where the picture offers nothing; cell middles ``x_mm``, ``y_mm``.

    ``defocus[j, i]`` is the fitted blur measure sqrt(-log grid), proportional to the distance from the sharp plane.
    ``worst`` (x, y) of the least sharp area, mm. ``explained`` share of the variance that the pattern takes.
    """

    grid: F64
    x_mm: F64
    y_mm: F64
    in_band: NDArray[np.bool_]
    in_band_fraction: float
    in_band_sigma: float
    pattern: Pattern
    explained: float
    worst: tuple[float, float] | None
    defocus: F64
    coefficients: tuple[float, ...]


def sharpness_map(reduced: Reduced, inside: tuple[float, float, float, float] | None = None) -> SharpnessMap:
    """The map; ``inside`` (left, top, right, bottom) mm limits it to the film's picture area."""
    ratio = np.log(np.maximum(reduced.fine, 1e-12)) - np.log(np.maximum(reduced.middle, 1e-12))
    lit = reduced.level > DARKEST
    detail = reduced.middle > LEAST_DETAIL * np.median(reduced.middle[lit]) if lit.any() else lit
    rows, cols = ratio.shape
    x = (np.arange(cols) + 0.5) * reduced.cell_px * reduced.pitch_mm[0]
    y = (np.arange(rows) + 0.5) * reduced.cell_px * reduced.pitch_mm[1]
    ok = lit & detail & (reduced.middle > 1e-10)
    if inside is not None:
        half_x, half_y = reduced.cell_px * reduced.pitch_mm[0] / 2, reduced.cell_px * reduced.pitch_mm[1] / 2
        ok &= ((x >= inside[0] + half_x) & (x <= inside[2] - half_x))[None, :]
        ok &= ((y >= inside[1] + half_y) & (y <= inside[3] - half_y))[:, None]
    grid = np.full(ratio.shape, np.nan)
    x_mm, y_mm = x.astype(np.float64), y.astype(np.float64)
    if ok.sum() < 9:
        empty = np.zeros(ratio.shape, bool)
        return SharpnessMap(grid, x_mm, y_mm, empty, 0.0, 1.0, "unclear", 0.0, None, grid, ())
    steady = _steady(ratio, ok)
    best = float(np.percentile(steady[ok], 90))
    grid[ok] = np.exp(np.minimum(steady[ok] - best, 0.2))
    in_band = ok & (np.nan_to_num(grid) >= IN_BAND)
    share = float(in_band.sum() / ok.sum())
    # noise of single cells about their neighbours decides how many lie on the wrong side of the limit
    noise = float(1.4826 * np.median(np.abs((ratio - steady)[ok])))
    near = np.abs(np.log(np.maximum(grid[ok], 1e-6) / IN_BAND)) < max(noise, 0.02)
    sigma = float(max(0.5 * near.mean(), 1.0 / np.sqrt(ok.sum()) * np.sqrt(share * (1 - share) + 0.01)))
    blur = np.sqrt(np.maximum(-np.log(np.maximum(grid, 1e-6)), 0.0))
    pattern, explained, coefficients = classify(grid, ok)
    low = np.where(ok, ndimage.generic_filter(np.where(ok, grid, np.nan), _mean, 3, mode="nearest"), np.inf)
    j, i = np.unravel_index(int(np.argmin(low)), low.shape)
    worst = (float(x[i]), float(y[j])) if pattern != "even" else None
    return SharpnessMap(
        grid, x_mm, y_mm, in_band, share, sigma, pattern, explained, worst, blur, coefficients
    )


def _mean(a: F64) -> float:
    good = a[np.isfinite(a)]
    return float(good.mean()) if len(good) else np.nan


def _steady(ratio: F64, ok: NDArray[np.bool_]) -> F64:
    """Median of 3x3 good cells: one cell's content must not look like a place out of focus."""
    out = ndimage.generic_filter(np.where(ok, ratio, np.nan), _median, 3, mode="nearest")
    return np.where(np.isfinite(out), out, ratio)


def _median(a: F64) -> float:
    good = a[np.isfinite(a)]
    return float(np.median(good)) if len(good) else np.nan


def _coordinates(shape: tuple[int, int]) -> tuple[F64, F64]:
    v, u = np.meshgrid(np.linspace(-1, 1, shape[0]), np.linspace(-1, 1, shape[1]), indexing="ij")
    return u, v


def basis(u: F64, v: F64) -> F64:
    """Low-order heights over the frame, u and v from -1 to 1: 1, u, v, u², v², uv; (n, 6)."""
    return np.stack([np.ones_like(u), u, v, u * u, v * v, u * v], axis=-1)


def classify(grid: F64, ok: NDArray[np.bool_]) -> tuple[Pattern, float, tuple[float, ...]]:
    """Which low-order height z(u, v) explains log sharpness = -z² + const best, and its coefficients.

    The sign of z as a whole cannot be known from blur; it is given so that the middle's z is not below the edges'.
    """
    u, v = _coordinates(grid.shape)
    u, v = u[ok], v[ok]
    seen = np.log(np.maximum(grid[ok], 1e-6))
    spread = float(seen.std())
    if spread < 0.08:
        return "even", 1.0, (0.0,) * 6
    b = basis(u, v)

    def misfit(c: F64) -> F64:
        return np.asarray(np.minimum(c[6], 0.3) - (b @ c[:6]) ** 2 - seen)

    best: optimize.OptimizeResult | None = None
    for start in _STARTS:
        fit = optimize.least_squares(
            misfit, np.array([*start, 0.0]), loss="soft_l1", f_scale=0.2, max_nfev=200
        )
        if best is None or fit.cost < best.cost:
            best = fit
    assert best is not None
    c = best.x[:6]
    explained = float(max(0.0, 1.0 - float(np.var(misfit(best.x))) / spread**2))
    if explained < 0.35 and spread < 0.2:
        return "even", explained, (0.0,) * 6
    if explained < 0.35:
        return _one_sided(u, v, seen), explained, tuple(float(k) for k in c)
    if c[3] + c[4] > 0:
        c = -c
    return _name(c, u, v, seen), explained, tuple(float(k) for k in c)


_STARTS = (
    (0.3, 0.0, 0.0, 0.3, 0.3, 0.0), (0.0, 0.0, 0.0, 0.5, 0.5, 0.0), (0.8, 0.0, 0.0, -0.8, -0.8, 0.0),
    (0.0, 0.7, 0.0, 0.0, 0.0, 0.0), (0.0, 0.0, 0.7, 0.0, 0.0, 0.0), (0.0, 0.5, 0.5, 0.0, 0.0, 0.0),
    (0.5, 0.5, 0.0, 0.0, 0.0, 0.0), (0.5, -0.5, 0.0, 0.0, 0.0, 0.0), (0.5, 0.0, 0.5, 0.0, 0.0, 0.0),
    (0.5, 0.0, -0.5, 0.0, 0.0, 0.0), (0.0, 0.0, 0.0, 0.8, 0.0, 0.0), (0.0, 0.0, 0.0, 0.0, 0.8, 0.0),
    (0.8, 0.0, 0.0, -0.8, 0.0, 0.0), (0.8, 0.0, 0.0, 0.0, -0.8, 0.0),
)  # fmt: skip


def _name(c: F64, u: F64, v: F64, seen: F64) -> Pattern:
    tilt, bow_u, bow_v = float(np.hypot(c[1], c[2])), abs(float(c[3])), abs(float(c[4]))
    bow = max(bow_u, bow_v)
    if tilt > 1.2 * bow:
        return "tilt"
    if min(bow_u, bow_v) < 0.35 * bow or c[3] * c[4] < 0:
        return "curl"
    # both bend: a sagging middle is out of focus inside, a curl lifts the rim
    middle = seen[(np.abs(u) < 0.4) & (np.abs(v) < 0.4)]
    rim = seen[(np.abs(u) > 0.75) | (np.abs(v) > 0.75)]
    if len(middle) and len(rim) and float(np.median(middle)) < float(np.median(rim)):
        return "sag"
    return "curl"


def _one_sided(u: F64, v: F64, seen: F64) -> Pattern:
    """A bad edge: one rim blurred while the rest is even."""
    rest = float(np.median(seen))
    for rim in (u < -0.75, u > 0.75, v < -0.75, v > 0.75):
        others = ~rim
        if rim.sum() >= 4 and float(np.median(seen[rim])) < rest - 0.4 and float(np.std(seen[others])) < 0.3:
            return "edge"
    return "unclear"
