"""Heights from moves: everything that moves the film's picture between two scans is fitted together.

A window's move across, turned into height, is the sum of

* the film's surface over its ledge (``shapes``), held at its rim by the ledge;
* the film's and the holder's own change of height between the scans, which a place at X from the axis shows
  1 + X / shift times: a tilt, and the lowest shapes of a film that warms;
* the lens's distortion, a function of the place across only;
* the carriage's wobble and the turn by hand, a function of the place along only, free for each row of windows;
* the shift itself, a constant.

Each has the size expected of it as its prior; how large wobble and surface really are is found from the scans
themselves (expectation and maximisation). Windows that do not fit (dust, rings, a wrong match) lose weight as under
Student's t distribution. What is left is the height with its standard deviation, what nothing fixes included.
Source of the method: Gaussian linear models, e.g. C. M. Bishop, Pattern Recognition and Machine Learning (2006),
chapter 3 (from memory); the t weights: Lange, Little and Taylor, JASA 84, 881 (1989), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import linalg

from holders.core.errors import NotConverged
from holders.measure.surface.predicted import Predicted
from holders.measure.surface.projection import mm_of_height_per_mm, shift_from_move
from holders.measure.surface.search import Moves2D
from holders.measure.surface.shapes import Shapes
from holders.measure.surface.warming import Change, columns, expected_change

F64 = NDArray[np.float64]

FREEDOM = 4.0  # of Student's t
DISTORTION_WAVES = 8
LONG_WAVES = 3  # half waves: longer shapes keep their wide prior, the size of shorter ones is found
# what the longest shape's size may be by the shorter ones, mm: bounds that the prior's own size does not move
SHORT_SIZES_MM = 0.03, 15.0
UNSHAPED_MM = 0.005  # of height from window to window that no shape holds: judgement
STEPS, SETTLED = 100, 0.003


@dataclass(frozen=True)
class Priors:
    """Expected sizes (standard deviations) before anything is measured, mm of height unless said otherwise.

    ``sag`` of the longest shape; ``rim`` of the film's height over its ledge at the opening's sides; ``distortion``
    slope of the lens's distortion as a share; ``tilt`` change of the holder's height at the film's ends; ``warm``
    the film's own change in the middle; ``wobble`` of one row; ``ledge`` of the ledge's height itself.
    """

    sag: float = 3.0
    rim: float = 0.03
    distortion: float = 0.002
    tilt: float = 0.03
    warm: float = 0.02
    wobble: float = 0.3
    ledge: float = 0.0


@dataclass(frozen=True)
class Viewing:
    """How the scans look at the film: lens distance and place of the axis with their sigma, ledge (mm)."""

    lens_distance_mm: float
    lens_sigma_mm: float
    axis_x_mm: float
    axis_sigma_mm: float
    ledge_mm: float


@dataclass(frozen=True)
class Estimate:
    """The fitted surface: mean and covariance of its shapes' sizes, and what else was found.

    ``shift_mm`` with sigma; ``noise`` factor on the windows' own sigma; ``wobble_mm`` of height per row;
    ``warm_mm``, ``warm_sigma_mm`` change of the film's middle between the scans.
    """

    shapes: Shapes
    mean: F64
    covariance: F64
    viewing: Viewing
    priors: Priors
    predicted: Predicted | None
    shift_mm: float
    shift_sigma_mm: float
    noise: float
    wobble_mm: float
    kept: float
    steps: int
    loss: F64

    def root(self, x_mm: F64, y_mm: F64) -> F64:
        """Root of the covariance of the heights at N places over their ledge, (N, M) mm: times its transpose."""
        values, vectors = linalg.eigh(self.covariance)
        above = self.heights(x_mm, y_mm)[0] - self.viewing.ledge_mm
        scale = above * self.viewing.lens_sigma_mm / self.viewing.lens_distance_mm
        return np.hstack(
            [self._base(x_mm, y_mm) @ (vectors * np.sqrt(np.maximum(values, 0))), scale[:, None]]
        )

    def _base(self, x_mm: F64, y_mm: F64) -> F64:
        return np.hstack([self.shapes.sines(x_mm, y_mm), self.shapes.rim(x_mm, y_mm)])

    def heights(self, x_mm: F64, y_mm: F64) -> tuple[F64, F64]:
        """Height above the glass and its standard deviation at N places, mm."""
        base = self._base(x_mm, y_mm)
        above = base @ self.mean
        if self.predicted is not None:
            above = above + self.predicted.at(self.shapes, x_mm, y_mm)
        var = np.einsum("ni,ij,nj->n", base, self.covariance, base, optimize=True)
        scale = above * self.viewing.lens_sigma_mm / self.viewing.lens_distance_mm
        return self.viewing.ledge_mm + above, np.sqrt(np.maximum(var, 0) + scale**2 + self.priors.ledge**2)


@dataclass(frozen=True)
class _Terms:
    """Columns of the model and their prior sizes; slices of its groups; bounds of the factor on ``short``'s sizes."""

    matrix: F64
    size: F64
    surface: slice
    short: NDArray[np.int64]
    bounds: tuple[float, float]
    rows: NDArray[np.int64]
    constant: int


