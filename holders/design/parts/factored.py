"""A symmetric positive definite system factored once and solved many times: dense where small, sparse where large.

A grid of beams couples only neighbours, so that its factor grows a little faster than its nodes, where a dense one
grows with their square and costs their cube.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg.lapack import dpotrf, dpotrs

from holders.core.errors import NotConverged

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
DENSE_UP_TO = 400  # unknowns: below it LAPACK is done before the sparse library is loaded
NOT_HELD = "the frame's beams do not hang together or nothing holds them"


def summed(places: Ints, values: Floats, size: int) -> Floats:
    """The values added up at their places (size,)."""
    return np.asarray(np.bincount(places, values, minlength=size), dtype=float)


@dataclass(frozen=True, slots=True)
class Triplets:
    """A square matrix by its entries; those at one place add up."""

    rows: Ints
    columns: Ints
    values: Floats
    size: int

    def diagonal(self) -> Floats:
        """Its diagonal (size,)."""
        on = self.rows == self.columns
        return summed(self.rows[on], self.values[on], self.size)

    def times(self, vector: Floats) -> Floats:
        """The matrix times a vector (size,)."""
        return summed(self.rows, self.values * vector[self.columns], self.size)

    def among(self, kept: Ints) -> Triplets:
        """The rows and columns ``kept``, in that order."""
        place = np.full(self.size, -1)
        place[kept] = np.arange(len(kept))
        rows, columns = place[self.rows], place[self.columns]
        inside = (rows >= 0) & (columns >= 0)
        return Triplets(rows[inside], columns[inside], self.values[inside], len(kept))

    def raised(self, at: Ints, by: float) -> Triplets:
        """With ``by`` more on the diagonal at those places."""
        return Triplets(
            np.concatenate([self.rows, at]),
            np.concatenate([self.columns, at]),
            np.concatenate([self.values, np.full(len(at), by)]),
            self.size,
        )


def solver_of(matrix: Triplets) -> Callable[[Floats], Floats]:
    """A function that solves the system for a right side (size,).

    Raises ``NotConverged`` when the matrix is singular. Unknowns are scaled, so that slopes and lengths are alike.
    """
    diagonal = matrix.diagonal()
    if matrix.size and float(diagonal.min()) <= 0:
        raise NotConverged("a part of the frame has no stiffness at all")
    scale = 1 / np.sqrt(diagonal)
    values = matrix.values * scale[matrix.rows] * scale[matrix.columns]
    scaled = Triplets(matrix.rows, matrix.columns, values, matrix.size)
    inner = _dense(scaled) if matrix.size <= DENSE_UP_TO else _sparse(scaled)
    return lambda right: scale * inner(scale * right)


def _dense(matrix: Triplets) -> Callable[[Floats], Floats]:
    full = np.zeros((matrix.size, matrix.size))
    np.add.at(full, (matrix.rows, matrix.columns), matrix.values)
    if not matrix.size:
        return lambda right: right
    factor, failed = dpotrf(full, lower=1, clean=0)
    if failed:
        raise NotConverged(NOT_HELD)
    return lambda right: np.asarray(dpotrs(factor, right, lower=1)[0])


def _sparse(matrix: Triplets) -> Callable[[Floats], Floats]:
    from scipy.sparse import csc_array  # noqa: PLC0415 - most frames are small
    from scipy.sparse.linalg import splu  # noqa: PLC0415

    entries = csc_array((matrix.values, (matrix.rows, matrix.columns)), shape=(matrix.size, matrix.size))
    try:
        factor = splu(
            entries, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )
    except RuntimeError:  # exactly singular
        raise NotConverged(NOT_HELD) from None
    return lambda right: np.asarray(factor.solve(right))
