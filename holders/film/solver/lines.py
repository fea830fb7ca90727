"""One direction in one symmetry class: its functions, its quadrature, and the functions' values there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from holders.film.models import Array
from holders.film.solver.basis import Basis1D, Parity, Pieces, build, quadrature
from holders.film.solver.grid import Axis

Inner = Mapping[tuple[int, int], Array]


@dataclass(frozen=True)
class Line:
    """The functions of one direction in the class in use (one basis, or even and odd together)."""

    bases: tuple[Basis1D, ...]

    def at(self, x: Array, derivative: int = 0) -> Array:
        """(len(x), n) values or derivatives."""
        several = [b.at(x, derivative) for b in self.bases]
        return several[0] if len(several) == 1 else np.hstack(several)

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

    @cached_property
    def nearest(self) -> Array:
        """(n, q) from values at the points to the functions that come closest to them in the mean square."""
        mass = np.concatenate([b.mass for b in self.line.bases])
        return np.asarray((self.weights[:, None] * self.values[0] / mass).T)

    @cached_property
    def inner(self) -> Inner:
        """(n, n) integrals of the products of two derivatives, by their orders; those that energies are made of."""
        weighted = [self.weights[:, None] * v for v in self.values]
        return {(i, j): self.values[i].T @ weighted[j] for i, j in ((0, 0), (1, 1), (2, 2), (0, 2))}

    @cached_property
    def pairs(self) -> tuple[Array, Array, Array]:
        """(q, n n) products of two functions at the points: both as they are, both slopes, slope and as it is."""
        value, slope, _ = self.values
        return pair(value, value), pair(slope, slope), pair(slope, value)


def parities(axis: Axis, wanted: Parity) -> tuple[Parity, ...]:
    """Which mirrored bases make up the class ``wanted`` (``none``: both)."""
    if not axis.symmetric:
        return ("none",)
    return ("even", "odd") if wanted == "none" else (wanted,)


def _points(pieces: Pieces, whole: bool, factors: int) -> tuple[Array, Array]:
    x, w = quadrature(pieces, factors)
    if whole:
        return np.concatenate([-x[::-1], x]), np.concatenate([w[::-1], w]) / 2
    return x, w


def kron(a: Array, b: Array) -> Array:
    """Kronecker product of two matrices or two vectors (numpy's own is general and slow on small ones)."""
    if a.ndim == 1:
        return np.asarray(np.multiply.outer(a, b).ravel())
    rows, columns = a.shape[0] * b.shape[0], a.shape[1] * b.shape[1]
    return np.asarray((a[:, None, :, None] * b[None, :, None, :]).reshape(rows, columns))


def curved(mx: Inner, my: Inner, poisson: float) -> Array:
    """(n, n) energy ∫ f,xx² + f,yy² + 2ν f,xx f,yy + 2(1-ν) f,xy² of products of functions along x and along y."""
    cross = poisson * kron(mx[0, 2].T, my[0, 2])
    twist = kron(2 * (1 - poisson) * mx[1, 1], my[1, 1])
    return kron(mx[2, 2], my[0, 0]) + kron(mx[0, 0], my[2, 2]) + cross + cross.T + twist


def pair(a: Array, b: Array) -> Array:
    """(q, m n) products of every function of ``a`` (q, m) with every one of ``b`` (q, n) at each point."""
    return np.asarray((a[:, :, None] * b[:, None, :]).reshape(len(a), -1))


@dataclass(frozen=True)
class Contraction:
    """Sums over all quadrature points of field · (f g)(x) · (h k)(y), for all functions of four kinds at once.

    Several fields, each with as many terms of such functions as the others, are summed. Going by one direction after
    the other is what keeps large bases affordable (q n⁴ in place of q² n⁴), doing all terms in one product what keeps
    small ones quick. ``left`` (i j, fields qx terms), ``right`` (fields, qy, terms a b).
    """

    left: Array
    right: Array
    shape: tuple[int, int, int, int]

    def of(self, fields: Array) -> Array:
        """((i a), (j b)) sums for the fields (fields, qx, qy)."""
        i, j, a, b = self.shape
        total = self.left @ (fields @ self.right).reshape(-1, a * b)
        return np.asarray(total.reshape(i, j, a, b).transpose(0, 2, 1, 3).reshape(i * a, j * b))


def contraction(
    fields: tuple[tuple[tuple[Array, Array], ...], ...], shape: tuple[int, int, int, int]
) -> Contraction:
    """From pairs of functions along x (q, i j) and along y (q, a b) for every term of every field."""
    left = np.stack([np.stack([x for x, _ in terms], axis=1) for terms in fields])
    right = np.stack([np.stack([y for _, y in terms], axis=1) for terms in fields])
    return Contraction(
        left=np.ascontiguousarray(left.reshape(-1, left.shape[-1]).T),
        right=right.reshape(*right.shape[:2], -1),
        shape=shape,
    )


def derivatives(line: Line, x: Array) -> tuple[Array, Array, Array]:
    """Value, first and second derivative at points, (len(x), n) each."""
    jets = [b.jet(x) for b in line.bases]
    value, first, second = jets[0] if len(jets) == 1 else (np.hstack(k) for k in zip(*jets, strict=True))
    return value, first, second


@lru_cache(maxsize=64)
def film_line(axis: Axis, wanted: Parity) -> Sampled:
    """The functions of the deflection along one direction."""
    line = Line(tuple(build(axis.pieces, p, axis.film_ends) for p in parities(axis, wanted)))
    x, w = _points(axis.pieces, axis.symmetric and wanted == "none", 3)
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
    x, w = _points(axis.stress_pieces, axis.symmetric and wanted == "none", 2)
    return Sampled(line, x, w, derivatives(line, x))
