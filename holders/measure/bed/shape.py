"""The surface of best focus over the glass: level, tilted or curved, as far as the measurements' own scatter lets say.

A flatbed's lens has a field that curves across the bed, and its rails sag along it. So beside a level and a plane, one
curvature is tried (across, along, or the same both ways, which corners and a middle cannot tell apart), and with seven
places or more all three second-order terms. The simplest shape that the measurements allow is taken (weighted least
squares and F tests, textbook, from memory). A stated sigma is that of one scan; how well places repeat is judged by
what the richest shape leaves over, taken together with what is usual.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from holders.measure.bed.plane import fit_plane
from holders.measure.bed.record import Measured
from holders.measure.scan.spectra import F64

Kind = Literal["level", "tilted", "curved"]
SIGNIFICANT = 0.01
USUAL_MM, WORTH = (
    0.02,
    2.0,
)  # how places repeat, and as how many degrees of freedom that counts; judgement, no source
ALIKE = 4.0  # chi square by which shapes of as many numbers may differ and all still count
MAYBE = 0.5  # of the square by which a richer shape, not shown to be real, would differ: counted in sigma
# powers of x and y of each shape's terms
LEVEL = ((0, 0),)
PLANE = (*LEVEL, (1, 0), (0, 1))
FULL = (*PLANE, (2, 0), (0, 2), (1, 1))
UNIT_MM = 100.0  # terms are in this unit, so that their sizes are alike


@dataclass(frozen=True)
class Fit:
    """One shape: ``terms`` are powers of x and y ("r2": the sum of their squares); the rest as in least squares."""

    terms: tuple[object, ...]
    values: F64
    covariance: F64
    chi2: float
    freedom: int


@dataclass(frozen=True)
class BedShape:
    """What is believed: heights above the glass (mm) at any place of it.

    ``kind``; ``fits`` one or more shapes that explain the places equally well, ``richer`` those that were not shown to
    be real; ``repeat_mm`` by how much places scatter beyond their stated sigmas; ``chance_if_level`` that a level bed
    gives places as uneven as these; ``x_mm``, ``y_mm`` the places' middle.
    """

    kind: Kind
    fits: tuple[Fit, ...]
    richer: tuple[Fit, ...]
    repeat_mm: float
    chance_if_level: float
    x_mm: float
    y_mm: float

    @property
    def undirected(self) -> bool:
        """Whether it is open which way the bed curves."""
        return len(self.fits) > 1

    def at(self, x_mm: float | F64, y_mm: float | F64) -> tuple[F64, F64]:
        """Heights and their sigmas at places, (n,) each; shapes that are alike count alike."""
        u = (np.atleast_1d(np.asarray(x_mm, float)) - self.x_mm) / UNIT_MM
        v = (np.atleast_1d(np.asarray(y_mm, float)) - self.y_mm) / UNIT_MM
        heights, variances = [], []
        for fit in self.fits:
            g = _terms(fit.terms, u, v)
            heights.append(g @ fit.values)
            variances.append(np.einsum("ni,ij,nj->n", g, fit.covariance, g))
        mean = np.mean(heights, axis=0)
        variance = np.mean(variances, axis=0) + np.var(heights, axis=0)
        if self.richer:
            apart = [_terms(fit.terms, u, v) @ fit.values - mean for fit in self.richer]
            variance = variance + MAYBE * np.mean(np.square(apart), axis=0)
        return mean, np.sqrt(variance)

    def slope(self, box: tuple[float, float, float, float]) -> tuple[float, float, bool]:
        """Tilts (mm per mm) of the plane that follows the surface best over a box, and whether they are real.

        ``box``: least x, least y, greatest x, greatest y. Real: the first-order terms' size against their scatter.
        """
        x, y = _grid(box)
        z, _ = self.at(x, y)
        design = np.stack([np.ones_like(x), x - x.mean(), y - y.mean()], axis=1)
        plane = np.linalg.lstsq(design, z, rcond=None)[0]
        return float(plane[1]), float(plane[2]), self.kind != "level" and self._tilt_chance() < SIGNIFICANT

    def sigma_of(self, x_mm: F64, y_mm: F64, weights: F64) -> float:
        """Standard deviation of a weighted sum of heights at places (n,), their errors hanging together as they do."""
        u, v = (x_mm - self.x_mm) / UNIT_MM, (y_mm - self.y_mm) / UNIT_MM
        pulls = [weights @ _terms(fit.terms, u, v) for fit in self.fits]
        own = np.mean([g @ fit.covariance @ g for g, fit in zip(pulls, self.fits, strict=True)])
        apart = np.var([g @ fit.values for g, fit in zip(pulls, self.fits, strict=True)])
        return float(np.sqrt(own + apart))

    def slope_sigma(self, box: tuple[float, float, float, float]) -> tuple[float, float]:
        """Standard deviations of ``slope``'s two tilts, mm per mm."""
        x, y = _grid(box)
        pull = np.linalg.pinv(np.stack([np.ones_like(x), x - x.mean(), y - y.mean()], axis=1))
        return self.sigma_of(x, y, pull[1]), self.sigma_of(x, y, pull[2])

    def bulge(self, box: tuple[float, float, float, float]) -> tuple[float, float]:
        """By how much the middle of a box lies above its corners, mm, and the standard deviation of that."""
        x = np.array([0.5 * (box[0] + box[2]), box[0], box[2], box[0], box[2]])
        y = np.array([0.5 * (box[1] + box[3]), box[1], box[1], box[3], box[3]])
        weights = np.array([1.0, -0.25, -0.25, -0.25, -0.25])
        return float(weights @ self.at(x, y)[0]), self.sigma_of(x, y, weights)

    def over(self, box: tuple[float, float, float, float]) -> tuple[float, float, float]:
        """Mean height over a box, its sigma, and how uneven it stays beside a plane (root mean square); mm."""
        x, y = _grid(box)
        z, sigma = self.at(x, y)
        design = np.stack([np.ones_like(x), x, y], axis=1)
        rest = z - design @ np.linalg.lstsq(design, z, rcond=None)[0]
        return float(z.mean()), float(np.sqrt(np.mean(sigma**2))), float(np.sqrt(np.mean(rest**2)))

    def _tilt_chance(self) -> float:
        from scipy.stats import chi2 as law  # noqa: PLC0415

        fit = self.fits[0]
        if len(fit.values) < len(PLANE):
            return 1.0
        tilt, spread = fit.values[1:3], fit.covariance[1:3, 1:3]
        return float(law.sf(tilt @ np.linalg.solve(spread, tilt), 2))


