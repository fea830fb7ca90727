"""Stress functions that satisfy the edge condition in the plane, as modes of the complementary energy.

The edge condition is only a matter of which φ are allowed (``layout``): φ = φ,n = 0 leaves the edge free, φ,n = 0
keeps it straight without mean load, φ,n = 0 and uniform tension allowed holds it, every φ fixes it. Between two free
edges a sheet fixed at its ends also carries a pull, a bending moment and a shear in its plane (``_EXTRAS``).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Protocol

import numpy as np
from scipy.linalg import eigh

from holders.film.basis import Parity
from holders.film.layout import Axis, Outline
from holders.film.lines import Contraction, contraction, derivatives, film_line, kron, stress_line
from holders.film.models import Array

RANK_CUT = 1e-11
Triple = tuple[Array, Array, Array]


class Slopes(Protocol):
    """What the rate of strain needs of a plate where there are stress functions beyond the tensor product."""

    def slopes(self) -> tuple[Array, Array]:
        """(q, n) each: the maps from the unknowns to w,x and to w,y at the quadrature points."""
        ...


@dataclass(frozen=True)
class Stress:
    """Stress modes of one class at the film's quadrature points, orthonormal in the complementary energy.

    ``along_x``, ``along_y`` are the stress functions' values and two derivatives at the points, ``weights`` (qx, qy)
    those of the quadrature. ``products`` pairs stress functions with film functions as the strain rate wants them,
    ``modes`` are the combinations of tensor products, ``extra_modes`` and ``extras`` (φ,yy φ,xx φ,xy, weighted) those
    of the functions beyond them.
    """

    along_x: Triple
    along_y: Triple
    weights: Array
    products: Contraction
    modes: Array
    extra_modes: Array
    extras: Triple

    @property
    def size(self) -> int:
        """Number of modes."""
        return int(self.modes.shape[1])

    def strains(self, slope: Array) -> Array:
        """(m,) membrane strain measures of a shape with these slopes (2, qx, qy), ½ ∫ N_ij w,i w,j for each mode."""
        (p0, p1, p2), (r0, r1, r2) = self.along_x, self.along_y
        u, v = slope
        x, y = self.weights * u, self.weights * v
        tensor = 0.5 * (p0.T @ ((x * u) @ r2) + p2.T @ ((y * v) @ r0)) - p1.T @ ((x * v) @ r1)
        out = tensor.ravel() @ self.modes
        if self.extra_modes.size:
            yy, xx, xy = self.extras
            more = 0.5 * ((u * u).ravel() @ yy + (v * v).ravel() @ xx) - (u * v).ravel() @ xy
            out += more @ self.extra_modes
        return np.asarray(out)

    def tension(self, strain: Array) -> Triple:
        """Membrane forces (N_x, N_y, N_xy) at the points for strains, weighted, (qx, qy) each."""
        (p0, p1, p2), (r0, r1, r2) = self.along_x, self.along_y
        phi = (self.modes @ strain).reshape(p0.shape[1], -1)
        parts = p0 @ (phi @ r2.T), p2 @ (phi @ r0.T), p1 @ (phi @ r1.T)
        yy, xx, xy = (self.weights * part for part in parts)
        if self.extra_modes.size:
            more = self.extra_modes @ strain
            yy, xx, xy = (
                part + (extra @ more).reshape(part.shape)
                for part, extra in zip((yy, xx, xy), self.extras, strict=True)
            )
        return yy, xx, -xy

    def rate(self, plate: Slopes, slope: Array) -> Array:
        """(m, n) derivative of the strain measures with respect to the unknowns, at the shape of ``slope``.

        ``plate`` maps the unknowns to their slopes; only the extra functions need it.
        """
        x, y = self.weights * slope
        out = self.modes.T @ self.products.of((x, -y, y, -x))
        if self.extra_modes.size:
            yy, xx, xy = self.extras
            u, v = slope.reshape(2, -1, 1)
            by_x, by_y = plate.slopes()
            out += self.extra_modes.T @ ((yy * u - xy * v).T @ by_x + (xx * v - xy * u).T @ by_y)
        return np.asarray(out)


def _extra_jet(name: str, x: Array, half: float) -> Triple:
    """A one-dimensional factor beyond the tensor product, with two derivatives, (len(x), 1) each."""
    u = x[:, None] / half
    one, zero = np.ones_like(u), np.zeros_like(u)
    table = {
        "1": (one, zero, zero),
        "1st": (u, one, zero),
        "2nd": (u**2, 2 * u, 2 * one),
        "3rd": (u**3 - 3 * u, 3 * u**2 - 3, 6 * u),
    }
    value, first, second = table[name]
    return value, first / half, second / half**2


_EXTRAS: dict[str, tuple[str, str, Parity, Parity]] = {
    "x2": ("2nd", "1", "even", "even"),
    "y2": ("1", "2nd", "even", "even"),
    "x3": ("3rd", "1", "odd", "even"),
    "y3": ("1", "3rd", "even", "odd"),
    "x3y": ("3rd", "1st", "odd", "odd"),
    "xy3": ("1st", "3rd", "odd", "odd"),
}


@lru_cache(maxsize=48)
def stress_modes(outline: Outline, poisson: float, class_x: Parity, class_y: Parity) -> Stress:
    """The stress modes of one class; remembered like the plate's matrices."""
    ax, ay = outline.x, outline.y
    sx, sy = stress_line(ax, class_x), stress_line(ay, class_y)
    fx, fy = film_line(ax, class_x), film_line(ay, class_y)
    extras = [
        _EXTRAS[e]
        for e in outline.stress_extras
        if _fits(_EXTRAS[e][2], class_x, ax) and _fits(_EXTRAS[e][3], class_y, ay)
    ]

    def tensor(x: Triple, y: Triple) -> Triple:
        return kron(x[0], y[2]), kron(x[2], y[0]), kron(x[1], y[1])

    def beyond(px: Array, py: Array) -> Triple:
        none = np.empty((len(px) * len(py), 0))
        parts: list[Triple] = [(none, none, none)]
        for name_x, name_y, _, _ in extras:
            ex = _extra_jet(name_x, px, ax.half)
            parts.append(tensor(ex, _extra_jet(name_y, py, ay.half)))
        yy, xx, xy = (np.hstack(p) for p in zip(*parts, strict=True))
        return yy, xx, xy

    def both(one: Triple, more: Triple) -> Triple:
        yy, xx, xy = (np.hstack(p) for p in zip(one, more, strict=True))
        return yy, xx, xy

    energies = both(tensor(sx.values, sy.values), beyond(sx.points, sy.points))
    modes = _orthonormal(*energies, kron(sx.weights, sy.weights), poisson)
    p, r = derivatives(sx.line, fx.points), derivatives(sy.line, fy.points)
    here = kron(fx.weights, fy.weights)[:, None]
    outside = beyond(fx.points, fy.points)
    (x0, x1, _), (y0, y1, _) = fx.values, fy.values
    count = p[0].shape[1] * r[0].shape[1]
    return Stress(
        along_x=p,
        along_y=r,
        weights=np.outer(fx.weights, fy.weights),
        products=contraction(
            ((p[0], x1, r[2], y0), (p[1], x1, r[1], y0), (p[2], x0, r[0], y1), (p[1], x0, r[1], y1))
        ),
        modes=modes[:count],
        extra_modes=modes[count:],
        extras=(here * outside[0], here * outside[1], here * outside[2]),
    )


def _orthonormal(yy: Array, xx: Array, xy: Array, w: Array, poisson: float) -> Array:
    """(n, m) combinations whose complementary energy is the unit matrix; those without energy are left out."""
    w = w[:, None]
    energy = xx.T @ (w * xx) + yy.T @ (w * yy) + 2 * (1 + poisson) * (xy.T @ (w * xy))
    cross = xx.T @ (w * yy)
    energy -= poisson * (cross + cross.T)
    own = np.diag(energy)
    scale = 1.0 / np.sqrt(np.maximum(own, 1e-300))
    scale[own < RANK_CUT * own.max()] = 0.0
    values, vectors = eigh(energy * np.outer(scale, scale))
    keep = values > RANK_CUT * values[-1]
    return np.asarray(scale[:, None] * vectors[:, keep] / np.sqrt(values[keep]))


def _fits(parity: Parity, wanted: Parity, axis: Axis) -> bool:
    return wanted in ("none", parity) or not axis.symmetric
