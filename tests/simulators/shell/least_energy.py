"""Least energy of a smooth sheet under linear one-sided constraints (augmented Lagrangian, Newton, inertia check).

Source: D. P. Bertsekas, "Constrained Optimization and Lagrange Multiplier Methods", 1982 (from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_matrix, csr_matrix, diags
from scipy.sparse.linalg import SuperLU, splu

from tests.simulators.shell.hermite import Array, Ints


@dataclass(frozen=True)
class Problem:
    """Minimise f(u) subject to C u + c >= 0, with some unknowns kept at zero.

    Fields
    ------
    energy, gradient, hessian : of f; `hessian(u, convex)` may return a convex part of itself
    matrix, offset : C and c
    free : indices of the unknowns that may move
    mass : positive scale of each unknown, used to damp Newton steps
    stiffness : contact stiffness in N/mm; it changes the speed, not the answer
    """

    energy: Callable[[Array], float]
    gradient: Callable[[Array], Array]
    hessian: Callable[[Array, bool], csc_matrix]
    matrix: csr_matrix
    offset: Array
    free: Ints
    mass: Array
    stiffness: float


@dataclass(frozen=True)
class Minimum:
    """Where the search ended.

    Fields
    ------
    u, forces : unknowns, and one contact force (N, >= 0) for each constraint
    energy : f at u
    gap : deepest violation of a constraint in mm (>= 0)
    residual : largest out-of-balance force, N
    decrement : energy that one more Newton step would still gain, N mm
    stable : the Hessian with the touching constraints has no negative eigenvalue
    converged : all of these are small enough and the point is stable
    steps : Newton steps taken
    """

    u: Array
    forces: Array
    energy: float
    gap: float
    residual: float
    decrement: float
    stable: bool
    converged: bool
    steps: int


def factor(matrix: csc_matrix) -> tuple[SuperLU | None, int]:
    """Factors of a symmetric matrix and the number of its negative eigenvalues (Sylvester's law of inertia).

    The count is -1 where rows had to be exchanged or a pivot is zero, so that it cannot be read from the pivots.
    """
    try:
        lu = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    except RuntimeError:  # exactly singular
        return None, -1
    if not np.array_equal(lu.perm_r, lu.perm_c):
        return lu, -1
    return lu, int(np.count_nonzero(lu.U.diagonal() < 0))


class _Search:
    def __init__(self, problem: Problem, start: Array) -> None:
        self.p, self.u, self.steps = problem, start.copy(), 0
        self.forces = np.zeros(len(problem.offset))
        self.k = problem.stiffness

    def pushed(self, u: Array) -> Array:
        return np.maximum(self.forces - self.k * (self.p.matrix @ u + self.p.offset), 0.0)

    def value(self, u: Array) -> float:
        return self.p.energy(u) + float((self.pushed(u) ** 2 - self.forces**2).sum()) / (2 * self.k)

    def slope(self, u: Array) -> Array:
        full = self.p.gradient(u) - self.p.matrix.T @ self.pushed(u)
        return np.asarray(full[self.p.free])

    def curvature(self, u: Array, convex: bool) -> csc_matrix:
        reach = self.forces - self.k * (self.p.matrix @ u + self.p.offset)
        touching = (reach >= 0).astype(float) * self.k
        full = self.p.hessian(u, convex) + self.p.matrix.T @ diags(touching) @ self.p.matrix
        return csc_matrix(full.tocsr()[self.p.free][:, self.p.free])

    def direction(self, slope: Array) -> tuple[Array, bool]:
        """A descent direction, and whether it is an undamped Newton step at a convex point."""
        matrix = self.curvature(self.u, False)
        mass = self.p.mass[self.p.free]
        lu, negative = factor(matrix)
        if lu is not None and negative == 0:
            return -lu.solve(slope), True
        convex = self.curvature(self.u, True)
        for shift in 10.0 ** np.arange(-3, 8):
            lu, negative = factor(convex + diags(shift * mass, format="csc"))
            if lu is not None and negative == 0:
                return -lu.solve(slope), False
        return -slope / mass, False

    def minimise(self, tolerance: float, most: int) -> tuple[float, bool]:
        """Newton steps until the decrement is below `tolerance` (N mm); the last decrement and stability."""
        decrement, stable = np.inf, False
        for _ in range(most):
            slope = self.slope(self.u)
            step, stable = self.direction(slope)
            decrement = float(-slope @ step) / 2
            if stable and decrement < tolerance:
                if decrement > tolerance * 1e-3:
                    self.u[self.p.free] += step
                return decrement, True
            if not stable and decrement < tolerance * 1e-6:  # at rest on a saddle
                return decrement, False
            self.steps += 1
            if not self.walk(step, slope):
                return decrement, False
        return decrement, False

    def walk(self, step: Array, slope: Array) -> bool:
        here, fall = self.value(self.u), float(slope @ step)
        length = 1.0
        for _ in range(40):
            trial = self.u.copy()
            trial[self.p.free] += length * step
            there = self.value(trial)
            if there <= here + 1e-4 * length * fall + 1e-14 * abs(here):
                self.u = trial
                return True
            length *= 0.5
        return False


def least_energy(
    problem: Problem, start: Array, *, gap_mm: float = 2e-5, tolerance: float = 1e-12, steps: int = 400
) -> Minimum:
    """The stable equilibrium that a descent from `start` ends in.

    Parameters
    ----------
    problem : what to minimise
    start : unknowns to start from, shape (n,)
    gap_mm : allowed violation of a constraint
    tolerance : energy (N mm) that one more Newton step may gain
    steps : most Newton steps in one round; contact forces are corrected between rounds
    """
    search = _Search(problem, start)
    decrement, stable, gap = np.inf, False, np.inf
    for turn in range(60):
        loose = max(tolerance, 1e-6 * 0.03**turn)
        decrement, stable = search.minimise(loose, steps)
        gaps = problem.matrix @ search.u + problem.offset
        gap = float(np.maximum(-gaps, 0.0).max(initial=0.0))
        apart = float(np.minimum(search.forces / search.k, np.abs(gaps)).max(initial=0.0))
        if loose == tolerance and gap < gap_mm and apart < gap_mm:
            break
        if loose == tolerance and not stable and gap < gap_mm:
            break
        search.forces = search.pushed(search.u)
        if search.steps > steps:
            break
    forces = search.pushed(search.u)
    residual = problem.gradient(search.u) - problem.matrix.T @ forces
    residual = float(np.abs(residual[problem.free]).max())
    done = stable and gap < gap_mm and decrement < tolerance
    return Minimum(
        search.u, forces, problem.energy(search.u), gap, residual, decrement, stable, done, search.steps
    )
