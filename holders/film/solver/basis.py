"""Piecewise polynomials in one direction, smooth where the film is smooth, with a kink in the shear where a lip ends.

The reaction of a ledge sits on the line where the lip ends; there the third derivative of the deflection jumps. One
polynomial per piece, joined with two continuous derivatives, catches that exactly and keeps the fast convergence of
high-order polynomials in the opening.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise
from typing import Literal

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg.lapack import dsygv

from holders.core.errors import NotConverged
from holders.film.models import Array

Parity = Literal["even", "odd", "none"]
End = Literal["loose", "hinged", "clamped", "level"]
OUTSIDE = 1e-9
CONTINUOUS_DERIVATIVES = 3  # value, slope, curvature


@dataclass(frozen=True)
class Pieces:
    """A line cut into pieces: ``cuts`` ascending (n+1), ``degrees`` (n); ``mirrored`` when it is symmetric about 0.

    A mirrored line keeps only the half x ≥ 0; its first piece then starts at 0 and stands for a polynomial of one
    parity over [-cuts[1], cuts[1]].
    """

    cuts: tuple[float, ...]
    degrees: tuple[int, ...]
    mirrored: bool


@dataclass(frozen=True)
class Basis1D:
    """Functions on a line: ``coefficients[p]`` is (degree+1, n) in the Legendre polynomials of piece p.

    ``mass`` (n,) is the integral of each one's square; of two different ones it is 0.
    """

    pieces: Pieces
    parity: Parity
    coefficients: tuple[Array, ...]
    mass: Array

    @property
    def size(self) -> int:
        """How many functions."""
        return int(self.coefficients[0].shape[1])

    def at(self, x: Array, derivative: int = 0) -> Array:
        """Values (len(x), n) of the functions or of a derivative; see ``jet``."""
        return self.jet(x, (derivative,))[0]

    def jet(self, x: Array, derivatives: tuple[int, ...] = (0, 1, 2)) -> list[Array]:
        """Values (len(x), n) of several derivatives; a mirrored basis takes x of either sign.

        Beyond its ends (a film in its grip) everything is 0.
        """
        cuts = self.pieces.cuts
        if x.size and x[0] >= cuts[0] and x[-1] <= cuts[-1] and bool((x[1:] >= x[:-1]).all()):
            return self._ascending(x, derivatives)
        left = x < 0
        if self.pieces.mirrored:
            x = np.abs(x)
        which = np.clip(np.searchsorted(np.asarray(cuts), x, side="right") - 1, 0, len(cuts) - 2)
        inside = (x > cuts[0] - OUTSIDE) & (x < cuts[-1] + OUTSIDE)
        out = [np.zeros((len(x), self.size)) for _ in derivatives]
        for p, c in enumerate(self.coefficients):
            here = (which == p) & inside
            if here.any():
                for k, values in zip(
                    derivatives, _piece_values(self.pieces, p, x[here], derivatives), strict=True
                ):
                    out[derivatives.index(k)][here] = values @ c
        if self.pieces.mirrored and left.any():
            for k, values in zip(derivatives, out, strict=True):
                if (self.parity == "odd") != (k % 2 == 1):
                    values[left] *= -1.0
        return out

    def _ascending(self, x: Array, derivatives: tuple[int, ...]) -> list[Array]:
        """The same for ascending places within the pieces."""
        last = len(self.coefficients) - 1
        ends = [0, *np.searchsorted(x, self.pieces.cuts[1:-1], side="right"), len(x)] if last else [0, len(x)]
        parts = [
            [values @ c for values in _piece_values(self.pieces, p, x[ends[p] : ends[p + 1]], derivatives)]
            for p, c in enumerate(self.coefficients)
        ]
        return [np.concatenate(part) for part in zip(*parts, strict=True)] if last else parts[0]


def _span(pieces: Pieces, p: int) -> tuple[float, float]:
    """Centre and half-width of piece p's own Legendre variable."""
    if pieces.mirrored and p == 0:
        return 0.0, pieces.cuts[1]
    lo, hi = pieces.cuts[p], pieces.cuts[p + 1]
    return 0.5 * (lo + hi), 0.5 * (hi - lo)


def _piece_values(pieces: Pieces, p: int, x: Array, derivatives: tuple[int, ...]) -> list[Array]:
    """(len(x), degree+1) Legendre values or derivatives on piece p."""
    centre, half = _span(pieces, p)
    degree = pieces.degrees[p]
    v = np.asarray(legendre.legvander((x - centre) / half, degree), dtype=np.float64)
    return [v if k == 0 else v[:, : degree + 1 - k] @ (_derived(degree, k) / half**k) for k in derivatives]


@lru_cache(maxsize=256)
def _derived(degree: int, derivative: int) -> Array:
    """Legendre coefficients of the derivatives of the first degree+1 polynomials, by columns."""
    eye = np.eye(degree + 1)
    return np.asarray(legendre.legder(eye, derivative)) if derivative else eye


@lru_cache(maxsize=128)
def gauss(n: int) -> tuple[Array, Array]:
    """Gauss-Legendre points and weights on [-1, 1]."""
    x, w = legendre.leggauss(n)
    return np.asarray(x), np.asarray(w)


