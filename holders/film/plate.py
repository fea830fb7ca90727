"""The energy of a thin plate with large deflections, its gradient and tangent, in one symmetry class.

Bending energy with natural curvature, plus membrane energy by the complementary principle (von Kármán): with N the
membrane forces from a stress function φ,

    U_m = max over φ of  ½ ∫ N_ij(φ) w,i w,j  -  1/(2Et) ∫ (φ,xx² + φ,yy² - 2ν φ,xx φ,yy + 2(1+ν) φ,xy²).

The edge condition in the plane is only a matter of which φ are allowed (``layout``): φ = φ,n = 0 leaves the edge free,
φ,n = 0 keeps it straight without mean load, φ,n = 0 and uniform tension allowed holds it, every φ fixes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.linalg import eigh

from holders.film.basis import Basis1D, Parity, build, quadrature
from holders.film.layout import Axis, Outline
from holders.film.models import Array

RANK_CUT = 1e-11


@dataclass(frozen=True)
class Grid:
    """Quadrature of one direction: points and weights, the half line where the class is of one parity."""

    points: Array
    weights: Array


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
class Plate:
    """Matrices of one class. ``slopes`` (2q, n) maps the unknowns to (w,x ; w,y) at the quadrature points.

    ``stress`` holds φ,yy φ,xx and φ,xy (q, m) of modes that are orthonormal in the complementary energy, weights
    included. ``bending`` is for ν, ``mass`` is ∫w²; ``moment_x``, ``moment_y`` are ∫(w,xx + ν w,yy) and
    ∫(w,yy + ν w,xx); ``load`` is ∫w. ``fit`` turns heights at the ``points`` into the unknowns of the nearest shape.
    """

    line_x: Line
    line_y: Line
    bending: Array
    mass: Array
    load: Array
    moment_x: Array
    moment_y: Array
    slopes: Array
    stress: tuple[Array, Array, Array]
    points: tuple[Array, Array]
    fit: Array

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return int(self.bending.shape[0])

    def rows(self, x: Array, y: Array) -> Array:
        """(len(x), n) values of the functions at points."""
        fx, fy = self.line_x.at(x), self.line_y.at(y)
        return np.asarray((fx[:, :, None] * fy[:, None, :]).reshape(len(x), self.size))

    def on_grid(self, x: Array, y: Array, c: Array) -> Array:
        """(len(y), len(x)) heights of the shape ``c`` on a grid."""
        return np.asarray(self.line_y.at(y) @ c.reshape(self.line_x.size, -1).T @ self.line_x.at(x).T)

    def grid_rows(self, x: Array, y: Array) -> Array:
        """``rows`` at all points of a grid, y running fastest."""
        return np.asarray(np.kron(self.line_x.at(x), self.line_y.at(y)))


def parities(axis: Axis, wanted: Parity) -> tuple[Parity, ...]:
    """Which mirrored bases make up the class ``wanted`` (``none``: both)."""
    if not axis.symmetric:
        return ("none",)
    return ("even", "odd") if wanted == "none" else (wanted,)


def _grid(axis: Axis, wanted: Parity) -> Grid:
    x, w = quadrature(axis.pieces)
    if axis.symmetric and wanted == "none":
        return Grid(np.concatenate([-x[::-1], x]), np.concatenate([w[::-1], w]) / 2)
    return Grid(x, w)


def _line(axis: Axis, wanted: Parity) -> Line:
    return Line(tuple(build(axis.pieces, p, axis.film_ends) for p in parities(axis, wanted)))


@lru_cache(maxsize=24)
def assemble(outline: Outline, poisson: float, class_x: Parity, class_y: Parity) -> Plate:
    """The matrices of one symmetry class; remembered, since one holder is asked for many films of one size."""
    gx, gy = _grid(outline.x, class_x), _grid(outline.y, class_y)
    lx, ly = _line(outline.x, class_x), _line(outline.y, class_y)
    fx = [lx.at(gx.points, k) for k in range(3)]
    fy = [ly.at(gy.points, k) for k in range(3)]

    def inner(f: list[Array], g: Grid, i: int, j: int) -> Array:
        return np.asarray(f[i].T @ (g.weights[:, None] * f[j]))

    mx = {(i, j): inner(fx, gx, i, j) for i, j in ((0, 0), (1, 1), (2, 2), (0, 2))}
    my = {(i, j): inner(fy, gy, i, j) for i, j in ((0, 0), (1, 1), (2, 2), (0, 2))}
    cross = np.kron(mx[0, 2].T, my[0, 2])
    bending = (
        np.kron(mx[2, 2], my[0, 0])
        + np.kron(mx[0, 0], my[2, 2])
        + poisson * (cross + cross.T)
        + 2 * (1 - poisson) * np.kron(mx[1, 1], my[1, 1])
    )
    ix = [gx.weights @ f for f in fx]
    iy = [gy.weights @ f for f in fy]
    wxx, wyy = np.kron(ix[2], iy[0]), np.kron(ix[0], iy[2])
    slopes = np.vstack([np.kron(fx[1], fy[0]), np.kron(fx[0], fy[1])])
    return Plate(
        line_x=lx,
        line_y=ly,
        bending=bending,
        mass=np.asarray(np.kron(mx[0, 0], my[0, 0])),
        load=np.asarray(np.kron(ix[0], iy[0])),
        moment_x=wxx + poisson * wyy,
        moment_y=wyy + poisson * wxx,
        slopes=slopes,
        stress=_stress(outline, poisson, (class_x, class_y), gx, gy),
        points=(np.repeat(gx.points, len(gy.points)), np.tile(gy.points, len(gx.points))),
        fit=np.kron(np.linalg.pinv(fx[0]), np.linalg.pinv(fy[0])),
    )


def _extra(name: str, x: Array, half: float, k: int) -> Array:
    """One-dimensional factors beyond the tensor product; ``half`` scales, ``k`` is the derivative."""
    u = x / half
    one, zero = np.ones_like(u), np.zeros_like(u)
    table = {
        "1": (one, zero, zero),
        "1st": (u, one, zero),
        "2nd": (u**2, 2 * u, 2 * one),
        "3rd": (u**3 - 3 * u, 3 * u**2 - 3, 6 * u),
    }
    return np.asarray(table[name][k] / half**k)


_EXTRAS: dict[str, tuple[str, str, Parity, Parity]] = {
    "x2": ("2nd", "1", "even", "even"),
    "y2": ("1", "2nd", "even", "even"),
    "x3": ("3rd", "1", "odd", "even"),
    "y3": ("1", "3rd", "even", "odd"),
    "x3y": ("3rd", "1st", "odd", "odd"),
    "xy3": ("1st", "3rd", "odd", "odd"),
}


def _stress(
    outline: Outline, poisson: float, classes: tuple[Parity, Parity], gx: Grid, gy: Grid
) -> tuple[Array, Array, Array]:
    """φ,yy, φ,xx, φ,xy at the quadrature points, weighted, for modes orthonormal in the complementary energy."""
    ax, ay = outline.x, outline.y
    bx = Line(tuple(build(ax.stress_pieces, p, ax.stress_ends) for p in parities(ax, classes[0])))
    by = Line(tuple(build(ay.stress_pieces, p, ay.stress_ends) for p in parities(ay, classes[1])))
    extras = [
        _EXTRAS[e]
        for e in outline.stress_extras
        if _fits(_EXTRAS[e][2], classes[0], ax) and _fits(_EXTRAS[e][3], classes[1], ay)
    ]

    def fields(px: Array, py: Array) -> list[Array]:
        x, y = [bx.at(px, k) for k in range(3)], [by.at(py, k) for k in range(3)]
        out = [np.asarray(np.kron(x[i], y[j])) for i, j in ((0, 2), (2, 0), (1, 1))]
        for name_x, name_y, _, _ in extras:
            ex = [_extra(name_x, px, ax.half, k)[:, None] for k in range(3)]
            ey = [_extra(name_y, py, ay.half, k)[:, None] for k in range(3)]
            more = [np.kron(ex[0], ey[2]), np.kron(ex[2], ey[0]), np.kron(ex[1], ey[1])]
            out = [np.hstack([o, m]) for o, m in zip(out, more, strict=True)]
        return out

    (qx, wx), (qy, wy) = _stress_grid(ax, classes[0]), _stress_grid(ay, classes[1])
    yy, xx, xy = fields(qx, qy)
    w = np.kron(wx, wy)[:, None]
    energy = xx.T @ (w * xx) + yy.T @ (w * yy) + 2 * (1 + poisson) * (xy.T @ (w * xy))
    cross = xx.T @ (w * yy)
    energy -= poisson * (cross + cross.T)
    scale = 1.0 / np.sqrt(np.maximum(np.diag(energy), 1e-300))
    scale[np.diag(energy) < RANK_CUT * np.max(np.diag(energy))] = 0.0
    values, vectors = eigh(energy * np.outer(scale, scale))
    keep = values > RANK_CUT * values[-1]
    modes = scale[:, None] * vectors[:, keep] / np.sqrt(values[keep])
    here = np.kron(gx.weights, gy.weights)[:, None]
    yy, xx, xy = fields(gx.points, gy.points)
    return here * (yy @ modes), here * (xx @ modes), here * (xy @ modes)


def _fits(parity: Parity, wanted: Parity, axis: Axis) -> bool:
    return wanted in ("none", parity) or not axis.symmetric


def _stress_grid(axis: Axis, wanted: Parity) -> tuple[Array, Array]:
    x, w = quadrature(axis.stress_pieces, 1.1)
    if axis.symmetric and wanted == "none":
        return np.concatenate([-x[::-1], x]), np.concatenate([w[::-1], w]) / 2
    return x, w


@dataclass(frozen=True)
class State:
    """Energy, gradient and tangent at one shape, with the slopes and membrane forces it was made from."""

    energy: float
    gradient: Array
    tangent: Array
    slope: Array
    tension: tuple[Array, Array, Array]


@dataclass(frozen=True)
class Problem:
    """A plate with its load: ``membrane`` is Et³/D, ``load_vector`` what is linear in w, ``misfit`` see Plate."""

    plate: Plate
    membrane: float
    load_vector: Array
    misfit: Array

    def state(self, c: Array, want_tangent: bool = True) -> State:
        """Energy with its derivatives at the unknowns ``c``."""
        p = self.plate
        slope = p.slopes @ c
        jac = _strain_rate(p, slope)
        strain = 0.5 * (jac @ c) - self.misfit
        linear = p.bending @ c
        energy = 0.5 * c @ linear - self.load_vector @ c + 0.5 * self.membrane * strain @ strain
        gradient = linear - self.load_vector + self.membrane * (strain @ jac)
        tension = tuple(s @ strain for s in p.stress)
        tangent = np.empty((0, 0))
        if want_tangent:
            tangent = self.tangent_in(p, slope, tension, jac)  # type: ignore[arg-type]
        return State(float(energy), gradient, tangent, slope, tension)  # type: ignore[arg-type]

    def energy(self, c: Array) -> float:
        """Energy alone."""
        p = self.plate
        strain = 0.5 * (_strain_rate_product(p, p.slopes @ c)) - self.misfit
        return float(0.5 * c @ (p.bending @ c) - self.load_vector @ c + 0.5 * self.membrane * strain @ strain)

    def tangent_in(
        self, other: Plate, slope: Array, tension: tuple[Array, Array, Array], jac: Array | None = None
    ) -> Array:
        """Second derivative at this shape for disturbances of the class of ``other`` (same quadrature points)."""
        if jac is None:
            jac = _strain_rate(other, slope)
        q = len(slope) // 2
        bx, by = other.slopes[:q], other.slopes[q:]
        nx, ny, nxy = (n[:, None] for n in tension)
        pull = np.vstack([nx * bx - nxy * by, ny * by - nxy * bx])
        return np.asarray(other.bending + self.membrane * (other.slopes.T @ pull + jac.T @ jac))


def _strain_rate(p: Plate, slope: Array) -> Array:
    """(m, n) first derivative of the membrane strain measures with respect to the unknowns."""
    q = len(slope) // 2
    wx, wy = slope[:q, None], slope[q:, None]
    yy, xx, xy = p.stress
    return np.asarray((yy * wx - xy * wy).T @ p.slopes[:q] + (xx * wy - xy * wx).T @ p.slopes[q:])


def _strain_rate_product(p: Plate, slope: Array) -> Array:
    """``_strain_rate(p, slope) @ c`` where ``slope = p.slopes @ c``, without the matrix."""
    q = len(slope) // 2
    wx, wy = slope[:q], slope[q:]
    yy, xx, xy = p.stress
    return np.asarray(yy.T @ (wx * wx) + xx.T @ (wy * wy) - 2 * (xy.T @ (wx * wy)))
