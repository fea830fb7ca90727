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

import numpy as np
from numpy.typing import NDArray

from holders.focus.small import cardinal

F64 = NDArray[np.float64]

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


def solve(data: Data, z: float, weight: F64) -> Solved:
    """Weighted least squares for the curves and drifts at trial height ``z``."""
    s, ds = basis(np.abs(data.h - z), data.knots)
    n, f = data.y.shape
    m, q = s.shape[1], data.drift.shape[2]
    w = data.inverse * weight[:, None, None]
    ss = (s[:, :, None] * s[:, None, :]).reshape(n, m * m)
    curve = (w.reshape(n, f * f).T @ ss).reshape(f, f, m, m).transpose(0, 2, 1, 3).reshape(f * m, f * m)
    wc = w @ data.drift
    # as products of matrices, which are quicker than sums over indices
    cross = (s.T @ wc.reshape(n, f * q)).reshape(m, f, q).swapaxes(0, 1).reshape(f * m, q)
    drift = data.drift.reshape(n * f, q)
    corner = drift.T @ wc.reshape(n * f, q)
    k = f * m
    normal = np.empty((k + q, k + q))
    normal[:k, :k], normal[:k, k:], normal[k:, :k], normal[k:, k:] = curve, cross, cross.T, corner
    normal[np.arange(k), np.arange(k)] += RIDGE * np.trace(curve) / k
    normal[np.arange(k, k + q), np.arange(k, k + q)] += 1.0 / DRIFT_SIGMA**2
    wy = (w @ data.y[:, :, None])[:, :, 0]
    right = np.concatenate([(wy.T @ s).ravel(), wy.ravel() @ drift])
    beta = np.linalg.solve(normal, right)
    residual = data.y - s @ beta[: f * m].reshape(f, m).T - data.drift @ beta[f * m :]
    objective = float((residual * (w @ residual[:, :, None])[:, :, 0]).sum()) + float(
        (beta[f * m :] ** 2).sum() / DRIFT_SIGMA**2
    )
    return Solved(objective, beta, residual, normal, s, ds, np.abs(data.h - z))


def falls(solved: Solved, f: int, sharpest: F64, tolerance: float = 0.1) -> bool:
    """Whether detail is greatest next to the trial height (a hollow is as symmetric as a hill)."""
    m = solved.basis.shape[1]
    seen = solved.basis @ solved.beta[: f * m].reshape(f, m).T @ sharpest
    nearest = seen[int(np.argmin(solved.distance))]
    return bool(nearest >= seen.max() - tolerance * (seen.max() - seen.min()))


def influence(data: Data, solved: Solved, z: float, weight: F64) -> tuple[F64, float, F64]:
    """How each place pulls at the height.

    Returns the score of each place (n,), the information on z left after curves and drifts are fitted, and the
    gradient times the weights (n, f) that is left, so that a place's score is this times its residual.
    """
    f, m = data.y.shape[1], solved.basis.shape[1]
    w = data.inverse * weight[:, None, None]
    curves = solved.beta[: f * m].reshape(f, m)
    gradient = -(np.sign(data.h - z)[:, None]) * (solved.slope_basis @ curves.T)
    wg = (w @ gradient[:, :, None])[:, :, 0]
    right = np.concatenate([(wg.T @ solved.basis).ravel(), np.einsum("nf,nfq->q", wg, data.drift)])
    part = np.linalg.solve(solved.normal, right)
    left = gradient - solved.basis @ part[: f * m].reshape(f, m).T - data.drift @ part[f * m :]
    wl = (w @ left[:, :, None])[:, :, 0]
    score = np.einsum("nf,nf->n", wl, solved.residual)
    information = float(np.einsum("nf,nf->", wl, left))
    return score, information, wl


def left_out(data: Data, solved: Solved, weight: F64) -> F64:
    """Residuals (n, f) as they would be had each place not been fitted: (1 - H)^-1 r with H its own leverage.

    A curve that is free to follow the places near the sharp height leaves them residuals that are too small; this
    makes them honest (the jackknife form of the cluster-robust variance: R. M. Bell and D. F. McCaffrey, Survey
    Methodology 28, 169 (2002), from memory).
    """
    n, f = data.y.shape
    m = solved.basis.shape[1]
    k = f * m
    inner = np.linalg.inv(solved.normal)
    s, c = solved.basis, data.drift
    half = np.einsum("nm,fmj->nfj", s, inner[:k].reshape(f, m, -1))
    spread = np.einsum("nfgk,nk->nfg", half[:, :, :k].reshape(n, f, f, m), s)
    mixed = np.einsum("nfq,ngq->nfg", half[:, :, k:], c)
    spread += mixed + np.swapaxes(mixed, 1, 2) + c @ inner[k:, k:] @ np.swapaxes(c, 1, 2)
    leverage = spread @ (data.inverse * weight[:, None, None])
    keep = np.eye(f) - leverage
    return np.asarray(np.linalg.solve(keep, solved.residual[:, :, None])[:, :, 0])
