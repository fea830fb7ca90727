"""The band of heights that stay sharp, and the profile of sharpness, from a fitted curve.

How much of its best contrast a fine pattern keeps is what a photographer sees. The default is 20 lp/mm on the film at
seven tenths of its contrast at best focus. 20 lp/mm is what an enlargement of four times (a 4x5 inch sheet to a
16x20 inch print) spreads to 5 lp/mm on the paper, about the finest that is seen at reading distance (from memory);
three tenths of contrast lost is where a difference begins to show (common practice, no source).
"""

from __future__ import annotations

import numpy as np

from holders.measure.scan.small import running_median
from holders.measure.slope.estimate import Estimate
from holders.measure.slope.profile import F64, basis

FREQUENCY = 20.0
SHARE = 0.7


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


def sharpness(fit: Estimate, frequency: F64, wanted: float, y: F64) -> F64:
    """Sharpness of each place (n,): amplitude of detail at ``wanted`` lp/mm, the target's own contrast taken out."""
    best = basis(np.zeros(1), fit.knots)[0] @ fit.curves.T
    top = np.maximum(np.exp(best) - fit.noise, 1e-3 * np.exp(best))
    detail = np.clip(np.exp(y - fit.drift) - fit.noise, 0.0, None) * np.exp(-fit.common)[:, None]
    return np.asarray(np.sqrt(detail / top) @ between(frequency, wanted))


def contrast_kept(fit: Estimate, h: F64, measured: F64, share: float) -> tuple[float, float, bool]:
    """Top of the sharpness, the distance to either side at which ``share`` of it is left, and whether that was seen.

    An even polynomial in the distance from the sharp height, through the places down to a little below the share.
    """
    u = np.abs(h - fit.height)
    order = np.argsort(u)
    u, s = u[order], measured[order]
    steady = running_median(s, 7)
    low = np.nonzero(steady < 0.6 * share * np.median(s[:5]))[0]
    reach = float(u[max(int(low[0]), min(8, len(u) - 1))] if len(low) else u[-1])
    inside = u <= reach
    x = (u[inside] / reach) ** 2
    columns = np.stack([x**k for k in range(4 if inside.sum() > 12 else 2)], axis=1)
    found = np.linalg.lstsq(columns, s[inside], rcond=None)[0]
    grid = np.linspace(0.0, 1.0, 800)
    curve = np.stack([grid ** (2 * k) for k in range(len(found))], axis=1) @ found
    below = curve < share * found[0]
    if not below.any():
        return float(found[0]), reach, False
    return float(found[0]), reach * float(grid[int(np.argmax(below))]), True
