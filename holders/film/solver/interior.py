"""Minimise a smooth energy under linear inequalities: a primal-dual interior-point method.

Each step solves one positive definite system; where the energy bends downward (near a snap) the tangent is raised
until it is positive definite, so that every step goes down in the barrier function. Contact forces stay positive by
construction, and a film that just touches makes no trouble, which it does to methods that guess the contact set.
Source of the method: Nocedal and Wright, Numerical Optimization, 2nd ed., ch. 19, for the corrector ch. 14 (from
memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from holders.core.errors import NotConverged
from holders.film.models import Array
from holders.film.solver.contact import ContactSet
from holders.film.solver.linear import factor_solve, raised_factor
from holders.film.solver.plate import Problem, State

TO_BOUNDARY = 0.995
SHRINK = 0.12
PUSH = 0.1
KEEP_PACE = 10.0
SHORT, CENTRE = 0.1, 5.0
MAX_HALVINGS = 40
HOPELESS = 0.05  # a step that can go no further than this is not corrected but pushed away from the walls
STEP = 0.002  # what a step costs however small it is
WEAK = 1e-5  # against the softest the sheet itself can be, which is of order one


@dataclass
class Effort:
    """How much work is left, in billions of multiplications; what runs out of it did not converge."""

    left: float

    def spend(self, unknowns: int, rows: int) -> None:
        """Take the work of one step; raises NotConverged when there is none left."""
        self.left -= STEP + 1e-9 * unknowns**2 * (rows + unknowns / 3)
        if self.left < 0:
            raise NotConverged("film surface: it did not converge within the bounds of work")


@dataclass(frozen=True)
class Minimum:
    """Where the minimiser stopped: unknowns, contact forces, state, iterations and relative residual."""

    c: Array
    force: Array
    state: State
    iterations: int
    residual: float


def minimise(
    problem: Problem,
    touch: ContactSet,
    start: Array,
    *,
    tol: float,
    push: float = PUSH,
    room: float = 0.0,
    known: Array | None = None,
    max_iterations: int = 200,
    effort: Effort | None = None,
) -> Minimum:
    """From a start to an equilibrium inside all inequalities; raises NotConverged otherwise.

    A start that reaches into something, or comes nearer to it than ``room``, is treated as if it were that far from
    it; the lie is taken back as the steps go on.

    ``push`` is how hard the contacts push at first, against the energy of the start: little keeps to the branch of
    the start shape, much makes for few steps. Contacts whose forces are ``known``, from a support much like this one,
    start with those, which halves the steps.
    """
    c, state = start.copy(), problem.state(start)
    reached = touch.rows @ c + touch.room
    scale = _size(problem.load_vector) or 1.0
    energy_scale = max(abs(state.energy), scale, 1e-9)
    mu = push * energy_scale / max(touch.count, 1) if touch.count else 0.0
    if known is None:
        gap = np.maximum(reached, room)
        force = mu / gap
    else:
        force = np.maximum(known, mu / np.maximum(reached, room))
        gap = np.maximum(reached, mu / force)
    lack = reached - gap
    length = 1.0
    for iteration in range(1, max_iterations + 1):
        pushed = force @ touch.rows
        unbalanced = _size(state.gradient - pushed) / (scale + _size(pushed))
        slack = float((gap * force).max()) if touch.count else 0.0
        energy_size = max(abs(state.energy), scale)
        residual = max(unbalanced, slack * touch.count / energy_size)
        if residual < tol and not lack.any():
            return Minimum(c, force, state, iteration - 1, residual)
        if touch.count:
            mean = float(gap @ force) / touch.count
            # contact is closed no faster than the forces come into balance, or the steps would stall on the walls
            shrink = SHRINK if unbalanced <= KEEP_PACE * max(mean * touch.count / energy_size, tol) else 1.0
            if length < SHORT:  # too near to too many walls: push away from all of them first
                shrink = CENTRE
            mu = max(shrink * mean, 0.01 * tol * energy_size / touch.count)
        if effort is not None:
            effort.spend(len(c), touch.count + problem.stress.size)
        c, gap, lack, force, state, length = _step(problem, touch, c, gap, lack, force, state, mu)
    raise NotConverged(
        f"film surface: it did not converge, relative residual {residual:.1e} after {max_iterations} iterations, "
        f"{tol:.1e} wanted"
    )


def _step(
    problem: Problem,
    touch: ContactSet,
    c: Array,
    gap: Array,
    lack: Array,
    force: Array,
    state: State,
    mu: float,
) -> tuple[Array, Array, Array, Array, State, float]:
    """One Newton step with line search on the barrier function; its length comes last."""
    rows = touch.rows
    pull = (mu - force * lack) / gap
    factor = raised_factor(_tangent(problem, state, rows, force / gap))
    step = factor_solve(factor, pull @ rows - state.gradient)
    change = rows @ step + lack
    length = _reach(gap, change)
    change_force = (mu - force * change) / gap - force
    if length > HOPELESS and touch.count:
        # gap and force change together: their product is put right with the same factor (Mehrotra's corrector)
        bent = mu - change * change_force
        better = factor_solve(factor, (bent - force * lack) / gap @ rows - state.gradient)
        other = rows @ better + lack
        reach = _reach(gap, other)
        if reach >= length and float(state.gradient @ better) < mu * float((other / gap).sum()):
            step, change, length = better, other, reach
            change_force = (bent - force * change) / gap - force
    total = float(lack.sum())
    owed = -2.0 * float((force + change_force).max()) * total if total else 0.0
    slope = float(state.gradient @ step) - mu * float((change / gap).sum()) - owed
    here = state.energy - mu * float(np.log(gap).sum()) + owed
    for _ in range(MAX_HALVINGS):
        new_gap, trial = gap + length * change, problem.state(c + length * step)
        value = trial.energy - mu * float(np.log(new_gap).sum()) + (1 - length) * owed
        if value <= here + 1e-4 * length * slope + 1e-11 * abs(here):
            break
        length *= 0.5
    else:
        raise NotConverged("film surface: it did not converge, no step lowers the energy")
    force = force + _reach(force, change_force) * change_force
    # forces far from what the gap calls for would spoil the tangent; keep them within a wide corridor
    pull = mu / new_gap
    force = np.minimum(np.maximum(force, 1e-6 * pull), 1e6 * pull)
    return c + length * step, new_gap, (1 - length) * lack, force, trial, length


def _size(vector: Array) -> float:
    return math.sqrt(float(vector @ vector))


def _tangent(problem: Problem, state: State, rows: Array, stiff: Array) -> Array:
    """The energy's tangent with the contacts as springs; those too weak to matter are left out."""
    felt = stiff > WEAK / max(len(stiff), 1)
    if not felt.all():
        rows, stiff = rows[felt], stiff[felt]
    modes = len(state.rate)
    stack = np.empty((modes + len(rows), len(state.c)))
    np.multiply(state.rate, math.sqrt(problem.membrane), out=stack[:modes])
    np.multiply(rows, np.sqrt(stiff)[:, None], out=stack[modes:])
    out = problem.pulled(problem.plate, state)
    out += stack.T @ stack
    return out


def _reach(value: Array, change: Array) -> float:
    """The longest step, at most 1, that keeps every value positive."""
    if not len(value):
        return 1.0
    fastest = -float((change / value).min())
    return 1.0 if fastest <= TO_BOUNDARY else TO_BOUNDARY / fastest
