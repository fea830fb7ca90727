"""Piecewise polynomials in one direction, smooth where the film is smooth, with a kink in the shear where a lip ends.

The reaction of a ledge sits on the line where the lip ends; there the third derivative of the deflection jumps. One
polynomial per piece, joined with two continuous derivatives, catches that exactly and keeps the fast convergence of
high-order polynomials in the opening.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.polynomial import legendre
from scipy.linalg import eigh
from scipy.special import eval_legendre

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
    """Functions on a line: ``coefficients[p]`` is (degree+1, n) in the Legendre polynomials of piece p."""

    pieces: Pieces
    parity: Parity
    coefficients: tuple[Array, ...]

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
        left = x < 0
        if self.pieces.mirrored:
            x = np.abs(x)
        cuts = self.pieces.cuts
        if len(cuts) == 2 and x.size and x.min() >= cuts[0] and x.max() <= cuts[1] and not left.any():
            c = self.coefficients[0]
            return [values @ c for values in _piece_values(self.pieces, 0, x, derivatives)]
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
    v = np.asarray(eval_legendre(np.arange(degree + 1), ((x - centre) / half)[:, None]), dtype=np.float64)
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
def quadrature(pieces: Pieces, points_per_degree: float = 1.6) -> tuple[Array, Array]:
    """Gauss points and weights over the whole line; for a mirrored line the half x ≥ 0 with weights doubled."""
    xs, ws = [], []
    for p, degree in enumerate(pieces.degrees):
        centre, half = _span(pieces, p)
        n = max(3, int(np.ceil(points_per_degree * (degree + 1))))
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


def _end_rows(end: End) -> list[int]:
    return {"loose": [], "hinged": [0], "clamped": [0, 1], "level": [1]}[end]


@lru_cache(maxsize=128)
def build(pieces: Pieces, parity: Parity, ends: tuple[End, End] = ("loose", "loose")) -> Basis1D:
    """All piecewise polynomials with two continuous derivatives that obey ``ends``, as beam modes.

    The functions are orthogonal in both the mean square and the curvature and scaled so that the sum of both is 1:
    the stiffness matrices made from them are well conditioned at any degree.
    """
    degrees = pieces.degrees
    starts = np.concatenate([[0], np.cumsum(np.asarray(degrees) + 1)])
    halves = [_span(pieces, p)[1] for p in range(len(degrees))]
    rows: list[Array] = []
    for p in range(len(degrees) - 1):
        for k in range(CONTINUOUS_DERIVATIVES):
            row = np.zeros(starts[-1])
            row[starts[p] : starts[p + 1]] = _tip(degrees[p], k, True)
            row[starts[p + 1] : starts[p + 2]] = -((halves[p] / halves[p + 1]) ** k) * _tip(
                degrees[p + 1], k, False
            )
            rows.append(row / np.linalg.norm(row))
    last = len(degrees) - 1
    tips = [(last, True, ends[1])] + ([] if pieces.mirrored else [(0, False, ends[0])])
    for p, upper, end in tips:
        for k in _end_rows(end):
            row = np.zeros(starts[-1])
            row[starts[p] : starts[p + 1]] = _tip(degrees[p], k, upper)
            rows.append(row / np.linalg.norm(row))
    keep = np.ones(starts[-1], dtype=bool)
    if pieces.mirrored:
        keep[: degrees[0] + 1] = np.arange(degrees[0] + 1) % 2 == (0 if parity == "even" else 1)
    full = np.eye(starts[-1])[:, keep]
    if rows:  # they are independent, so the last right singular vectors span what obeys them
        full = full @ np.linalg.svd(np.asarray(rows)[:, keep])[2][len(rows) :].T
    raw = Basis1D(pieces, parity, tuple(full[starts[p] : starts[p + 1]] for p in range(len(degrees))))
    return _as_modes(raw)


def _as_modes(raw: Basis1D) -> Basis1D:
    mass, bend = np.zeros((raw.size, raw.size)), np.zeros((raw.size, raw.size))
    for p, (degree, c) in enumerate(zip(raw.pieces.degrees, raw.coefficients, strict=True)):
        half = _span(raw.pieces, p)[1]
        sides = 2.0 if raw.pieces.mirrored and p > 0 else 1.0
        mass += sides * half * (c.T @ _gram(degree, 0) @ c)
        bend += sides * half**-3 * (c.T @ _gram(degree, 2) @ c)
    values, vectors = eigh(bend, mass, check_finite=False)
    vectors = vectors / np.sqrt(1.0 + np.maximum(values, 0.0))
    return Basis1D(raw.pieces, raw.parity, tuple(c @ vectors for c in raw.coefficients))
