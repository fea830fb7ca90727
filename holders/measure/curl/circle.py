"""A circle through points, written so that a straight line is an ordinary case: curvature 0.

With q = d n the circle's point nearest to the origin (n its unit normal at angle ``phi``) and curvature k,

    F(p) = k/2 (|p|^2 + d^2) - (1 + k d) p.n + d,        distance = 2 F / (1 + sqrt(1 + 2 k F)),

which is exact for every k (the bounded parameters of V. Pratt, Computer Graphics 21, 145 (1987), and N. Chernov and
C. Lesort, J. Math. Imaging Vision 23, 239 (2005); both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
STUDENT = 4.0  # degrees of freedom of the weight of points that do not fit
ROUNDS = 60
LEAST_SCALE_MM = 0.002


@dataclass(frozen=True)
class Circle:
    """``kappa`` per mm (signed by the side of its normal), nearest point to ``origin`` at distance ``d`` along the
    angle ``phi``; ``step_mm`` the fitted half thickness times its design, ``covariance`` of (kappa, phi, d, step).
    """

    kappa: float
    phi: float
    d: float
    step_mm: float
    origin: tuple[float, float]
    residual: F64
    weight: F64
    scale_mm: float
    covariance: F64
    converged: bool

    def distance(self, points: F64) -> F64:
        """Signed distances of points (n, 2) from the circle, mm, positive away from its middle for kappa > 0."""
        return _distance(points - np.asarray(self.origin), self.kappa, self.phi, self.d)[0]

    def foot_of(self, points: F64) -> F64:
        """The nearest points on the circle, (n, 2)."""
        p = points - np.asarray(self.origin)
        dist, grad = _distance(p, self.kappa, self.phi, self.d)
        return np.asarray(points - dist[:, None] * grad)


def _distance(p: F64, k: float, phi: float, d: float) -> tuple[F64, F64]:
    """Distances and unit gradients (n, 2)."""
    n = np.array([np.cos(phi), np.sin(phi)])
    f = 0.5 * k * ((p**2).sum(1) + d * d) - (1 + k * d) * (p @ n) + d
    root = np.sqrt(np.maximum(1 + 2 * k * f, 1e-12))
    grad = (k * p - (1 + k * d) * n) / root[:, None]
    return 2 * f / (1 + root), grad


def start(points: F64) -> tuple[float, float, float]:
    """Curvature, angle and distance (origin at the points' mean) of the algebraic fit of Pratt's kind."""
    p = points - points.mean(0)
    size = max(float(np.sqrt((p**2).sum(1).mean())), 1e-9)
    q = p / size
    z = (q**2).sum(1)
    m = np.column_stack([z, q, np.ones(len(q))])
    # Taubin's constraint: the mean squared gradient is 1
    mean = m.T @ m / len(q)
    c = np.zeros((4, 4))
    c[0, 0], c[1, 1], c[2, 2] = 4 * z.mean(), 1.0, 1.0
    c[0, 1:3] = c[1:3, 0] = 2 * q.mean(0)
    inner = np.linalg.pinv(mean + 1e-14 * np.eye(4)) @ c
    values, vectors = np.linalg.eig(inner)
    a, bx, by, e = np.real(vectors[:, int(np.argmax(np.real(values)))])
    norm = np.sqrt(max(bx * bx + by * by - 4 * a * e, 1e-12))
    a, bx, by, e = a / norm, bx / norm, by / norm, e / norm
    # a z + b.q + e = F with k/2 = a, -(1+kd) n = b, k d^2/2 + d = e
    k = 2 * a
    length = np.hypot(bx, by)
    d = 2 * e / (1 + np.sqrt(max(1 + 2 * k * e, 1e-12)))
    phi = float(np.arctan2(-by, -bx)) if length > 0 else 0.0
    return float(k / size), phi, float(d * size)


def fit_circle(
    points: F64, side: F64, normal: F64, *, step_mm: float, step_sigma_mm: float, like: Circle | None = None
) -> Circle:
    """Robust fit of distances; points may be seen at one or the other face of something ``2 x step`` thick.

    Parameters
    ----------
    points:
        (n, 2), mm.
    side, normal:
        (n,) from -1 to 1, (n, 2): the true point is ``points + side x step x normal``.
    step_mm, step_sigma_mm:
        What is known of the step before; it is fitted along.
    like:
        A fit of nearly the same points: the sign of the curvature is taken as there.
    """
    origin = points.mean(0)
    p = points - origin
    k, phi, d = start(points + (side * step_mm)[:, None] * normal)
    if like is not None and np.cos(phi - like.phi) < 0:
        k, phi, d = -k, phi + np.pi, -d
    x = np.array([k, phi, d, step_mm])
    weight = np.ones(len(p))
    scale, converged = 0.1, False
    length = max(float(np.abs(p).max()), 1e-6)
    size = np.array([1 / length**2, 1 / length, 1.0, 1.0])
    for _ in range(ROUNDS):
        r, jac = _model(p, side, normal, x)
        scale = max(1.4826 * float(np.median(np.abs(r - np.median(r)))), LEAST_SCALE_MM)
        weight = (STUDENT + 1) / (STUDENT + (r / scale) ** 2)
        prior = (scale / step_sigma_mm) ** 2
        jac_s = jac * size
        normal_matrix = jac_s.T @ (weight[:, None] * jac_s)
        normal_matrix[3, 3] += prior
        right = jac_s.T @ (weight * r)
        right[3] += prior * (x[3] - step_mm)
        change = -np.linalg.solve(normal_matrix + 1e-12 * np.eye(4) * np.trace(normal_matrix), right) * size
        x = x + change
        if float(np.abs(change[:3] / size[:3]).max()) < 1e-7:
            converged = True
            break
    r, jac = _model(p, side, normal, x)
    information = jac.T @ (weight[:, None] * jac)
    information[3, 3] += (scale / step_sigma_mm) ** 2
    covariance = np.linalg.inv(information / np.outer(1 / size, 1 / size)) * np.outer(size, size)
    at = (float(origin[0]), float(origin[1]))
    k, phi, d, step = (float(v) for v in x)
    return Circle(k, phi, d, step, at, r, weight, scale, np.asarray(covariance, float), converged)


def _model(p: F64, side: F64, normal: F64, x: F64) -> tuple[F64, F64]:
    """Residuals (n,) and their derivatives (n, 4)."""
    k, phi, d, step = x
    q = p + (side * step)[:, None] * normal
    r, grad = _distance(q, k, phi, d)
    n, t = np.array([np.cos(phi), np.sin(phi)]), np.array([-np.sin(phi), np.cos(phi)])
    f = 0.5 * k * ((q**2).sum(1) + d * d) - (1 + k * d) * (q @ n) + d
    root = np.sqrt(np.maximum(1 + 2 * k * f, 1e-12))
    # r = 2F/(1+root); dr/dF = 1/root at fixed k, and dr/dk at fixed F = -r^2/(2 root)
    f_k = 0.5 * ((q**2).sum(1) + d * d) - d * (q @ n)
    columns = [
        f_k / root - r**2 / (2 * root),
        -(1 + k * d) * (q @ t) / root,
        (1 + k * d - k * (q @ n)) / root,
        side * (grad * normal).sum(1),
    ]
    return r, np.column_stack(columns)
