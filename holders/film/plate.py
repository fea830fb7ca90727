"""The energy of a thin plate with large deflections, its gradient and tangent, in one symmetry class.

Bending energy with natural curvature, plus membrane energy by the complementary principle (von Kármán): with N the
membrane forces from a stress function φ,

    U_m = max over φ of  ½ ∫ N_ij(φ) w,i w,j  -  1/(2Et) ∫ (φ,xx² + φ,yy² - 2ν φ,xx φ,yy + 2(1+ν) φ,xy²).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from holders.film.basis import Parity
from holders.film.layout import Outline
from holders.film.lines import Line, Sampled, contract, film_line, kron, pair
from holders.film.membrane import Stress, Triple
from holders.film.models import Array


@dataclass(frozen=True)
class Plate:
    """Matrices of one class. ``slopes`` (2q, n) maps the unknowns to (w,x ; w,y) at the quadrature points.

    ``bending`` is for ν, ``mass`` is ∫w²; ``moment_x``, ``moment_y`` are ∫(w,xx + ν w,yy) and
    ∫(w,yy + ν w,xx); ``load`` is ∫w. ``pairs_x``, ``pairs_y`` are products of two functions at
    the points. ``fit`` turns heights at the ``points`` into the unknowns of the nearest shape.
    """

    line_x: Line
    line_y: Line
    bending: Array
    mass: Array
    load: Array
    moment_x: Array
    moment_y: Array
    slopes: Array
    points: tuple[Array, Array]
    pairs_x: Triple
    pairs_y: Triple
    fit: Array

    @property
    def grid(self) -> tuple[int, int]:
        """Quadrature points along x and y."""
        return len(self.pairs_x[0]), len(self.pairs_y[0])

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
        return kron(self.line_x.at(x), self.line_y.at(y))


@lru_cache(maxsize=24)
def assemble(outline: Outline, poisson: float, class_x: Parity, class_y: Parity) -> Plate:
    """The matrices of one symmetry class; remembered, since one holder is asked for many films of one size."""
    x, y = film_line(outline.x, class_x), film_line(outline.y, class_y)

    def inner(f: Sampled, i: int, j: int) -> Array:
        return np.asarray(f.values[i].T @ (f.weights[:, None] * f.values[j]))

    mx = {(i, j): inner(x, i, j) for i, j in ((0, 0), (1, 1), (2, 2), (0, 2))}
    my = {(i, j): inner(y, i, j) for i, j in ((0, 0), (1, 1), (2, 2), (0, 2))}
    cross = kron(mx[0, 2].T, my[0, 2])
    bending = (
        kron(mx[2, 2], my[0, 0])
        + kron(mx[0, 0], my[2, 2])
        + poisson * (cross + cross.T)
        + 2 * (1 - poisson) * kron(mx[1, 1], my[1, 1])
    )
    ix = [x.weights @ f for f in x.values]
    iy = [y.weights @ f for f in y.values]
    wxx, wyy = kron(ix[2], iy[0]), kron(ix[0], iy[2])
    slopes = np.vstack([kron(x.values[1], y.values[0]), kron(x.values[0], y.values[1])])
    return Plate(
        line_x=x.line,
        line_y=y.line,
        bending=bending,
        mass=kron(mx[0, 0], my[0, 0]),
        load=kron(ix[0], iy[0]),
        moment_x=wxx + poisson * wyy,
        moment_y=wyy + poisson * wxx,
        slopes=slopes,
        points=(np.repeat(x.points, len(y.points)), np.tile(y.points, len(x.points))),
        pairs_x=(
            pair(x.values[0], x.values[0]),
            pair(x.values[1], x.values[1]),
            pair(x.values[1], x.values[0]),
        ),
        pairs_y=(
            pair(y.values[0], y.values[0]),
            pair(y.values[1], y.values[1]),
            pair(y.values[0], y.values[1]),
        ),
        fit=kron(*(np.asarray(np.linalg.pinv(f.values[0])) for f in (x, y))),
    )


@dataclass(frozen=True)
class State:
    """Energy, gradient and tangent at one shape, with the slopes and membrane forces it was made from."""

    energy: float
    gradient: Array
    tangent: Array
    slope: Array
    tension: Triple


@dataclass(frozen=True)
class Problem:
    """A plate with its load.

    ``stress`` are the stress modes of the same class, ``membrane`` is Et³/D, ``load_vector`` what is linear in w,
    ``misfit`` what a moulded shell's own shape takes from the membrane strain.
    """

    plate: Plate
    stress: Stress
    membrane: float
    load_vector: Array
    misfit: Array

    def state(self, c: Array) -> State:
        """Energy with its derivatives at the unknowns ``c``."""
        p = self.plate
        slope = p.slopes @ c
        rate = self.stress.rate(p.slopes, slope)
        strain = 0.5 * (rate @ c) - self.misfit
        linear = p.bending @ c
        energy = 0.5 * c @ linear - self.load_vector @ c + 0.5 * self.membrane * strain @ strain
        gradient = linear - self.load_vector + self.membrane * (strain @ rate)
        tension = self.stress.tension(strain)
        tangent = self.pulled(p, tension) + self.membrane * (rate.T @ rate)
        return State(float(energy), gradient, tangent, slope, tension)

    def energy(self, c: Array) -> float:
        """Energy alone."""
        p = self.plate
        strain = self.stress.strains(*np.split(p.slopes @ c, 2)) - self.misfit
        return float(0.5 * c @ (p.bending @ c) - self.load_vector @ c + 0.5 * self.membrane * strain @ strain)

    def pulled(self, other: Plate, tension: Triple) -> Array:
        """Tangent of the bending and of the membrane forces as they are, for disturbances of the class of ``other``.

        The change of the membrane forces adds to it (``stretched``), so where this is stable the whole is.
        """
        nx, ny, nxy = (n.reshape(other.grid) for n in tension)
        x00, x11, x10 = other.pairs_x
        y00, y11, y01 = other.pairs_y
        n_x, n_y = other.line_x.size, other.line_y.size
        shape = (n_x, n_x, n_y, n_y)
        shear = contract(x10, nxy, y01, shape)
        pull = contract(x11, nx, y00, shape) + contract(x00, ny, y11, shape) - shear - shear.T
        return np.asarray(other.bending + self.membrane * pull)

    def stretched(self, other: Plate, stress: Stress, slope: Array) -> Array:
        """What the change of the membrane forces adds to the tangent; ``stress`` are the modes of that class."""
        rate = stress.rate(other.slopes, slope)
        return np.asarray(self.membrane * (rate.T @ rate))
