"""The band of heights that stay sharp, and the profile of sharpness, from a fitted curve.

How much of its best contrast a fine pattern keeps is what a photographer sees. The default is 20 lp/mm on the film at
seven tenths of its contrast at best focus. 20 lp/mm is what an enlargement of four times (a 4x5 inch sheet to a
16x20 inch print) spreads to 5 lp/mm on the paper, about the finest that is seen at reading distance (from memory);
three tenths of contrast lost is where a difference begins to show (common practice, no source).
"""

from __future__ import annotations

import numpy as np

from holders.focus.estimate import Estimate
from holders.focus.profile import F64, basis

FREQUENCY = 20.0
SHARE = 0.7
PRINT_DETAIL = 5.0


def between(frequency: F64, wanted: float) -> F64:
    """Weights over features (f,) that interpolate at ``wanted`` lp/mm, linear in the logarithm."""
    order = np.argsort(frequency)
    x = np.log(frequency[order])
    weights = np.zeros(len(frequency))
    t = float(np.clip(np.log(wanted), x[0], x[-1]))
    i = int(np.clip(np.searchsorted(x, t) - 1, 0, max(0, len(x) - 2)))
    if len(x) == 1 or x[i + 1] == x[i]:
        weights[order[i]] = 1.0
        return weights
    part = (t - x[i]) / (x[i + 1] - x[i])
    weights[order[i]], weights[order[i + 1]] = 1.0 - part, part
    return weights


def contrast_kept(fit: Estimate, frequency: F64, wanted: float, distance: F64) -> F64:
    """MTF at ``wanted`` lp/mm at distances from the sharp height, as a share of that at the sharp height."""
    curves = basis(distance, fit.knots)[0] @ fit.curves.T
    best = basis(np.zeros(1), fit.knots)[0] @ fit.curves.T
    detail = np.clip(np.exp(curves) - fit.noise, 0.0, None)
    top = np.maximum(np.exp(best) - fit.noise, 1e-3 * np.exp(best))
    return np.asarray(np.sqrt(detail / top) @ between(frequency, wanted))


def half_band(fit: Estimate, frequency: F64, wanted: float, share: float) -> tuple[float, bool]:
    """Distance to either side within which the share is kept; whether the end of it was seen."""
    u = np.linspace(0.0, float(fit.knots[-1]), 600)
    low = contrast_kept(fit, frequency, wanted, u) < share
    if not low.any():
        return float(u[-1]), False
    return float(u[int(np.argmax(low))]), True


def sharpness(fit: Estimate, frequency: F64, wanted: float, y: F64) -> F64:
    """Measured sharpness of each place (n,): 1 at the fitted best, the target's own contrast taken out."""
    best = basis(np.zeros(1), fit.knots)[0] @ fit.curves.T
    top = np.maximum(np.exp(best) - fit.noise, 1e-3 * np.exp(best))
    detail = np.clip(np.exp(y) - fit.noise, 0.0, None) * np.exp(-fit.common)[:, None]
    return np.asarray(np.sqrt(detail / top) @ between(frequency, wanted))
