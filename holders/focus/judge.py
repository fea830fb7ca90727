"""The curve through one channel, and whether it shows a sharp height at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.errors import InputError
from holders.focus.estimate import Estimate, estimate
from holders.focus.gather import Gathered, gather
from holders.focus.profile import F64
from holders.focus.sample import Taken
from holders.focus.spectra import Features

LEAST_SHARE = 0.25  # of the power in the richest feature that must be more than noise
LEAST_PLACES = 16


@dataclass(frozen=True)
class Fit:
    """One channel's gathered spectra (places with something in them) and the curve through them."""

    ok: NDArray[np.bool_]
    seen: Gathered
    h: F64
    y: F64
    curve: Estimate


def fit_channel(
    taken: Taken, channel: int, heights: F64, step: float, features: Features, judged: NDArray[np.bool_]
) -> Fit:
    """Gather one channel's strips and fit the curve."""
    seen = gather(taken.power[channel], taken.level[channel], taken.offset[channel], taken.allowed, features)
    ok = np.asarray(np.isfinite(seen.log_power).all(axis=1), dtype=np.bool_)
    if ok.sum() < LEAST_PLACES:
        raise InputError(
            "scan", f"{ok.sum()} places with light", "the slope shows nothing that can be measured"
        )
    h, y = (heights + step * seen.offset)[ok], seen.log_power[ok][:, judged]
    if not (np.ptp(y) > 1e-9 and np.isfinite(y).all()) or np.exp(y.max()) < 1e-12:
        raise InputError("scan", "no detail at all", "scan a ruled target or developed film on the slope")
    return Fit(ok, seen, h, y, estimate(h, y, seen.level[ok], features.frequency[judged]))


def certain(fit: Fit, wanted: float) -> bool:
    """Whether the height is known well enough to stop reading."""
    return not fit.curve.edge and float(np.hypot(fit.curve.sigma, fit.curve.spread)) <= wanted and shows(fit)


def shows(fit: Fit) -> bool:
    """Whether detail depends on the height at all, by what its frequencies do differently."""
    c = fit.curve
    return c.gain > 2.0 * c.freedom + 30.0 and c.shares >= LEAST_SHARE


def refuse_featureless(path: str, taken: Taken, fits: Sequence[Fit]) -> None:
    """Raise InputError where nothing sharp was seen."""
    if taken.clipped > 0.9:
        raise InputError(
            "scan", f"{100 * taken.clipped:.0f} % clipped", "scan again with less or more exposure"
        )
    if not any(shows(f) for f in fits):
        raise InputError(
            "scan",
            path,
            "no height is sharper than the others: nothing ruled or grained is seen on the slope, or it lies flat; "
            "scan a ruled target or developed film on the slope",
        )
