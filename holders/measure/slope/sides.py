"""Blur that differs above and below best focus: fitted where a scan shows it, doubted where it does not.

A scan is fitted twice: with one curve for both sides, and with curves stretched against each other (see
``profile.lean_distance``) by amounts that are free but for a weak prior. The result is the mean of both, weighted by
how likely each makes the scan (Bayesian model averaging: J. A. Hoeting et al., Statistical Science 14, 382 (1999),
from memory), so that an even blur costs little and an uneven one is not taken for even.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.measure.slope import profile
from holders.measure.slope.profile import EVEN, F64, Lean, Weighted

LEAN_SIGMA = np.array(
    [0.06, 0.06]
)  # prior: share by which blur grows faster on one side than on the mean of both
MOST_LEAN = 0.4
OVERLAP = 2.0  # places overlap by half: chi square counts them about twice
UNEVEN_ODDS = 0.5  # before anything is seen: as likely uneven as even


@dataclass(frozen=True)
class Sides:
    """A height from even and free sides.

    ``height`` mm, the mean of both by their ``odds`` (the probability that the sides differ); ``lean`` of the free ones
    (see ``profile.lean_distance``); ``pull`` (n, f): mm per unit of residual; ``residual`` (n, f) left by the likelier;
    ``modelled`` mm: standard deviation by the fit's own model; ``doubt`` mm: what the choice and the prior leave open.
    """

    height: float
    lean: Lean
    odds: float
    pull: F64
    residual: F64
    modelled: float
    doubt: float


def _step(under: Weighted, z: float, lean: Lean) -> tuple[F64, F64, F64]:
    """Score (3,), covariance (3, 3) and weighted gradients (3, n, f) at a trial point."""
    s = profile.solve(under, z, lean)
    left, wl = profile.gradients(under, s, z, lean, sides=True)
    information = np.einsum("inf,jnf->ij", wl, left)
    prior = np.concatenate([[0.0], OVERLAP / LEAN_SIGMA**2])
    information[np.diag_indices(3)] += prior + 1e-12
    score = np.einsum("knf,nf->k", wl, s.residual) - prior * np.array([0.0, *lean])
    return score, np.asarray(np.linalg.inv(information)), wl


def _descend(under: Weighted, z: float, step: float, even_objective: float) -> tuple[float, float, Lean]:
    """Objective with the prior, height and lean at its least, reached by steps that each lower it."""
    best: tuple[float, float, Lean] = (even_objective, z, EVEN)
    for _ in range(15):
        objective, z, lean = best
        score, covariance, _ = _step(under, z, lean)
        move = covariance @ score
        move *= min(1.0, step / max(abs(move[0]), 1e-12), 0.1 / max(float(np.abs(move[1:]).max()), 1e-12))
        for _ in range(4):
            new = np.clip(np.array(lean) + move[1:], -MOST_LEAN, MOST_LEAN)
            trial = (z + float(move[0]), (float(new[0]), float(new[1])))
            lower = profile.solve(under, *trial).objective
            lower += float(OVERLAP * ((new / LEAN_SIGMA) ** 2).sum())
            if lower < objective:
                best = (lower, *trial)
                break
            move = move * 0.4
        if objective - best[0] < 1e-3:
            break
    return best


def free_sides(under: Weighted, z: float, step: float) -> Sides:
    """Fit height and lean together, from the height ``z`` that an even blur gives; moves of at most ``step`` mm."""
    even = profile.solve(under, z)
    _, information, even_pull = profile.influence(under, even, z)
    even_variance = 1.0 / max(information, 1e-30)
    objective, free_z, lean = _descend(under, z, step, even.objective)
    _, covariance, wl = _step(under, free_z, lean)
    # evidence of free sides over even ones (Laplace's approximation)
    shrunk = np.linalg.det(covariance[1:, 1:]) * np.prod(OVERLAP / LEAN_SIGMA**2)
    log_odds = 0.5 * (even.objective - objective) / OVERLAP + 0.5 * float(np.log(max(shrunk, 1e-30)))
    ratio = UNEVEN_ODDS / (1.0 - UNEVEN_ODDS) * float(np.exp(np.clip(log_odds, -50.0, 50.0)))
    odds = ratio / (1.0 + ratio)
    # a lean drawn from the prior is drawn back to zero by it
    prior = float(covariance[0, 1:] ** 2 @ (OVERLAP**2 / LEAN_SIGMA**2))
    pull = odds * np.einsum("k,knf->nf", covariance[0], wl) + (1.0 - odds) * even_variance * even_pull
    free = profile.solve(under, free_z, lean)
    return Sides(
        odds * free_z + (1.0 - odds) * z,
        lean,
        odds,
        np.asarray(pull),
        free.residual if odds > 0.5 else even.residual,
        float(np.sqrt(odds * covariance[0, 0] + (1.0 - odds) * even_variance)),
        float(np.sqrt(odds * (1.0 - odds) * (free_z - z) ** 2 + odds * prior)),
    )
