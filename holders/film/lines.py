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


@dataclass(frozen=True)
class Contraction:
    """Sums over all quadrature points of field · (f g)(x) · (h k)(y), for all functions of four kinds at once.

    Several terms, each with a field of its own, are summed. Going by one direction after the other is what keeps large
    bases affordable (q n⁴ in place of q² n⁴), doing all terms in one product what keeps small ones quick. ``left``
    (terms qx, i j), ``right`` one (qy, a b) for each term.
    """

    left: Array
    right: tuple[Array, ...]
    shape: tuple[int, int, int, int]

    def of(self, fields: tuple[Array, ...]) -> Array:
        """((i a), (j b)) sums for the terms' fields, (qx, qy) each."""
        i, j, a, b = self.shape
        q = len(fields[0])
        inner = np.empty((len(self.left), a * b))
        for term, (field, right) in enumerate(zip(fields, self.right, strict=True)):
            np.matmul(field, right, out=inner[term * q : (term + 1) * q])
        total = (self.left.T @ inner).reshape(i, j, a, b)
        return np.ascontiguousarray(total.transpose(0, 2, 1, 3)).reshape(i * a, j * b)


def contraction(terms: tuple[tuple[Array, Array, Array, Array], ...]) -> Contraction:
    """From the four functions (f, g along x; h, k along y; (q, n) each) of every term."""
    f, g, h, k = terms[0]
    return Contraction(
        left=np.concatenate([pair(f, g) for f, g, _, _ in terms]),
        right=tuple(pair(h, k) for _, _, h, k in terms),
        shape=(f.shape[1], g.shape[1], h.shape[1], k.shape[1]),
    )


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
def spread(axis: Axis, wanted: Parity, count: int) -> tuple[Array, Array]:
    """Evenly spaced points from edge to edge of the film and the functions' values there (count, n)."""
    x = np.linspace(-axis.half, axis.half, count)
    return x, film_line(axis, wanted).line.at(x)


@lru_cache(maxsize=64)
def stress_line(axis: Axis, wanted: Parity) -> Sampled:
    """The functions of the stress function along one direction."""
    line = Line(tuple(build(axis.stress_pieces, p, axis.stress_ends) for p in parities(axis, wanted)))
    x, w = _points(axis.stress_pieces, axis.symmetric and wanted == "none", STRESS_POINTS)
    return Sampled(line, x, w, derivatives(line, x))
