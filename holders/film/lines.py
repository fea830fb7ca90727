"""One direction in one symmetry class: its functions, its quadrature, and the functions' values there."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from holders.film.basis import Basis1D, Parity, Pieces, build, quadrature
from holders.film.layout import Axis
from holders.film.models import Array

STRESS_POINTS = (
    1.1  # Gauss points per degree; what is integrated there is of twice the degree, not three times
)


@dataclass(frozen=True)
class Line:
    """The functions of one direction in the class in use (one basis, or even and odd together)."""

    bases: tuple[Basis1D, ...]

    def at(self, x: Array, derivative: int = 0) -> Array:
        """(len(x), n) values or derivatives."""
        return np.hstack([b.at(x, derivative) for b in self.bases])

    @property
    def size(self) -> int:
        """How many functions."""
        return sum(b.size for b in self.bases)


@dataclass(frozen=True)
class Sampled:
    """Functions with their quadrature (the half line where the class is of one parity).

    ``values[k]`` (q, n) is the k-th derivative at the points.
    """

    line: Line
    points: Array
    weights: Array
    values: tuple[Array, Array, Array]


def parities(axis: Axis, wanted: Parity) -> tuple[Parity, ...]:
    """Which mirrored bases make up the class ``wanted`` (``none``: both)."""
    if not axis.symmetric:
        return ("none",)
    return ("even", "odd") if wanted == "none" else (wanted,)


def _points(pieces: Pieces, whole: bool, per_degree: float) -> tuple[Array, Array]:
    x, w = quadrature(pieces, per_degree)
    if whole:
        return np.concatenate([-x[::-1], x]), np.concatenate([w[::-1], w]) / 2
    return x, w


def kron(a: Array, b: Array) -> Array:
    """Kronecker product of two matrices or two vectors (numpy's own is general and slow on small ones)."""
    if a.ndim == 1:
        return np.asarray(np.multiply.outer(a, b).ravel())
    rows, columns = a.shape[0] * b.shape[0], a.shape[1] * b.shape[1]
    return np.asarray((a[:, None, :, None] * b[None, :, None, :]).reshape(rows, columns))


def pair(a: Array, b: Array) -> Array:
    """(q, m n) products of every function of ``a`` (q, m) with every one of ``b`` (q, n) at each point."""
    return np.asarray((a[:, :, None] * b[:, None, :]).reshape(len(a), -1))


def contract(left: Array, field: Array, right: Array, shape: tuple[int, int, int, int]) -> Array:
    """Sum over all points of (pair in x) · field · (pair in y), one direction after the other.

    ``left`` (qx, i j), ``field`` (qx, qy), ``right`` (qy, a b), ``shape`` (i, j, a, b); gives ((i a), (j b)). Summing
    by direction is what keeps large bases affordable: it costs q n⁴ in place of q² n⁴.
    """
    i, j, a, b = shape
    total = left.T @ (field @ right)
    return np.asarray(total.reshape(i, j, a, b).transpose(0, 2, 1, 3).reshape(i * a, j * b))


def derivatives(line: Line, x: Array) -> tuple[Array, Array, Array]:
    """Value, first and second derivative at points, (len(x), n) each."""
    value, first, second = (np.hstack(k) for k in zip(*(b.jet(x) for b in line.bases), strict=True))
    return value, first, second


@lru_cache(maxsize=64)
def film_line(axis: Axis, wanted: Parity) -> Sampled:
    """The functions of the deflection along one direction."""
    line = Line(tuple(build(axis.pieces, p, axis.film_ends) for p in parities(axis, wanted)))
    x, w = _points(axis.pieces, axis.symmetric and wanted == "none", 1.6)
    return Sampled(line, x, w, derivatives(line, x))


@lru_cache(maxsize=64)
def stress_line(axis: Axis, wanted: Parity) -> Sampled:
    """The functions of the stress function along one direction."""
    line = Line(tuple(build(axis.stress_pieces, p, axis.stress_ends) for p in parities(axis, wanted)))
    x, w = _points(axis.stress_pieces, axis.symmetric and wanted == "none", STRESS_POINTS)
    return Sampled(line, x, w, derivatives(line, x))
