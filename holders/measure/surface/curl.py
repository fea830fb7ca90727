"""The curl of a film from its measured surface: the one whose computed surface fits best, its uncertainty counted.

Where a holder presses film flat, films of very different curl lie alike, and the surface says little of the curl: the
range that fits is then wide. Generalised least squares with the measured surface's own covariance; e.g. A. C. Aitken
(1936), from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

F64 = NDArray[np.float64]

MOST_PLACES = 500
NOISE_MM = 0.01  # of a computed surface, from place to place
WAVE_MM = 0.03  # in each of its long waves, beside stiffness and curl: judgement, no source
WAVES = 4
STEPS = 121
TWO_SIGMA = 4.0  # of chi square


@dataclass(frozen=True)
class FittedCurl:
    """Curl per metre across the film that fits best, with its standard deviation and the range within two of them.

    ``rest_mm``: root mean square of measured less computed heights at it. ``open_low``, ``open_high``: the range ends
    only because no film of less, or of more, curl was computed.
    """

    per_m: float
    sigma_per_m: float
    low_per_m: float
    high_per_m: float
    rest_mm: float
    open_low: bool
    open_high: bool


def fit_curl(
    measured_mm: F64,
    root_mm: F64,
    computed: Callable[[float], F64],
    span_per_m: tuple[float, float],
    unsure_mm: F64,
) -> FittedCurl:
    """The curl whose surface fits N measured heights.

    Parameters
    ----------
    measured_mm:
        (N,) heights above the glass.
    root_mm:
        (N, M) root of their covariance: it times its transpose.
    computed:
        Heights above the glass at the same places for a curl per metre.
    span_per_m:
        Least and greatest curl to try.
    unsure_mm:
        (N, K) root of what the computed surfaces are unsure by: ``waves``, and the stiffness of the base.
    """
    some = np.linspace(0, len(measured_mm) - 1, min(MOST_PLACES, len(measured_mm))).astype(int)
    root = np.hstack([root_mm, unsure_mm])[some]
    factor = linalg.cho_factor(root @ root.T + NOISE_MM**2 * np.eye(len(some)), lower=True)
    curls = np.linspace(*span_per_m, STEPS)
    rests = np.array([measured_mm[some] - computed(float(k))[some] for k in curls])
    square = np.einsum("kn,nk->k", rests, linalg.cho_solve(factor, rests.T))
    best = int(np.argmin(square))
    # a surface that fits worse than its covariance says widens the range
    worse = max(1.0, float(square[best]) / len(some))
    fits = np.flatnonzero(square - square[best] <= TWO_SIGMA * worse)
    low, high = float(curls[fits[0]]), float(curls[fits[-1]])
    step = float(curls[1] - curls[0])
    return FittedCurl(
        float(curls[best]), max(high - low, step) / 4, low, high, float(np.sqrt(np.mean(rests[best] ** 2))),
        bool(fits[0] == 0), bool(fits[-1] == STEPS - 1),
    )  # fmt: skip


def waves(p: F64, q: F64) -> F64:
    """Long waves over the opening (N, K), mm, at shares 0..1 of its width and height: a film is bent in many ways."""
    one = [
        np.cos(np.pi * k * p)[:, None] * np.cos(np.pi * m * q)[:, None]
        for k in range(WAVES)
        for m in range(WAVES)
    ]
    sizes = [WAVE_MM / max(1, k + m) for k in range(WAVES) for m in range(WAVES)]
    return np.asarray(np.hstack(one) * np.array(sizes))
