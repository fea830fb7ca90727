"""Stress functions that satisfy the edge condition in the plane, as modes of the complementary energy.

The edge condition is only a matter of which φ are allowed (``layout``): φ = φ,n = 0 leaves the edge free, φ,n = 0
keeps it straight without mean load, φ,n = 0 and uniform tension allowed holds it, every φ fixes it. Between two free
edges a sheet fixed at its ends also carries a pull, a bending moment and a shear in its plane (``_EXTRAS``).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Protocol

import numpy as np
from scipy.linalg.lapack import dpotrf, dtrtri

from holders.core.errors import NotConverged
from holders.film.models import Array
from holders.film.solver.basis import Parity
from holders.film.solver.grid import Axis, Outline
from holders.film.solver.lines import (
    Contraction,
    Sampled,
    contraction,
    curved,
    derivatives,
    film_line,
    kron,
    pair,
    stress_line,
)

RANK_CUT = 1e-11
SHARES = 0.5, 0.5, -1.0  # of φ,yy φ,xx φ,xy in ½N_x, ½N_y, N_xy
MOST_COUPLED = 20_000
DEPENDENT = 1e-6  # of its own energy; ours keep three quarters and more
Triple = tuple[Array, Array, Array]


class Slopes(Protocol):
    """What the rate of strain needs of a plate where there are stress functions beyond the tensor product."""

    def slopes(self) -> tuple[Array, Array]:
        """(q, n) each: the maps from the unknowns to w,x and to w,y at the quadrature points."""
        ...


@dataclass(frozen=True)
class Stress:
    """Stress modes of one class at the film's quadrature points, orthonormal in the complementary energy.

    ``along_x`` (3, qx, i), ``along_y`` (3, qy, a) are the stress functions' derivatives that make ½N_x, ½N_y and N_xy
    at the points, weighted. ``products`` pairs stress functions with film functions as the strain rate wants them,
    ``modes`` are the combinations of tensor products, ``extra_modes`` and ``extras`` (φ,yy φ,xx φ,xy, weighted) those
    of the functions beyond them. ``coupled`` (m, n, n), where it is small enough to be worth its making, is what the
    strain rate is linear in: rate(c) = coupled · c.
    """

    along_x: Array
    along_y: Array
    products: Contraction
    modes: Array
    extra_modes: Array
    extras: Triple
    coupled: Array | None

    @property
    def size(self) -> int:
        """Number of modes."""
        return int(self.modes.shape[1])

    def strains(self, slope: Array) -> Array:
        """(m,) membrane strain measures of a shape with these slopes (2, qx, qy), ½ ∫ N_ij w,i w,j for each mode."""
        u, v = slope
        pairs = np.stack((u * u, v * v, u * v))
        tensor = (self.along_x.transpose(0, 2, 1) @ (pairs @ self.along_y)).sum(axis=0)
        out = tensor.ravel() @ self.modes
        if self.extra_modes.size:
            yy, xx, xy = self.extras
            uu, vv, uv = pairs.reshape(3, -1)
            out += (0.5 * (uu @ yy + vv @ xx) - uv @ xy) @ self.extra_modes
        return np.asarray(out)

    def tension(self, strain: Array) -> Array:
        """(3, qx, qy) membrane forces ½N_x, ½N_y, N_xy at the points for strains, weighted."""
        phi = (self.modes @ strain).reshape(self.along_x.shape[2], -1)
        out = self.along_x @ (phi @ self.along_y.transpose(0, 2, 1))
        if self.extra_modes.size:
            more = self.extra_modes @ strain
            out += np.stack(
                [
                    share * (extra @ more).reshape(out[0].shape)
                    for extra, share in zip(self.extras, SHARES, strict=True)
                ]
            )
        return np.asarray(out)

    def rate(self, plate: Slopes, slope: Array) -> Array:
        """(m, n) derivative of the strain measures with respect to the unknowns, at the shape of ``slope``.

        ``plate`` maps the unknowns to their slopes; only the extra functions need it.
        """
        out = self.modes.T @ self.products.of(slope)
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

    # the extra functions are products too: they are carried along in both directions, and those pairs picked out
    more_x = [_extra_jet(name, sx.points, ax.half) for name, _, _, _ in extras]
    more_y = [_extra_jet(name, sy.points, ay.half) for _, name, _, _ in extras]
    nx, ny = sx.line.size, sy.line.size
    energy = curved(_widened(sx, more_x).inner, _widened(sy, more_y).inner, -poisson)
    if extras:
        wide = ny + len(extras)
        picked = [i * wide + j for i in range(nx) for j in range(ny)]
        picked += [(nx + k) * wide + ny + k for k in range(len(extras))]
        energy = energy[np.ix_(picked, picked)]
    modes = _orthonormal(energy)
    (x0, x1, _), (y0, y1, _) = fx.values, fy.values
    wx, wy = fx.weights[:, None], fy.weights[:, None]
    p0, p1, p2 = (wx * v for v in derivatives(sx.line, fx.points))
    r0, r1, r2 = (wy * v for v in derivatives(sy.line, fy.points))
    outside = [
        _weighted(wx, wy, _extra_jet(name_x, fx.points, ax.half), _extra_jet(name_y, fy.points, ay.half))
        for name_x, name_y, _, _ in extras
    ]
    p1x0, p1x1, r1y0, r1y1 = pair(-p1, x0), pair(-p1, x1), pair(r1, y0), pair(r1, y1)
    by_u = (pair(p0, x1), pair(r2, y0)), (p1x0, r1y1)
    by_v = (p1x1, r1y0), (pair(p2, x0), pair(r0, y1))
    count = nx * ny
    coupled = None
    if not extras and modes.shape[1] * (fx.line.size * fy.line.size) ** 2 <= MOST_COUPLED:
        coupled = _coupled(modes, (p0, p1, p2), (r0, r1, r2), fx, fy)
    return Stress(
        along_x=np.stack((0.5 * p0, 0.5 * p2, -p1)),
        along_y=np.stack((r2, r0, r1)),
        products=contraction((by_u, by_v), (nx, fx.line.size, ny, fy.line.size)),
        modes=modes[:count],
        extra_modes=modes[count:],
        extras=_stacked(outside, len(wx) * len(wy)),
        coupled=coupled,
    )


def _coupled(modes: Array, p: Triple, r: Triple, fx: Sampled, fy: Sampled) -> Array:
    """(m, n, n) second derivatives of the strain measures; ``p``, ``r`` are the stress functions' along x and y."""
    (x00, x11, x10), (y00, y11, y10) = fx.pairs, fy.pairs
    i, j, a, b = p[0].shape[1], fx.line.size, r[0].shape[1], fy.line.size

    def product(f: Array, xx: Array, g: Array, yy: Array) -> Array:
        x, y = (f.T @ xx).reshape(i, 1, j, 1, j, 1), (g.T @ yy).reshape(1, a, 1, b, 1, b)
        return np.asarray((x * y).reshape(i * a, j * b, j * b))

    cross = product(p[1], x10, r[1], y10.reshape(-1, b, b).transpose(0, 2, 1).reshape(y10.shape))
    raw = product(p[0], x11, r[2], y00) + product(p[2], x00, r[0], y11) - cross - cross.transpose(0, 2, 1)
    return np.asarray((modes.T @ raw.reshape(i * a, -1)).reshape(-1, j * b, j * b))