def estimate(
    moves: Moves2D,
    shapes: Shapes,
    viewing: Viewing,
    priors: Priors,
    change: Change | None = None,
    predicted: Predicted | None = None,
) -> Estimate:
    """Fit the surface.

    Parameters
    ----------
    moves:
        Measured moves of places in the first scan, mm.
    shapes:
        Shapes over the film's opening.
    viewing, priors:
        See there.
    change:
        The film's own change of height between the scans, if a third scan showed it.
    predicted:
        The surface that the plate model expects: what is fitted is the difference from it, so that it counts where
        the scans fix nothing, at the rim.

    Raises
    ------
    NotConverged
        The fit did not settle.
    """
    lens, ledge = viewing.lens_distance_mm, viewing.ledge_mm
    move = float(np.median(moves.u))
    shift = shift_from_move(move, ledge, lens)
    scale = mm_of_height_per_mm(shift, ledge, lens)
    change = change or expected_change(priors.warm, viewing.axis_sigma_mm)
    own = columns(shapes, moves.x, moves.y, viewing.axis_x_mm, shift)
    terms = _terms(
        moves, shapes, viewing, priors, shift, own @ linalg.cholesky(change.covariance, lower=True)
    )
    height = scale * (moves.u - move) - own @ change.mean
    if predicted is not None:
        height = height - predicted.at(shapes, moves.x, moves.y)
    fit = _fit(terms, height, np.hypot(scale * moves.sigma_u, UNSHAPED_MM))
    constant = float(fit.mean[terms.constant])
    shift_mm = shift_from_move(move + constant / scale, viewing.ledge_mm, viewing.lens_distance_mm)
    surface = terms.surface
    return Estimate(
        shapes=shapes, mean=fit.mean[surface], covariance=fit.covariance[surface, surface], viewing=viewing,
        priors=replace(priors, wobble=fit.wobble),
        predicted=predicted, shift_mm=shift_mm,
        shift_sigma_mm=abs(float(np.sqrt(fit.covariance[terms.constant, terms.constant])) / scale)
        + abs(shift_mm) * priors.ledge / viewing.lens_distance_mm,
        noise=fit.noise, wobble_mm=fit.wobble, kept=float(np.mean(fit.weight > 0.3)), steps=fit.steps, loss=fit.weight,
    )  # fmt: skip


