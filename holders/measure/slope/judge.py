"""The curve through one channel, and whether it shows a sharp height at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.scan.small import running_median
from holders.measure.scan.spectra import Features
from holders.measure.slope.estimate import Estimate, estimate, noise_floor
from holders.measure.slope.gather import Gathered, gather
from holders.measure.slope.profile import F64
from holders.measure.slope.target.sample import Taken

LEAST_SHARE = 0.25  # of the power in the richest feature that must be more than noise
LEAST_PLACES = 16
LEAST_PLAIN = 0.8  # of the unevenness of detail along the slope, explained by one curve
LEAST_PLAIN_TICKS = (
    0.4  # ticks that repeat are no dirt; zeros of the blur leave more than one curve can follow
)
LEAST_TRIMMED = (
    0.9  # the same of a texture without the places that fit worst, where nothing else says anything
)
LEAST_COVERAGE = 0.8
# of a ruling that holds a single frequency, where a drift of contrast looks like blur: blur must show beyond any drift
LEAST_FALL_TONE = 2.0
WELL_BEYOND = 2.5  # times the frequency of the ticks
OVERTONE = (
    0.003  # of the strongest ring's power; what a window lets through beside a single frequency is less
)
CLEAR_OVERTONE = (
    0.03  # of the strongest ring's power: well beyond the ticks' frequency no window lets that through
)
RISES_AGAIN = 3.0  # times the least power between the ticks' frequency and an overtone
BETWEEN = 1.6  # times the frequency of the ticks: an overtone's ring may begin there
LEAST_FLANK = 0.2  # of the distance over which detail falls
# of the climb from place to place: where in a cell the ticks lie, as far as it is not known:
# see tests/measure/slope/rulings.py
PLACE_SHARE = 0.03
# so that two sigma hold as often as they say: errors of simulated scans (seeds 3000 to 3029 and, for
# textures, 900 to 907) were 0.72 and 1.21 of the sigma that the pulls alone give; of the first only a part is used
RULING_SCALE, TEXTURE_SCALE = 0.85, 1.2
LEAST_FALL = 0.5  # of log power: two fifths of finer detail's power must be lost to blur within what is seen
FAINTEST = 1e-7  # relative power density: rounding of 16 bits and the steps of a smooth shading lie below


@dataclass(frozen=True)
class Fit:
    """One channel's gathered spectra (places with something in them) and the curve through them.

    ``coverage``: share of the cells near the sharp height that hold detail (1 for a ruling, whose blank cells were
    seen to be blank). ``steady``: ticks that repeat themselves (see ``Preview``); ``tone``: of one frequency only.
    ``frequency`` (f,) lp/mm of what was judged.
    """

    ok: NDArray[np.bool_]
    seen: Gathered
    h: F64
    y: F64
    curve: Estimate
    coverage: float
    frequency: F64
    steady: bool = False
    tone: bool = False


def fit_channel(
    taken: Taken,
    channel: int,
    heights: F64,
    step: float,
    features: Features,
    judged: NDArray[np.bool_],
    period_mm: float = 0.0,
    smooth: bool = False,
) -> Fit:
    """Gather one channel's strips and fit the curve.

    ``period_mm``: of ticks that repeat themselves, else 0; ``smooth``: they showed no overtones at a glance.
    """
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
    frequency, level = features.frequency[judged], seen.level[ok]
    tone, curve = None, None
    if period_mm > 0.0:
        tone, alone = single_tone(y, frequency, period_mm)
        one = partial(estimate, h, y[:, [tone]], level, frequency[[tone]], noise_floor(y))
        whole = None if alone else _ruled(h, y, level, frequency, float(np.median(np.abs(np.diff(heights)))))
        # overtones that a glance did not see are believed where they are plain and show both flanks, or say the same
        if whole is not None and (
            not smooth
            or (has_overtones(y, frequency, period_mm) and _both_flanks(h, whole))
            or _agree(one(roughly=True), whole)
        ):
            tone, curve = None, whole
        else:
            curve = one()
    if curve is None:
        curve = estimate(h, y, level, frequency, scale=TEXTURE_SCALE if judged.all() else 1.0)
    if tone is not None:
        y, frequency = y[:, [tone]], frequency[[tone]]
    coverage = 1.0
    if judged.all():
        coverage = _coverage(
            taken.power[channel][:, ok], seen.kept[:, ok] | taken.allowed[:, ok], h, y, curve
        )
    return Fit(ok, seen, h, y, curve, coverage, frequency, period_mm > 0.0, tone is not None)


def _ruled(h: F64, y: F64, level: F64, frequency: F64, climb: float) -> Estimate:
    """The curve through a ruling's frequencies; ``climb`` mm from place to place."""
    curve = estimate(h, y, level, frequency, scale=RULING_SCALE)
    return replace(curve, doubt=float(np.hypot(curve.doubt, PLACE_SHARE * climb)))


