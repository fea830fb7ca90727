"""The height at which detail is sharpest, from detail energy per height, without knowing the blur.

Model, for the logarithm y of the power at place b and frequency feature k:

    y[b, k] = g_k(|h_b - z|) + C[b, k] c + e[b, k]

``g_k`` is a smooth curve of the distance from the sharp height ``z``, free for every frequency, the same on both
sides: defocus is even about best focus for any blur family whose shape depends on the amount of defocus only. Where
the centre of symmetry lies can be estimated as well without knowing the curve as with it (the symmetric location
problem: C. Stein, Proc. 3rd Berkeley Symp. 1, 187 (1956), from memory), so nothing is lost by not assuming a blur.
``C`` lets contrast and noise drift slowly along the target. ``e`` has common modes (the target's contrast differs
from place to place: all frequencies rise together) and its own scatter per feature; both are estimated from the
scan by differences of neighbours, so that a ruling with missing ticks is judged by the ratio of its frequencies and
an even grain by their level too.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.small import cardinal

F64 = NDArray[np.float64]
Lean = tuple[float, float]

EVEN: Lean = (0.0, 0.0)
RIDGE = 1e-6
DRIFT_SIGMA = 0.3  # expected drift of log contrast from the middle to an end; a weak prior
STUDENT = 6.0  # degrees of freedom of the weight given to places that do not fit


@dataclass(frozen=True)
class Data:
    """What is fitted: heights (n,), log power (n, f), drift columns (n, f, q), inverse covariance (n, f, f).

    ``knots`` are distances from the sharp height at which the curves bend, from zero upwards.
    """

    h: F64
    y: F64
    drift: F64
    inverse: F64
    knots: F64


@dataclass(frozen=True)
class Solved:
    """The best curve for one trial height: objective, coefficients, residuals (n, f), normal matrix."""

    objective: float
    beta: F64
    residual: F64
    normal: F64
    basis: F64
    slope_basis: F64
    distance: F64


def basis(distance: F64, knots: F64) -> tuple[F64, F64]:
    """Spline basis at distances (n,) and its derivative, each (n, knots): level at distance zero (the curve is even),
    straight beyond the last knot.
    """
    u = np.minimum(distance, knots[-1])
    value, slope = cardinal(knots, u)
    return value + slope * (distance - u)[:, None], slope


@dataclass(frozen=True)
class Weighted:
    """Data with a ``weight`` for every place (n,), and all of the normal equations that no trial height changes.

    ``w`` (n, f, f) inverse covariances times the weights; ``pairs`` (n, f(f+1)/2) their upper triangles; ``wc``
    (n, f, q) and ``wy`` (n, f) the drift columns and the data under them; ``corner`` (q, q), ``end`` (q,): the drifts'
    own part of the normal matrix and of its right side.
    """

    data: Data
    weight: F64
    w: F64
    pairs: F64
    wc: F64
    wy: F64
    corner: F64
    end: F64


def weighted(data: Data, weight: F64) -> Weighted:
    """Prepare for many trial heights under the same weights (n,)."""
    n, f = data.y.shape
    q = data.drift.shape[2]
    w = data.inverse * weight[:, None, None]
    drift = data.drift.reshape(n * f, q)
    wc = w @ data.drift
    wy = (w @ data.y[:, :, None])[:, :, 0]
    rows, columns, _ = _unfold(f)
    return Weighted(
        data,
        weight,
        w,
        w[:, rows, columns],
        wc,
        wy,
        drift.T @ wc.reshape(n * f, q),
        wy.ravel() @ drift,
    )


@cache
def _unfold(size: int) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of a symmetric matrix's upper triangle, and where in it each entry (size, size) stands."""
    rows, columns = np.triu_indices(size)
    at = np.empty((size, size), np.intp)
    at[rows, columns] = at[columns, rows] = np.arange(len(rows))
    return rows, columns, at


def lean_distance(offset: F64, lean: Lean, reach: float) -> F64:
    """Distance from best focus as the blur sees it, for heights ``offset`` mm above it; never negative.

    ``lean`` holds by what share blur grows faster above than below: everywhere alike (first), and with the distance
    (second, at ``reach`` mm).
    """
    return np.asarray(np.abs(offset) * (1.0 + lean[0] * np.sign(offset) + lean[1] * offset / reach))