@lru_cache(maxsize=128)
def quadrature(pieces: Pieces, factors: int = 3) -> tuple[Array, Array]:
    """Gauss points and weights over the whole line; for a mirrored line the half x ≥ 0 with weights doubled.

    Exact for products of so many ``factors`` of each piece's own degree: two film functions and a stress function.
    """
    xs, ws = [], []
    for p, degree in enumerate(pieces.degrees):
        centre, half = _span(pieces, p)
        n = factors * degree // 2 + 1
        if pieces.mirrored and p == 0:
            g, w = gauss(n + n % 2)
            g, w = g[g > 0], w[g > 0]
        else:
            g, w = gauss(n)
        xs.append(centre + half * g)
        ws.append(half * w * (2.0 if pieces.mirrored else 1.0))
    return np.concatenate(xs), np.concatenate(ws)


@lru_cache(maxsize=256)
def _tip(degree: int, derivative: int, upper: bool) -> Array:
    """(degree+1,) a derivative of the Legendre polynomials at the upper or lower end of their own variable."""
    ones = np.ones(degree + 1 - derivative)
    if not upper:
        ones[1::2] = -1.0
    return ones @ _derived(degree, derivative)


@lru_cache(maxsize=64)
def _gram(degree: int, derivative: int) -> Array:
    """(degree+1, degree+1) integrals of products of a derivative of the Legendre polynomials over [-1, 1]."""
    d = _derived(degree, derivative)
    return np.asarray((d.T * (2.0 / (2.0 * np.arange(len(d)) + 1.0))) @ d)


_HELD: dict[End, tuple[int, ...]] = {"loose": (), "hinged": (0,), "clamped": (0, 1), "level": (1,)}


@lru_cache(maxsize=128)
def build(pieces: Pieces, parity: Parity, ends: tuple[End, End] = ("loose", "loose")) -> Basis1D:
    """All piecewise polynomials with two continuous derivatives that obey ``ends``, as beam modes.

    The functions are orthogonal in both the mean square and the curvature and scaled so that the sum of both is 1:
    the stiffness matrices made from them are well conditioned at any degree.
    """
    if len(pieces.degrees) > 1:
        coefficients, bends, half = *_modes(pieces, parity, ends), 1.0
    else:
        coefficients, bends = unit_modes(pieces.degrees[0], pieces.mirrored, parity, ends)
        half = _span(pieces, 0)[1]
    size = half + bends * half**-3
    return Basis1D(pieces, parity, tuple(c / np.sqrt(size) for c in coefficients), half / size)


@lru_cache(maxsize=128)
def unit_modes(
    degree: int, mirrored: bool, parity: Parity, ends: tuple[End, End]
) -> tuple[tuple[Array, ...], Array]:
    """The modes of a single piece of half-width 1: they are the same for every length, but for their scale."""
    return _modes(Pieces((0.0 if mirrored else -1.0, 1.0), (degree,), mirrored), parity, ends)


def _modes(pieces: Pieces, parity: Parity, ends: tuple[End, End]) -> tuple[tuple[Array, ...], Array]:
    """Modes of mean square 1: their coefficients in every piece, and the integral of each one's curvature squared."""
    full = _obeying(pieces, parity, ends)
    starts = _starts(pieces)
    raw = [full[a:b] for a, b in pairwise(starts)]
    mass, bend = np.zeros((2, full.shape[1], full.shape[1]))
    for p, (degree, c) in enumerate(zip(pieces.degrees, raw, strict=True)):
        half = _span(pieces, p)[1]
        sides = 2.0 if pieces.mirrored and p > 0 else 1.0
        mass += sides * half * (c.T @ _gram(degree, 0) @ c)
        bend += sides * half**-3 * (c.T @ _gram(degree, 2) @ c)
    values, vectors, failed = dsygv(bend, mass)
    if failed:
        raise NotConverged(f"film surface: no functions on {pieces}, so it did not converge")
    return tuple(c @ vectors for c in raw), np.maximum(values, 0.0)


def _starts(pieces: Pieces) -> list[int]:
    return [0, *accumulate(degree + 1 for degree in pieces.degrees)]


def _obeying(pieces: Pieces, parity: Parity, ends: tuple[End, End]) -> Array:
    """(all coefficients, n) independent combinations that join smoothly, obey the ends and have the parity."""
    degrees, starts = pieces.degrees, _starts(pieces)
    halves = [_span(pieces, p)[1] for p in range(len(degrees))]
    last = len(degrees) - 1
    tips = [(last, True, k) for k in _HELD[ends[1]]]
    if not pieces.mirrored:
        tips += [(0, False, k) for k in _HELD[ends[0]]]
    rows = np.zeros((CONTINUOUS_DERIVATIVES * last + len(tips), starts[-1]))
    joints = [(p, k) for p in range(last) for k in range(CONTINUOUS_DERIVATIVES)]
    for row, (p, k) in zip(rows, joints, strict=False):
        row[starts[p] : starts[p + 1]] = _tip(degrees[p], k, True)
        ratio = (halves[p] / halves[p + 1]) ** k
        row[starts[p + 1] : starts[p + 2]] = -ratio * _tip(degrees[p + 1], k, False)
    for row, (p, upper, k) in zip(rows[len(joints) :], tips, strict=True):
        row[starts[p] : starts[p + 1]] = _tip(degrees[p], k, upper)
    keep = np.ones(starts[-1], dtype=bool)
    if pieces.mirrored:
        keep[int(parity == "even") : starts[1] : 2] = False
    full = np.eye(starts[-1])[:, keep]
    if len(rows):  # they are independent, so the last right singular vectors span what obeys them
        rows /= np.sqrt((rows * rows).sum(axis=1, keepdims=True))
        full = full @ np.linalg.svd(rows[:, keep])[2][len(rows) :].T
    return full