def _terms(
    moves: Moves2D, shapes: Shapes, viewing: Viewing, priors: Priors, shift: float, own: F64
) -> _Terms:
    x, y = moves.x, moves.y
    away = x - viewing.axis_x_mm
    lever = (1 + away / shift)[:, None]
    opening = shapes.opening
    left, right, top, bottom = opening.box
    p = 2 * (x - left) / (right - left) - 1
    q = 2 * (y - top) / (bottom - top) - 1
    rows, names = np.unique(np.round(y, 4), return_inverse=True)
    one_hot = np.zeros((len(x), len(rows)))
    one_hot[np.arange(len(x)), names.ravel()] = 1.0
    seen = (opening.left.seen, opening.right.seen, opening.top.seen, opening.bottom.seen)
    rim_seen = shapes.rim_seen(seen)
    bend = np.polynomial.legendre.legvander(p, DISTORTION_WAVES)[:, 1:]
    stretch = priors.distortion * viewing.lens_distance_mm
    groups = [
        (shapes.sines(x, y), priors.sag * shapes.sine_sizes()),
        (shapes.rim(x, y), np.where(rim_seen, priors.rim, priors.sag) * shapes.rim_sizes()),
        (lever * np.stack([np.ones_like(p), p, q], axis=1), np.full(3, priors.tilt)),
        (own, np.ones(own.shape[1])),
        (bend, stretch / np.arange(1, DISTORTION_WAVES + 1)),
        (one_hot, np.full(len(rows), priors.wobble)),
        (np.stack([q, np.ones_like(q)], axis=1), np.full(2, 100.0)),
    ]
    ends = np.cumsum([g[0].shape[1] for g in groups])
    return _Terms(
        matrix=np.hstack([g[0] for g in groups]), size=np.concatenate([g[1] for g in groups]),
        surface=slice(0, int(ends[1])), short=np.flatnonzero(np.max(shapes.waves, axis=1) > LONG_WAVES),
        bounds=(SHORT_SIZES_MM[0] / priors.sag, SHORT_SIZES_MM[1] / priors.sag),
        rows=np.arange(int(ends[4]), int(ends[5])),
        constant=int(ends[-1]) - 1,
    )  # fmt: skip


@dataclass(frozen=True)
class _Fit:
    mean: F64
    covariance: F64
    weight: F64
    noise: float
    wobble: float
    short: float
    steps: int


def _fit(terms: _Terms, height: F64, sigma: F64) -> _Fit:
    """Posterior of all sizes, with weights, noise, wobble and sag found from the data themselves."""
    size = terms.size.copy()
    weight = np.ones(len(height))
    noise = 1.0
    short = 1.0
    mean = np.zeros(len(size))
    covariance = np.eye(len(size))
    for step in range(1, STEPS + 1):
        before = mean
        w = weight / (noise * sigma) ** 2
        scaled = terms.matrix * size
        normal = (scaled * w[:, None]).T @ scaled
        normal[np.diag_indices_from(normal)] += 1.0
        factor = linalg.cho_factor(normal, lower=True, check_finite=False)
        mean = size * linalg.cho_solve(factor, scaled.T @ (w * height), check_finite=False)
        covariance = (
            linalg.cho_solve(factor, np.eye(len(size)), check_finite=False) * size[:, None] * size[None, :]
        )
        rest = height - terms.matrix @ mean
        spread = np.einsum("ni,ni->n", terms.matrix @ covariance, terms.matrix, optimize=True)
        square = (rest**2 + spread) / (sigma**2)
        noise = max(0.5, float(np.sqrt(np.sum(weight * square) / len(height))))
        weight = (FREEDOM + 1) / (FREEDOM + square / noise**2)
        size[terms.rows] = max(1e-3, _found(mean, covariance, terms.rows, np.ones(len(size))))
        short = float(np.clip(_found(mean, covariance, terms.short, terms.size), *terms.bounds))
        size[terms.short] = terms.size[terms.short] * short
        if step > 4 and float(np.max(np.abs(mean - before)[terms.surface])) < SETTLED:
            break
    else:
        raise NotConverged(
            "the film's surface did not settle; scan again with more of the film's detail in both"
        )
    return _Fit(mean, covariance, weight, noise, float(size[terms.rows[0]]), short, step)


def _found(mean: F64, covariance: F64, group: NDArray[np.int64], size: F64) -> float:
    """Root mean square of a group's sizes relative to ``size``, its uncertainty included."""
    part = (mean[group] ** 2 + np.diag(covariance)[group]) / size[group] ** 2
    return float(np.sqrt(part.mean()))
