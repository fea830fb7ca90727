"""From log power per height to the sharp height, its standard deviation, and whether there is one at all."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.small import not_negative, running_median, student_quantile
from holders.measure.slope import profile
from holders.measure.slope.profile import F64, Data, Solved, Weighted
from holders.measure.slope.sides import Sides, free_sides

REACH = 0.15  # how far outside the heights seen the search goes, as a share of their span
EDGE_GAIN = 9.0  # chi square by which a height inside must beat every one at or beyond the end
BEYOND = 3.0  # places
GAPS = 0.15  # of the places, which frame gaps in a strip of film and specks may spoil
VALLEYS, FINER = 3, np.linspace(-0.75, 0.75, 7)  # looked into, in steps of the trial heights
FALLEN = 0.85  # beyond the distance at which so much of the fall is done there is little to learn
WIDER = 1.3
NOISE_DIFFERS = 4.0  # times, along a slope
CONTRAST_DRIFTS = 3  # of the columns of drift, the first


@dataclass(frozen=True)
class Estimate:
    """A fitted sharp height.

    ``height``, ``sigma`` mm (``spread`` comes on top: what the curve's freedom leaves open); ``edge`` 0 inside,
    -1/+1 at or beyond the low/high end; ``gain`` how much better the
    curve fits than none (chi square) and ``freedom`` how many numbers that took; ``explained`` the share of the
    change of detail that the curve explains; ``score`` (n,) the pull of each place (their sum over independent
    places is the error); ``knots`` and ``curves`` (f, knots) the fitted log power; ``noise`` the power density of
    the noise; ``common`` (n,) the target's own contrast at each place (log power) as far as it shows; ``shares``
    the largest part of any feature's power that is not noise; ``plain`` like ``explained``, unweighted,
    and ``trimmed`` the same without the share ``GAPS`` of the places that fit worst;
    ``drift`` (n, f) the drift of contrast and noise; ``fall`` how far finer features' log power is seen to fall;
    ``doubt`` mm what a drift of the contrast would do where it cannot be told from blur (a single frequency), and what
    else is not in the pulls; ``scale`` what sigma was multiplied with so that it holds as often as it says.
    """

    height: float
    sigma: float
    edge: int
    gain: float
    freedom: int
    explained: float
    score: F64
    knots: F64
    curves: F64
    noise: float
    common: F64
    information: float
    spread: float
    shares: float
    plain: float
    drift: F64
    fall: float
    doubt: float = 0.0
    scale: float = 1.0
    uneven: tuple[float, float, float] = (0.0, 0.0, 0.0)
    trimmed: float = 0.0

    @property
    def open_mm(self) -> float:
        """What no more of the same scan would settle: the curve's freedom and the doubt about drift."""
        return float(np.hypot(self.spread, self.doubt))

    @property
    def total(self) -> float:
        """Standard deviation of the height with all that is in it, mm."""
        return float(np.hypot(self.sigma, self.open_mm))


def smooth(y: F64, width: int = 5) -> F64:
    """Running median along the first axis, ends held."""
    return running_median(y, width)


def noise_floor(y: F64) -> float:
    """The lowest power density anywhere: no feature can hold less than the noise."""
    return float(np.exp(smooth(y).min()))


def differences(y: F64) -> F64:
    """Second differences of places that do not overlap, scaled to the scatter of one place."""
    return np.asarray((y[4:] - 2.0 * y[2:-2] + y[:-4]) / np.sqrt(6.0))


def modes_of(shares: F64) -> F64:
    """Ways in which all features move together, (modes, n, f).

    The detail's contrast (through ``shares``, the part of each feature's power that is detail), its slope with
    frequency (ticks of differing width), and the noise.
    """
    return np.stack([shares, shares * np.linspace(-1.0, 1.0, shares.shape[1]), 1.0 - shares])


def covariance(scatter: F64, middle: F64, shares: F64) -> tuple[F64, F64]:
    """Covariance of the scatter at each place, (n, f, f), and the variances of the common modes.

    A sum of each feature's own scatter and the common modes; their variances are fitted to the mean products of
    ``scatter`` (places, f), with ``middle`` the shares at those places.
    """
    f = scatter.shape[1]
    size = np.maximum(np.median(np.abs(scatter), axis=0) * 1.4826, 1e-6)
    d = np.clip(scatter, -4.0 * size, 4.0 * size)
    pairs = np.triu_indices(f)
    target = (d.T @ d / len(d))[pairs]
    columns = [np.where(pairs[0] == pairs[1], (pairs[0] == k).astype(float), 0.0) for k in range(f)]
    columns += [(m.T @ m / len(m))[pairs] for m in modes_of(middle)]
    scale = size[pairs[0]] * size[pairs[1]]
    found = not_negative(np.asarray(columns).T / scale[:, None], target / scale)
    own = np.maximum(found[:f], 0.05 * size**2 + 1e-8)
    full = np.broadcast_to(np.diag(own), (len(shares), f, f)).copy()
    for variance, mode in zip(found[f:], modes_of(shares), strict=True):
        full += variance * mode[:, :, None] * mode[:, None, :]
    return full, found[f:]


def drifts(level: F64, shares: F64) -> F64:
    """Columns by which contrast and noise may drift along the target, (n, f, 6)."""
    x = np.linspace(-1.0, 1.0, len(level))
    light = np.log(np.maximum(level, 1e-4))
    light = (light - light.mean()) / max(float(np.ptp(light)), 0.2)
    trends = [x, x**2 - 1.0 / 3.0, light]
    return np.stack([t[:, None] * s for s in (shares, 1.0 - shares) for t in trends], axis=2)


def _search(under: Weighted, sharpest: F64, trial: F64) -> tuple[float, F64]:
    q = np.full(len(trial), np.inf)
    for i, z in enumerate(trial):
        s = profile.solve(under, float(z))
        if profile.falls(s, under.data.y.shape[1], sharpest):
            q[i] = s.objective
    at = int(np.argmin(q)) if np.isfinite(q).any() else len(trial) // 2
    return float(trial[at]), q


def _best_valley(under: Weighted, sharpest: F64, trial: F64) -> float:
    """The best height of those at the bottom of the valleys that evenly spaced ``trial`` heights lie in.

    The right valley may be so narrow that no trial lies deep in it, and a wide shallow one looks better from afar.
    """
    z, q = _search(under, sharpest, trial)
    beside = np.concatenate([[np.inf], q, [np.inf]])
    low = np.flatnonzero(np.isfinite(q) & (q <= beside[:-2]) & (q <= beside[2:]))
    if len(low) < 2:
        return z
    step = float(trial[1] - trial[0])
    lowest = low[np.argsort(q[low])][:VALLEYS]
    bottoms = [_search(under, sharpest, trial[k] + step * FINER) for k in lowest]
    return min(bottoms, key=lambda bottom: float(bottom[1].min()))[0]


def newton(under: Weighted, z: float, step: float) -> tuple[float, float]:
    """The height at which the score vanishes, and how far the last steps still went to and fro (0: converged)."""
    way = [z]
    for _ in range(12):
        s = profile.solve(under, z)
        score, information, _ = profile.influence(under, s, z)
        move = float(np.clip(score.sum() / max(information, 1e-30), -step, step))
        z += move
        way.append(z)
        if abs(move) < 1e-5:
            return z, 0.0
    return z, float(np.ptp(way[-4:]))


def flat_objective(data: Data, weight: F64) -> float:
    """What is left if no feature depends on the height: a constant each, and the drifts."""
    # every place at distance zero sees only the first knot
    level = Data(np.zeros_like(data.h), data.y, data.drift, data.inverse, data.knots)
    return profile.solve(profile.weighted(level, weight), 0.0).objective


def _distance(data: Data, s: Solved) -> F64:
    return np.asarray(np.einsum("nf,nfg,ng->n", s.residual, data.inverse, s.residual))


def _student(data: Data, s: Solved) -> F64:
    f = data.y.shape[1]
    far = _distance(data, s)
    scale = max(1.0, float(np.median(far)) / f)
    return np.asarray((profile.STUDENT + f) / (profile.STUDENT + far / scale))


def first_guess(h: F64, y: F64, frequency: F64) -> tuple[float, float]:
    """Where detail is greatest, and the distance from there within which most of its fall happens, by eye as it were.

    The features' logarithms above their own low level are averaged, the finer ones more heavily (they fall fastest),
    after a running median that specks do not get through.
    """
    steady = smooth(y, 7)
    rise = np.clip(steady - np.percentile(steady, 10, axis=0), 0.0, None)
    hill = rise @ (frequency / frequency.sum())
    hill = np.convolve(np.pad(hill, 2, mode="edge"), np.full(5, 0.2), mode="valid")
    top = float(hill.max())
    high = hill >= 0.7 * top
    at = int(np.argmax(hill))
    # the run of high places round the greatest
    first, last = at, at
    while first > 0 and high[first - 1]:
        first -= 1
    while last < len(h) - 1 and high[last + 1]:
        last += 1
    ends = first == 0 or last == len(h) - 1
    z = float(h[at] if ends else 0.5 * (h[first] + h[last]))
    fallen = np.abs(h - z)[hill <= (1.0 - FALLEN) * top]
    return z, float(fallen.min()) if len(fallen) else float(np.ptp(h))


def estimate(
    h: F64,
    y: F64,
    level: F64,
    frequency: F64,
    tone_floor: float | None = None,
    scale: float = 1.0,
    *,
    roughly: bool = False,
) -> Estimate:
    """Fit the sharp height.

    Parameters
    ----------
    h, y, level, frequency:
        Heights (n,) rising or falling evenly, mm; log power (n, f); mean level (n,); lp/mm (f,).
    tone_floor:
        For a ruling that holds a single frequency: the power density of the noise, as seen elsewhere in the spectrum.
    scale:
        What the standard deviation is multiplied with.
    roughly:
        One set of knots only: a quarter of the work, and no ``spread``.

    Notes
    -----
    The fit is made with four sets of knots; how far their heights lie apart is what the curve's own freedom leaves
    open, and is added to the standard deviation (it matters where only one side of the curve is seen).

    One frequency alone cannot tell a contrast that drifts along the target from blur: then no drift of contrast is
    fitted, and what one of the expected size would do is told as ``doubt``.
    """
    floor = noise_floor(y) if tone_floor is None else tone_floor
    shares = np.clip(1.0 - floor / np.exp(smooth(y)), 0.02, 1.0)
    z, wide = first_guess(h, y, frequency)
    step = abs(float(h[-1] - h[0])) / (len(h) - 1)
    reach = max(WIDER * wide, 12.0 * step)
    near = np.abs(h - z) <= reach
    columns = drifts(level, shares)
    held = columns[:, :, :0] if tone_floor is None else columns[:, :, :CONTRAST_DRIFTS]
    columns = columns[:, :, held.shape[2] :]
    part = _Part(h[near], y[near], columns[near], shares[near], reach, held[near], scale)
    count = int(np.clip(near.sum() // 4, 6, 12))
    first = _fine(part, z, count, 6)
    others = () if roughly else (count + 3, max(5, count - 2), count + 1)
    fits = [first, *(_fine(part, first[0], knots, 2) for knots in others)]
    heights = np.array([fit[4].height for fit in fits])
    middle = float(np.median(heights))
    spread = 1.4826 * float(np.median(np.abs(heights - middle)))
    # of four, two lie just as far from the middle: always the first of them, whatever the last digits say
    lead = int(np.argmin(np.round(np.abs(heights - middle), 9)))
    return _summary(part, fits[lead], spread, floor, (near, columns))


@dataclass(frozen=True)
class _Part:
    """What is fitted; ``held`` (n, f, q) are columns of drift that are not fitted but doubted."""

    h: F64
    y: F64
    drift: F64
    shares: F64
    reach: float
    held: F64
    scale: float

    @property
    def sharpest(self) -> F64:
        """How much each feature counts when asking where detail is greatest."""
        return np.asarray(self.shares.mean(axis=0) / self.shares.mean())


_Fit = tuple[float, Weighted, F64, float, Sides]


def _fine(part: _Part, z: float, count: int, wide: int) -> _Fit:
    """Height, data with final covariance and weights, variances of the common modes, height left open.

    ``count`` knots; the search goes ``wide`` twelfths of the reach to either side first.
    """
    knots = np.asarray(part.reach * np.linspace(0.0, 1.0, count) ** 1.25, dtype=float)
    full, variances = covariance(differences(part.y), part.shares[2:-2], part.shares)
    data = Data(part.h, part.y, part.drift, np.asarray(np.linalg.inv(full), dtype=float), knots)
    step, left = part.reach / 12.0, 0.0
    under = profile.weighted(data, np.ones(len(part.h)))
    z = _best_valley(under, part.sharpest, z + step * np.arange(-wide, wide + 1.0))
    for _ in range(3):
        s = profile.solve(under, z)
        full, variances = covariance(s.residual, part.shares, part.shares)
        data = replace(data, inverse=np.asarray(np.linalg.inv(full), dtype=float))
        under = profile.weighted(data, _student(data, s))
        z, _ = _search(under, part.sharpest, z + step * np.linspace(-1.5, 1.5, 7))
        z, left = newton(under, z, step)
    sides = free_sides(under, z, step)
    if sides.odds > 0.05:
        full, variances = covariance(sides.residual, part.shares, part.shares)
        data = replace(data, inverse=np.asarray(np.linalg.inv(full), dtype=float))
        under = profile.weighted(data, _student(data, replace(s, residual=sides.residual)))
        z, left = newton(under, z, step)
        sides = free_sides(under, z, step)
    return z, under, variances, left, sides


def _summary(
    part: _Part,
    fit: _Fit,
    spread: float,
    floor: float,
    whole_scan: tuple[NDArray[np.bool_], F64],
) -> Estimate:
    _, under, variances, left, sides = fit
    z, uneven = sides.height, sides.lean if sides.odds > 0.5 else profile.EVEN
    data, weight = under.data, under.weight
    near, columns = whole_scan
    f = part.y.shape[1]
    s = profile.solve(under, z, uneven)
    moved = np.einsum("nf,nfq->q", sides.pull, part.held)
    score = np.einsum("nf,nf->n", sides.pull, profile.left_out(under, s))
    sigma = deviation(score, sides.modelled, part.scale)
    sigma = (
        float(np.hypot(sigma, left)) if left > 0 else sigma
    )  # a height that did not settle is known no better
    total = float((weight * _distance(data, s)).sum())
    whole = flat_objective(data, weight) - s.objective
    gain = whole
    if f > 1:
        strict = replace(data, inverse=_without_common(data.inverse, part.shares))
        gain = (
            flat_objective(strict, weight)
            - profile.solve(profile.weighted(strict, weight), z, uneven).objective
        )
    m = len(data.knots)
    mean = part.y @ part.sharpest
    rest = s.residual @ part.sharpest
    off = np.abs(rest - np.median(rest))
    well = off <= np.quantile(off, 1.0 - GAPS)
    drift = np.asarray(columns @ s.beta[f * m :], dtype=float)
    everywhere = np.zeros((2, len(near)))
    everywhere[0, near] = score
    everywhere[1, near] = variances[0] * np.einsum("nf,nfg,ng->n", part.shares, data.inverse, s.residual)
    return Estimate(
        height=z,
        sigma=sigma,
        spread=spread,
        edge=_edge(under, part.sharpest, z, float(np.hypot(sigma, spread)), s.objective),
        gain=gain,
        freedom=f * (m - 1) + 1,
        explained=whole / max(whole + total, 1e-30),
        score=everywhere[0],
        knots=data.knots,
        curves=s.beta[: f * m].reshape(f, m),
        noise=floor,
        common=everywhere[1],
        information=sides.modelled**-2.0,
        shares=float(part.shares.max()),
        plain=_explained(rest, mean),
        trimmed=_explained(rest[well], mean[well]),
        drift=drift,
        fall=_fall(part, s, drift[near]),
        doubt=float(np.hypot(profile.DRIFT_SIGMA * float(np.sqrt((moved**2).sum())), sides.doubt)),
        uneven=(sides.odds, *sides.lean),
        scale=part.scale,
    )


def _explained(rest: F64, whole: F64) -> float:
    """The share of the unevenness of ``whole`` that is not in ``rest``."""
    return 1.0 - float(np.var(rest) / max(float(np.var(whole)), 1e-30))


def _fall(part: _Part, s: Solved, drift: F64) -> float:
    """How far log power lies lower away from the sharp height, as seen; mean of the finer half of what holds detail."""
    steady = smooth(part.y - drift)
    near = np.argsort(s.distance)[:5]
    falls = steady[near].mean(axis=0) - np.percentile(steady, 10, axis=0)
    rich = np.nonzero((part.shares[near].mean(axis=0) > 0.5) & _above_noise(part, near))[0]
    return float(falls[rich[len(rich) // 2 :]].mean()) if len(rich) else 0.0


def _above_noise(part: _Part, near: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which features hold at least as much detail as noise at the places ``near`` (f,).

    Noise differs along a slope, with its light: a feature that lies a little above the least of the whole scan may
    hold nothing else. The poorest feature tells the noise of a place, unless all of them are rich.
    """
    whole = smooth(part.y)
    here = whole[near].mean(axis=0)
    least = float(here.min())
    if least > whole.min() + np.log(NOISE_DIFFERS):
        return np.ones(len(here), dtype=np.bool_)
    return np.asarray(here > least + np.log(2.0), dtype=np.bool_)


def _without_common(inverse: F64, shares: F64) -> F64:
    """Weights that see only what frequencies do differently, not what they do together."""
    wj = np.einsum("nfg,ng->nf", inverse, shares)
    scale = np.maximum(np.einsum("nf,nf->n", wj, shares), 1e-30)
    return np.asarray(inverse - wj[:, :, None] * wj[:, None, :] / scale[:, None, None])


def _edge(under: Weighted, sharpest: F64, z: float, sigma: float, objective: float) -> int:
    """-1 or +1 if heights at or beyond that end fit nearly as well as the best one inside."""
    data = under.data
    reach = float(data.knots[-1])
    # the heights seen end half a step beyond the middle of the last place
    half = 0.5 * abs(float(data.h[-1] - data.h[0])) / (len(data.h) - 1)
    lo, hi = float(data.h.min()) - half, float(data.h.max()) + half
    for sign, end in ((-1, lo), (1, hi)):
        # a top with next to nothing seen beyond it is no top
        if sign * (z - end) > -max(2.0 * sigma, BEYOND * 2.0 * half):
            return sign
        if abs(z - end) < 0.5 * reach:
            trial = np.asarray(end + sign * reach * np.linspace(0.0, 0.6, 7), dtype=float)
            _, q = _search(under, sharpest, trial)
            if q.min() < objective + EDGE_GAIN:
                return sign
    return 0


def deviation(score: F64, modelled: float, scale: float) -> float:
    """Standard deviation of a height from the pulls of its places, mm.

    ``modelled`` is what the fit's own model expects: scatter by luck smaller than that is not believed. One channel's
    height and the mean of several are judged by this alike. ``scale``: see ``Estimate``.
    """
    return max(float(np.sqrt(long_run(score))), modelled) * few_places(score) * scale


def few_places(score: NDArray[np.float64]) -> float:
    """By how much a sigma from few places must grow so that two of it hold as often as they say.

    Student's factor at as many degrees of freedom as places have a say in the height (Satterthwaite's count, from
    memory): only those on the flanks near it do.
    """
    square = score**2
    freedom = float(square.sum() ** 2 / max(float((square**2).sum()), 1e-300))
    return student_quantile(max(freedom, 2.0), 0.97725) / 2.0


def long_run(score: F64, lag: int = 4) -> float:
    """Variance of a sum of scores that hang together over a few neighbours (Newey and West 1987, from memory).

    Never less than the sum of squares: neighbours may share grain or dirt, which adds; that they seem to cancel each
    other comes from the curve, which was fitted to lie between them.
    """
    alone = float(score @ score)
    shared = 0.0
    for k in range(1, min(lag, len(score) - 1) + 1):
        shared += 2.0 * (1.0 - k / (lag + 1.0)) * float(score[k:] @ score[:-k])
    return alone + max(shared, 0.0)
