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
LEAST_PLAIN = 0.8  # of the unevenness of detail along the slope, explained by one curve
LEAST_COVERAGE = 0.8
LEAST_FALL = 0.5  # of log power: two fifths of finer detail's power must be lost to blur within what is seen
FAINTEST = 1e-7  # relative power density: rounding of 16 bits and the steps of a smooth shading lie below


@dataclass(frozen=True)
class Fit:
    """One channel's gathered spectra (places with something in them) and the curve through them.

    ``coverage``: share of the cells near the sharp height that hold detail (1 for a ruling, whose blank cells were
    seen to be blank).
    """

    ok: NDArray[np.bool_]
    seen: Gathered
    h: F64
    y: F64
    curve: Estimate
    coverage: float


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
    # the two lowest rings may hold what leaks from slow shading
    finer = y[:, features.frequency[judged] > 2.2 * features.frequency[judged].min()]
    if not (np.ptp(y) > 1e-9 and np.isfinite(y).all()) or np.exp(finer.max(initial=-99.0)) < FAINTEST:
        raise InputError("scan", "no detail at all", "scan a ruled target or developed film on the slope")
    curve = estimate(h, y, seen.level[ok], features.frequency[judged])
    coverage = 1.0
    if judged.all():
        coverage = _coverage(
            taken.power[channel][:, ok], seen.kept[:, ok] | taken.allowed[:, ok], h, y, curve
        )
    return Fit(ok, seen, h, y, curve, coverage)


def _coverage(power: F64, allowed: NDArray[np.bool_], h: F64, y: F64, curve: Estimate) -> float:
    """Share of cells near the sharp height with detail in them: grain is everywhere, specks are here and there."""
    step = float(np.ptp(h)) / len(h)
    order = np.argsort(np.abs(h - np.clip(curve.height, h.min(), h.max())))
    near = order[: max(6, int(0.5 * curve.knots[-1] / step))]
    rich = y[near[:3]].mean(axis=0) > np.log(3.0 * curve.noise)
    if not rich.any():
        return 0.0
    full = power[:, near][:, :, rich].mean(axis=2) > 2.0 * curve.noise
    return float(full[allowed[:, near]].mean())


def certain(fit: Fit, wanted: float) -> bool:
    """Whether the height is known well enough to stop reading."""
    return not fit.curve.edge and float(np.hypot(fit.curve.sigma, fit.curve.spread)) <= wanted and shows(fit)


def shows(fit: Fit) -> bool:
    """Whether detail depends on the height at all, by what its frequencies do differently."""
    c = fit.curve
    return (
        c.gain > 5.0 * c.freedom + 50.0
        and c.shares >= LEAST_SHARE
        and c.plain >= LEAST_PLAIN
        and fit.coverage >= LEAST_COVERAGE
        and c.fall >= LEAST_FALL
    )


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
