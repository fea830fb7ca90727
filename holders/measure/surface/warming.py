"""The film's own change of height between scans: what is expected of it, and what a third scan shows.

A change dz at X from the lens's axis moves the picture by -X dz / D. Where the axis lies in a scan that was cropped is
not known, so that each shape of the change has two sizes: its height (mm), and its height times the distance of the
scan's middle from the axis (mm2). With the holder back at its first place for a third scan neither height nor
distortion moves the picture, and both sizes can be measured; from it follows what the film did by the second scan.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.surface.search import Moves2D
from holders.measure.surface.shapes import Shapes

F64 = NDArray[np.float64]

WAVES = ((1, 1), (2, 1), (1, 2), (3, 1), (2, 2), (1, 3))
# a film that warms by dT (1 - exp(-t / tau)) has at half time done 1 / (1 + exp(-t / tau)) of it: half to all
HALF_WAY, HALF_WAY_SIGMA = 0.7, 0.15
LEAST_MM = 0.004
MOST_MM = 0.1  # expected of the lowest shape before the third scan is looked at
FREEDOM = 4.0
STEPS = 30


@dataclass(frozen=True)
class Change:
    """Sizes of ``WAVES`` (mm) and of the same times the axis's offset (mm2): mean and covariance of both together."""

    mean: F64
    covariance: F64


def columns(shapes: Shapes, x_mm: F64, y_mm: F64, middle_mm: float, shift_mm: float) -> F64:
    """What each size of a ``Change`` adds to the height that a shift shows, (N, 2 waves)."""
    sines = shapes.sines(x_mm, y_mm, WAVES)
    return np.hstack([(1 + (x_mm - middle_mm) / shift_mm)[:, None] * sines, sines / shift_mm])


def expected_change(warm_mm: float, axis_sigma_mm: float) -> Change:
    """What is expected without a third scan: ``warm_mm`` in the film's middle, the axis off by ``axis_sigma_mm``."""
    size = np.array([warm_mm / (m * n) for m, n in WAVES])
    return Change(np.zeros(2 * len(WAVES)), np.diag(np.concatenate([size, size * axis_sigma_mm]) ** 2))


def measured_change(
    moves: Moves2D, shapes: Shapes, *, middle_mm: float, axis_sigma_mm: float, lens_distance_mm: float, tilt_mm: float,
    distortion: float,
) -> Change:  # fmt: skip
    """The film's change from the first to the second scan, from moves (mm) between the first and the third.

    Parameters
    ----------
    moves, shapes:
        Moves from the first scan to the third; the film's shapes.
    middle_mm, axis_sigma_mm:
        Where the axis is taken to be in the first scan, and how far it may be from there.
    lens_distance_mm, tilt_mm, distortion:
        As in the estimate's viewing and priors.
    """
    matrix, size = _terms(moves, shapes, middle_mm, axis_sigma_mm, lens_distance_mm, tilt_mm, distortion)
    scaled = matrix * size
    weight, noise = np.ones(len(moves.x)), 1.0
    mean: F64 = np.zeros(len(size))
    covariance: F64 = np.eye(len(size))
    for _ in range(STEPS):
        w = weight / (noise * moves.sigma_u) ** 2
        covariance = np.asarray(np.linalg.inv((scaled * w[:, None]).T @ scaled + np.eye(len(size))))
        mean = np.asarray(covariance @ (scaled.T @ (w * moves.u)))
        rest = moves.u - scaled @ mean
        doubt = np.einsum("ni,ij,nj->n", scaled, covariance, scaled, optimize=True)
        square = (rest**2 + doubt) / moves.sigma_u**2
        noise = max(0.5, float(np.sqrt(np.mean(weight * square))))
        weight = (FREEDOM + 1) / (FREEDOM + square / noise**2)
    k = 2 * len(WAVES)
    change = mean[:k] * size[:k]
    spread = covariance[:k, :k] * size[:k, None] * size[None, :k]
    least = np.concatenate([np.full(len(WAVES), LEAST_MM), np.full(len(WAVES), LEAST_MM * axis_sigma_mm)])
    return Change(
        HALF_WAY * change,
        HALF_WAY**2 * spread + HALF_WAY_SIGMA**2 * np.outer(change, change) + np.diag(least**2),
    )


def _terms(
    moves: Moves2D,
    shapes: Shapes,
    middle_mm: float,
    axis_sigma_mm: float,
    lens_mm: float,
    tilt_mm: float,
    distortion: float,
) -> tuple[F64, F64]:
    x, y = moves.x, moves.y
    left, right, top, bottom = shapes.opening.box
    p, q = 2 * (x - left) / (right - left) - 1, 2 * (y - top) / (bottom - top) - 1
    sines = shapes.sines(x, y, WAVES)
    lever = -((x - middle_mm) / lens_mm)[:, None]
    _, names = np.unique(np.round(y, 4), return_inverse=True)
    one_hot = np.zeros((len(x), int(names.max()) + 1))
    one_hot[np.arange(len(x)), names.ravel()] = 1.0
    expected = np.array([MOST_MM / (m * n) for m, n in WAVES])
    back = 0.002 + abs(float(np.median(moves.u)))
    groups = [
        (lever * sines, expected),
        (-sines / lens_mm, expected * axis_sigma_mm),
        (lever * np.stack([np.ones_like(p), p, q], axis=1), np.full(3, 2 * tilt_mm)),
        (np.stack([p, p**2, p**3], axis=1), np.full(3, distortion * back)),
        (np.stack([np.ones_like(q), q], axis=1), np.full(2, 10.0)),
        (one_hot, np.full(one_hot.shape[1], 0.02)),
    ]
    return np.hstack([g[0] for g in groups]), np.concatenate([g[1] for g in groups])