def _widened(line: Sampled, more: list[Triple]) -> Sampled:
    """The same with more functions."""
    if not more:
        return line
    value, first, second = (np.hstack(k) for k in zip(line.values, *more, strict=True))
    return replace(line, values=(value, first, second))


def _weighted(wx: Array, wy: Array, x: Triple, y: Triple) -> Triple:
    """φ,yy φ,xx φ,xy (q, 1) of one product at the points, weighted."""
    w = kron(wx, wy)
    return w * kron(x[0], y[2]), w * kron(x[2], y[0]), w * kron(x[1], y[1])


def _stacked(several: list[Triple], points: int) -> Triple:
    none = np.empty((points, 0))
    yy, xx, xy = (np.hstack(k) for k in zip((none, none, none), *several, strict=True))
    return yy, xx, xy


def _orthonormal(energy: Array) -> Array:
    """(n, m) combinations whose complementary energy is the unit matrix; functions without energy are left out."""
    own = np.diag(energy)
    keep = own >= RANK_CUT * own.max()
    scale = 1.0 / np.sqrt(own[keep])
    scaled = energy[np.ix_(keep, keep)] * np.outer(scale, scale)
    factor, failed = dpotrf(scaled, lower=1)
    if failed or np.diag(factor).min() ** 2 < DEPENDENT:
        raise NotConverged(
            "film surface: stress functions that depend on one another, so it did not converge"
        )
    modes = np.zeros((len(own), len(scale)))
    modes[keep] = scale[:, None] * dtrtri(factor, lower=1)[0].T
    return modes


def _fits(parity: Parity, wanted: Parity, axis: Axis) -> bool:
    return wanted in ("none", parity) or not axis.symmetric
