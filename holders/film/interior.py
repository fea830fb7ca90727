"""Minimise a smooth energy under linear inequalities: a primal-dual interior-point method.

Each step solves one positive definite system; where the energy bends downward (near a snap) the tangent is raised
until it is positive definite, so that every step goes down in the barrier function. Contact forces stay positive by
construction, and a film that just touches makes no trouble, which it does to methods that guess the contact set.
Source of the method: Nocedal and Wright, Numerical Optimization, 2nd ed., ch. 19 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve

from holders.errors import NotConverged
from holders.film.contact import Touch
from holders.film.models import Array
from holders.film.plate import Problem, State

TO_BOUNDARY = 0.995
SHRINK = 0.12
PUSH = 0.1
KEEP_PACE = 100.0
MAX_HALVINGS = 40


@dataclass(frozen=True)
class Minimum:
    """Where the minimiser stopped: unknowns, contact forces, state, iterations and relative residual."""

    c: Array
    force: Array
    state: State
    iterations: int
    residual: float


def factor(a: Array, identity: Array) -> tuple[tuple[Array, bool], float]:
    """Cholesky factor of ``a``, raised by as little as makes it positive definite; returns the raise too."""
    raised = 0.0
    while True:
        try:
            return cho_factor(a + raised * identity if raised else a, lower=True, check_finite=False), raised
        except np.linalg.LinAlgError:
            raised = max(4.0 * raised, 1e-3)
            if raised > 1e12:
                raise NotConverged("the film's stiffness matrix is not finite") from None


def minimise(
    problem: Problem, touch: Touch, start: Array, *, tol: float, push: float = PUSH, max_iterations: int = 200
) -> Minimum:
    """From a start strictly inside all inequalities to an equilibrium; raises NotConverged otherwise.

    ``push`` is how hard the contacts push at first, against the energy of the start: little keeps to the branch of
    the start shape, much makes for few steps.
    """
    c = start.copy()
    gap = touch.rows @ c + touch.room
    if touch.count and gap.min() <= 0:
        raise NotConverged("the start shape is not free of contact")
    scale = float(np.linalg.norm(problem.load_vector)) or 1.0
    energy_scale = max(abs(problem.energy(c)), scale, 1e-9)
    mu = push * energy_scale / max(touch.count, 1) if touch.count else 0.0
    force = mu / gap if touch.count else np.empty(0)
    identity = np.eye(len(c))
    state = problem.state(c)
    for iteration in range(1, max_iterations + 1):
        out = state.gradient - touch.rows.T @ force
        slack = float(np.max(gap * force)) if touch.count else 0.0
        size = scale + float(np.linalg.norm(force @ touch.rows)) if touch.count else scale
        unbalanced = float(np.linalg.norm(out)) / size
        energy_size = max(abs(state.energy), scale)
        residual = max(unbalanced, slack * touch.count / energy_size)
        if residual < tol:
            return Minimum(c, force, state, iteration - 1, residual)
        if touch.count:
            mean = float(gap @ force) / touch.count
            # contact is closed no faster than the forces come into balance, or the steps would stall on the walls
            shrink = SHRINK if unbalanced <= KEEP_PACE * max(mean * touch.count / energy_size, tol) else 1.0
            mu = max(shrink * mean, 0.01 * tol * energy_size / touch.count)
        c, gap, force, state = _step(problem, touch, c, gap, force, state, mu, identity)
    raise NotConverged(
        f"film surface: relative residual {residual:.1e} after {max_iterations} iterations, {tol:.1e} wanted"
    )


def _step(
    problem: Problem,
    touch: Touch,
    c: Array,
    gap: Array,
    force: Array,
    state: State,
    mu: float,
    identity: Array,
) -> tuple[Array, Array, Array, State]:
    """One Newton step with line search on the barrier function."""
    rows = touch.rows
    pull = mu / gap if touch.count else force
    gradient = state.gradient - rows.T @ pull
    a = state.tangent
    if touch.count:
        root = np.sqrt(force / gap)[:, None] * rows
        a = a + root.T @ root
    chol, _ = factor(a, identity)
    step = -cho_solve(chol, gradient, check_finite=False)
    change = rows @ step
    length = _reach(gap, change)
    slope = float(gradient @ step)
    here = state.energy - (mu * float(np.log(gap).sum()) if touch.count else 0.0)
    for _ in range(MAX_HALVINGS):
        trial_gap = gap + length * change
        value = problem.energy(c + length * step)
        if touch.count:
            value -= mu * float(np.log(trial_gap).sum())
        if value <= here + 1e-4 * length * slope + 1e-11 * abs(here):
            break
        length *= 0.5
    else:
        raise NotConverged("film surface: no step lowers the energy")
    new_c = c + length * step
    if touch.count:
        change_force = pull - force - force / gap * change
        force = force + _reach(force, change_force) * change_force
        # forces far from what the gap calls for would spoil the tangent; keep them within a wide corridor
        gap = gap + length * change
        force = np.clip(force, 1e-6 * mu / gap, 1e6 * mu / gap)
    return new_c, gap, force, problem.state(new_c)


def _reach(value: Array, change: Array) -> float:
    """The longest step, at most 1, that keeps every value positive."""
    falling = change < 0
    if not falling.any():
        return 1.0
    return min(1.0, TO_BOUNDARY * float(np.min(-value[falling] / change[falling])))