def solve(under: Weighted, z: float, lean: Lean = EVEN) -> Solved:
    """Weighted least squares for the curves and drifts at trial height ``z`` and the blur's ``lean``."""
    data = under.data
    distance = lean_distance(data.h - z, lean, float(data.knots[-1]))
    s, ds = basis(distance, data.knots)
    n, f = data.y.shape
    m, q = s.shape[1], data.drift.shape[2]
    k = f * m
    # both factors are symmetric: a quarter of the products is enough
    _, _, of_f = _unfold(f)
    rows, columns, of_m = _unfold(m)
    products = under.pairs.T @ (s[:, rows] * s[:, columns])
    curve = products[of_f[:, None, :, None], of_m[None, :, None, :]].reshape(k, k)
    # as products of matrices, which are quicker than sums over indices
    cross = (s.T @ under.wc.reshape(n, f * q)).reshape(m, f, q).swapaxes(0, 1).reshape(k, q)
    normal = np.empty((k + q, k + q))
    normal[:k, :k], normal[:k, k:], normal[k:, :k], normal[k:, k:] = curve, cross, cross.T, under.corner
    normal[np.arange(k), np.arange(k)] += RIDGE * np.trace(curve) / k
    normal[np.arange(k, k + q), np.arange(k, k + q)] += 1.0 / DRIFT_SIGMA**2
    beta = np.linalg.solve(normal, np.concatenate([(under.wy.T @ s).ravel(), under.end]))
    residual = data.y - s @ beta[:k].reshape(f, m).T - data.drift @ beta[k:]
    objective = float((residual * (under.w @ residual[:, :, None])[:, :, 0]).sum()) + float(
        (beta[k:] ** 2).sum() / DRIFT_SIGMA**2
    )
    return Solved(objective, beta, residual, normal, s, ds, distance)


def falls(solved: Solved, f: int, sharpest: F64, tolerance: float = 0.1) -> bool:
    """Whether detail is greatest next to the trial height (a hollow is as symmetric as a hill)."""
    m = solved.basis.shape[1]
    seen = solved.basis @ solved.beta[: f * m].reshape(f, m).T @ sharpest
    nearest = seen[int(np.argmin(solved.distance))]
    return bool(nearest >= seen.max() - tolerance * (seen.max() - seen.min()))


def influence(under: Weighted, solved: Solved, z: float) -> tuple[F64, float, F64]:
    """How each place pulls at the height, blur being alike on both sides.

    Returns the score of each place (n,), the information on z left after curves and drifts are fitted, and the
    gradient times the weights (n, f) that is left, so that a place's score is this times its residual.
    """
    left, wl = gradients(under, solved, z, EVEN, sides=False)
    score = np.einsum("nf,nf->n", wl[0], solved.residual)
    return score, float(np.einsum("nf,nf->", wl[0], left[0])), wl[0]


def gradients(under: Weighted, solved: Solved, z: float, lean: Lean, *, sides: bool) -> tuple[F64, F64]:
    """Change of the fitted log power with the height, and with both numbers of the ``lean`` where ``sides`` is set,
    after curves and drifts have followed it: (1 or 3, n, f), plain and times the weights.
    """
    data, w = under.data, under.w
    f, m = data.y.shape[1], solved.basis.shape[1]
    d, reach = data.h - z, float(data.knots[-1])
    steep = solved.slope_basis @ solved.beta[: f * m].reshape(f, m).T
    with_height = -(np.sign(d) * (1.0 + lean[0] * np.sign(d)) + 2.0 * lean[1] * np.abs(d) / reach)
    moves = [with_height, d, d * np.abs(d) / reach] if sides else [with_height]
    gradient = np.asarray([move[:, None] * steep for move in moves])
    wg = (w @ gradient[..., None])[..., 0]
    right = np.concatenate(
        [
            (np.swapaxes(wg, 1, 2) @ solved.basis).reshape(len(moves), -1),
            np.einsum("knf,nfq->kq", wg, data.drift),
        ],
        axis=1,
    )
    part = np.linalg.solve(solved.normal, right.T).T
    curves = part[:, : f * m].reshape(len(moves), f, m)
    left = gradient - solved.basis @ np.swapaxes(curves, 1, 2)
    left -= np.einsum("nfq,kq->knf", data.drift, part[:, f * m :])
    return left, (w @ left[..., None])[..., 0]


def left_out(under: Weighted, solved: Solved) -> F64:
    """Residuals (n, f) as they would be had each place not been fitted: (1 - H)^-1 r with H its own leverage.

    A curve that is free to follow the places near the sharp height leaves them residuals that are too small; this
    makes them honest (the jackknife form of the cluster-robust variance: R. M. Bell and D. F. McCaffrey, Survey
    Methodology 28, 169 (2002), from memory).
    """
    data = under.data
    n, f = data.y.shape
    m = solved.basis.shape[1]
    k = f * m
    inner = np.linalg.inv(solved.normal)
    s, c = solved.basis, data.drift
    half = np.einsum("nm,fmj->nfj", s, inner[:k].reshape(f, m, -1))
    spread = np.einsum("nfgk,nk->nfg", half[:, :, :k].reshape(n, f, f, m), s)
    mixed = np.einsum("nfq,ngq->nfg", half[:, :, k:], c)
    spread += mixed + np.swapaxes(mixed, 1, 2) + c @ inner[k:, k:] @ np.swapaxes(c, 1, 2)
    leverage = spread @ under.w
    keep = np.eye(f) - leverage
    return np.asarray(np.linalg.solve(keep, solved.residual[:, :, None])[:, :, 0])
