"""What a third scan, with the holder back at its first place, says about the film's own change of height.

Between the first and the third scan the holder is back but for a hand's error, so that neither height nor distortion
moves the picture; what does is the change of height itself, X / D times as much at X from the axis.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from holders.measure.surface.estimate import WARM_WAVES, Priors, Viewing
from holders.measure.surface.search import Moves2D
from holders.measure.surface.shapes import Shapes

F64 = NDArray[np.float64]

HALF_WAY = 0.5  # of the change from first to third scan had come by the second, if it goes on evenly
HALF_WAY_SIGMA = 0.3  # warming slows down, and scans are not evenly spaced: all of it to none is within two of these
LEAST_MM = 0.004
FREEDOM = 4.0
STEPS = 30


def warmed(moves: Moves2D, shapes: Shapes, viewing: Viewing, priors: Priors) -> tuple[F64, F64]:
    """Mean and standard deviation of the film's change of height from the first to the second scan.

    Parameters
    ----------
    moves:
        Moves from the first scan to the third, mm.
    shapes, viewing, priors:
        As for the estimate; ``WARM_WAVES`` names the shapes whose sizes (mm) are returned.
    """
    away = moves.x - viewing.axis_x_mm
    left, right, top, bottom = shapes.opening.box
    p = 2 * (moves.x - left) / (right - left) - 1
    q = 2 * (moves.y - top) / (bottom - top) - 1
    lever = -(away / viewing.lens_distance_mm)[:, None]
    rows, names = np.unique(np.round(moves.y, 4), return_inverse=True)
    one_hot = np.zeros((len(moves.x), len(rows)))
    one_hot[np.arange(len(moves.x)), names.ravel()] = 1.0
    groups = [
        (lever * shapes.sines(moves.x, moves.y, WARM_WAVES), np.array([0.1 / (m * n) for m, n in WARM_WAVES])),
        (lever * np.stack([np.ones_like(p), p, q], axis=1), np.full(3, 2 * priors.tilt)),
        (np.stack([p, p**2, p**3], axis=1), np.full(3, priors.distortion * (0.002 + abs(float(np.median(moves.u)))))),
        (np.stack([np.ones_like(q), q], axis=1), np.full(2, 10.0)),
        (one_hot, np.full(len(rows), 0.02)),
    ]
    matrix = np.hstack([g[0] for g in groups]) * np.concatenate([g[1] for g in groups])
    size = groups[0][1]
    weight, noise = np.ones(len(moves.x)), 1.0
    for _ in range(STEPS):
        w = weight / (noise * moves.sigma_u) ** 2
        covariance = np.linalg.inv((matrix * w[:, None]).T @ matrix + np.eye(matrix.shape[1]))
        mean = covariance @ (matrix.T @ (w * moves.u))
        rest = moves.u - matrix @ mean
        square = (rest**2 + np.einsum("ni,ij,nj->n", matrix, covariance, matrix, optimize=True)) / moves.sigma_u**2
        noise = max(0.5, float(np.sqrt(np.mean(weight * square))))
        weight = (FREEDOM + 1) / (FREEDOM + square / noise**2)
    count = len(WARM_WAVES)
    change, sigma = mean[:count] * size, np.sqrt(np.diag(covariance)[:count]) * size
    spread = np.sqrt((HALF_WAY_SIGMA * change) ** 2 + (HALF_WAY * sigma) ** 2 + LEAST_MM**2)
    return HALF_WAY * change, spread