def _agree(one: Estimate, other: Estimate) -> bool:
    """Whether two curves through one channel say the same."""
    return one.edge == other.edge and abs(one.height - other.height) <= 2.0 * np.hypot(one.total, other.total)


def _both_flanks(h: F64, curve: Estimate) -> bool:
    """Whether enough is seen beyond the top: near an end, contrast that a blur turns round can look like one."""
    beyond = min(curve.height - float(h.min()), float(h.max()) - curve.height)
    return beyond >= LEAST_FLANK * float(curve.knots[-1])


def _richest(y: F64) -> F64:
    """The greatest power of each feature, (f,), that more than a speck shows."""
    return np.asarray(np.exp(running_median(y, 5).max(axis=0)))


def single_tone(y: F64, frequency: F64, period_mm: float) -> tuple[int, bool]:
    """The richest feature of a ruling, and whether it holds all there is (a sine).

    ``y`` (n, f) log power, ``frequency`` (f,) lp/mm, ``period_mm`` of the ticks. Bins next to the ticks' own frequency
    share its power through the window; the second overtone and all that follow lie beyond that.
    """
    best = _richest(y)
    beyond = best[frequency * period_mm >= WELL_BEYOND]
    alone = not len(beyond) or beyond.max() - 3.0 * noise_floor(y) <= OVERTONE * best.max()
    return int(np.argmax(best)), bool(alone)


def has_overtones(y: F64, frequency: F64, period_mm: float) -> bool:
    """Whether a ruling shows overtones so plainly that a glance that saw none must have been wrong.

    What a window lets through beside a frequency falls steadily: power that rises again is an overtone.
    """
    best = _richest(y)
    least = np.minimum.accumulate(np.where(frequency * period_mm >= 0.9, best, np.inf))
    clear = best > CLEAR_OVERTONE * best.max()
    rises = (best > RISES_AGAIN * least) & (frequency * period_mm >= BETWEEN)
    return bool((clear & (rises | (frequency * period_mm >= WELL_BEYOND))).any())


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
    known = float(np.hypot(fit.curve.sigma, fit.curve.spread))
    return not fit.curve.edge and known <= wanted and shows(fit)


def shows(fit: Fit) -> bool:
    """Whether detail depends on the height at all, by what its frequencies do differently."""
    return _blurs(fit) and fit.curve.plain >= (LEAST_PLAIN_TICKS if fit.steady else LEAST_PLAIN)


def shows_roughly(fit: Fit) -> bool:
    """Whether the detail of a texture depends on the height but for a few places: gaps between frames of a strip of
    film, where there is no grain.
    """
    return _blurs(fit) and not fit.steady and fit.curve.trimmed >= LEAST_TRIMMED


def _blurs(fit: Fit) -> bool:
    return loses_detail(fit) and fit.coverage >= LEAST_COVERAGE


def loses_detail(fit: Fit) -> bool:
    """Whether a curve of blur explains far more of the detail than none does, whatever else stays unexplained."""
    c = fit.curve
    return (
        c.gain > 5.0 * c.freedom + 50.0
        and c.shares >= LEAST_SHARE
        and c.fall >= (LEAST_FALL_TONE if fit.tone else LEAST_FALL)
    )


def refuse_featureless(path: str, taken: Taken, fits: Sequence[Fit], ticks: tuple[float, float]) -> None:
    """Raise InputError where nothing sharp was seen.

    ``ticks``: how far those of the ruling lie apart (mm, 0 if there are none), and how far they may on this slope.
    """
    if taken.clipped > 0.9:
        raise InputError(
            "scan", f"{100 * taken.clipped:.0f} % clipped", "scan again with less or more exposure"
        )
    if any(shows(f) for f in fits):
        return
    apart, widest = ticks
    if apart > widest:
        raise InputError(
            "scan",
            path,
            f"the ruling's ticks lie {apart:.2f} mm apart, too far for so steep a slope: use one with ticks at most "
            f"{widest:.2f} mm apart, or make the slope {apart / widest:.1f} times gentler",
        )
    if all(f.tone for f in fits):
        raise InputError(
            "scan",
            path,
            "its ruling is a smooth wave, a single frequency, that blur hardly takes away on this slope, so a change "
            "of its contrast could pass for blur; use a ruling of sharp lines, or a finer one",
        )
    raise InputError(
        "scan",
        path,
        "no height is sharper than the others: nothing ruled or grained is seen on the slope, or it lies flat; "
        "scan a ruled target or developed film on the slope",
    )
