"""The one linear system that every step solves: symmetric, made positive definite where it is not."""

from __future__ import annotations

import numpy as np
from scipy.linalg.lapack import dpotrf, dpotrs

from holders.core.errors import NotConverged
from holders.film.models import Array

FIRST_RAISE = 1e-3
MOST_RAISE = 1e12
NOT_FINITE = "film surface: the film's stiffness matrix is not finite, so it did not converge"


def definite(a: Array) -> bool:
    """All eigenvalues positive (much quicker than computing them)."""
    return bool(dpotrf(a, lower=1, clean=0)[1] == 0)


def raised_factor(a: Array) -> Array:
    """The Cholesky factor of ``a`` raised by as little of the unit matrix as makes it positive definite."""
    raised, matrix = 0.0, a
    while True:
        factor, failed = dpotrf(matrix, lower=1, clean=0)
        if not failed:
            return np.asarray(factor)
        raised = max(4.0 * raised, FIRST_RAISE)
        if not raised < MOST_RAISE:
            raise NotConverged(NOT_FINITE)
        matrix = a.copy()
        matrix[np.diag_indices_from(matrix)] += raised


def factor_solve(factor: Array, right: Array) -> Array:
    """Solve the system of a factor."""
    found = np.asarray(dpotrs(factor, right, lower=1)[0])
    if not np.isfinite(found).all():
        raise NotConverged(NOT_FINITE)
    return found