def fit_shape(places: Sequence[Measured]) -> BedShape:
    """The simplest shape that the places allow.

    Raises
    ------
    InputError
        Fewer than three places, or places on one line.
    """
    middle = fit_plane(places)
    x, y, h, stated = (
        np.array([getattr(p, k) for p in places]) for k in ("x_mm", "y_mm", "height_mm", "sigma_mm")
    )
    u, v = (x - middle.x_mm) / UNIT_MM, (y - middle.y_mm) / UNIT_MM
    names: list[tuple[Kind, tuple[tuple[object, ...], ...]]] = [("level", (LEVEL,)), ("tilted", (PLANE,))]
    if len(h) > len(PLANE) + 1:
        names.append(("curved", tuple((*PLANE, term) for term in ((2, 0), (0, 2), "r2"))))
    if len(h) > len(FULL):
        names.append(("curved", (FULL,)))
    repeat, freedom = _repeat(names[-1][1], u, v, h, stated)
    sigma = np.hypot(stated, repeat)
    steps = [(kind, _alike([_fit(terms, u, v, h, sigma) for terms in some])) for kind, some in names]
    at = 0
    for k in range(1, len(steps)):
        if _chance(steps[at][1][0], steps[k][1][0], freedom) < SIGNIFICANT:
            at = k
    richer = steps[at + 1][1] if at + 1 < len(steps) else ()
    return BedShape(
        steps[at][0], steps[at][1], richer, repeat,
        min(_chance(steps[0][1][0], some[0], freedom) for _, some in steps[1:]), middle.x_mm, middle.y_mm,
    )  # fmt: skip


def _repeat(
    terms: tuple[tuple[object, ...], ...], u: F64, v: F64, h: F64, stated: F64
) -> tuple[float, float]:
    """Scatter beyond the stated sigmas, by the best of the richest shapes and what is usual; its degrees of freedom."""
    fits = [_fit(some, u, v, h, stated) for some in terms]
    best = min(fits, key=lambda fit: fit.chi2)
    rest = h - _terms(best.terms, u, v) @ best.values
    beyond = max(0.0, float((rest**2).sum()) - best.freedom * float(np.mean(stated**2)))
    usual = USUAL_MM**2 if beyond > 0 else 0.0
    return float(np.sqrt((beyond + WORTH * usual) / (best.freedom + WORTH))), best.freedom + WORTH


def _alike(fits: list[Fit]) -> tuple[Fit, ...]:
    """The best and those that explain the places as well."""
    order = sorted(fits, key=lambda fit: fit.chi2)
    return tuple(fit for fit in order if fit.chi2 <= order[0].chi2 + ALIKE)


def _chance(simple: Fit, rich: Fit, freedom: float) -> float:
    """Probability of the fall of chi square from a simple shape to a richer one by chance."""
    from scipy.stats import f as law  # noqa: PLC0415

    more = len(rich.values) - len(simple.values)
    if more <= 0:
        return 1.0
    return float(law.sf(max(0.0, simple.chi2 - rich.chi2) / more, more, freedom))


def _fit(terms: tuple[object, ...], u: F64, v: F64, h: F64, sigma: F64) -> Fit:
    g = _terms(terms, u, v)
    weight = sigma**-2.0
    covariance = np.linalg.pinv(g.T @ (g * weight[:, None]))
    values = covariance @ (g.T @ (weight * h))
    return Fit(
        terms,
        values,
        np.asarray(covariance, float),
        float(weight @ (h - g @ values) ** 2),
        len(h) - len(terms),
    )


def _terms(terms: tuple[object, ...], u: F64, v: F64) -> F64:
    columns = []
    for term in terms:
        if isinstance(term, tuple):
            columns.append(u ** term[0] * v ** term[1])
        else:
            columns.append(u * u + v * v)
    return np.stack(columns, axis=1)


def _grid(box: tuple[float, float, float, float]) -> tuple[F64, F64]:
    x, y = np.meshgrid(np.linspace(box[0], box[2], 9), np.linspace(box[1], box[3], 9))
    return x.ravel(), y.ravel()
