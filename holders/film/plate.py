"""The energy of a thin plate with large deflections, its gradient and tangent, in one symmetry class.

Bending energy with natural curvature, plus membrane energy by the complementary principle (von Kármán): with N the
membrane forces from a stress function φ,

    U_m = max over φ of  ½ ∫ N_ij(φ) w,i w,j  -  1/(2Et) ∫ (φ,xx² + φ,yy² - 2ν φ,xx φ,yy + 2(1+ν) φ,xy²).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from holders.film.basis import Parity
from holders.film.layout import Outline
from holders.film.lines import Contraction, Line, Sampled, contraction, film_line, kron
from holders.film.membrane import Stress
from holders.film.models import Array


@dataclass(frozen=True)
class Plate:
    """Matrices of one class.

    ``bending`` is for ν, ``mass`` is ∫w²; ``moment_x``, ``moment_y`` are ∫(w,xx + ν w,yy) and
    ∫(w,yy + ν w,xx); ``load`` is ∫w. ``along_x``, ``along_y`` are the functions' values and slopes at the ``points``,
    ``pull`` the contraction of membrane forces with pairs of slopes. ``fit`` turns heights at the ``points`` into the
    unknowns of the nearest shape.
    """

    line_x: Line
    line_y: Line
    bending: Array
    mass: Array
    load: Array
    moment_x: Array
    moment_y: Array
    along_x: tuple[Array, Array]
    along_y: tuple[Array, Array]
    points: tuple[Array, Array]
    pull: Contraction

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return int(self.bending.shape[0])

    def slope(self, c: Array) -> Array:
        """(2, qx, qy) slopes (w,x and w,y) of the shape ``c`` at the quadrature points."""
        (x0, x1), (y0, y1) = self.along_x, self.along_y
        grid = c.reshape(x0.shape[1], -1)
        out = np.empty((2, len(x0), len(y0)))
        np.matmul(x1, grid @ y0.T, out=out[0])
        np.matmul(x0, grid @ y1.T, out=out[1])
        return out

    def heights(self, c: Array) -> Array:
        """(qx, qy) deflection of the shape ``c`` at the quadrature points."""
        (x0, _), (y0, _) = self.along_x, self.along_y
        return np.asarray(x0 @ (c.reshape(x0.shape[1], -1) @ y0.T))

    def fit(self, values: Array) -> Array:
        """Unknowns whose shape comes closest to values at the quadrature ``points``."""
        x, y = self._inverse
        return np.asarray((x @ values.reshape(x.shape[1], -1) @ y.T).ravel())

    @cached_property
    def _inverse(self) -> tuple[Array, Array]:
        return np.asarray(np.linalg.pinv(self.along_x[0])), np.asarray(np.linalg.pinv(self.along_y[0]))

    def slopes(self) -> tuple[Array, Array]:
        """(q, n) each: the maps from the unknowns to w,x and to w,y at the quadrature points."""
        (x0, x1), (y0, y1) = self.along_x, self.along_y
        return kron(x1, y0), kron(x0, y1)

    def rows(self, x: Array, y: Array) -> Array:
        """(len(x), n) values of the functions at points."""
        fx, fy = self.line_x.at(x), self.line_y.at(y)
        return np.asarray((fx[:, :, None] * fy[:, None, :]).reshape(len(x), self.size))


@lru_cache(maxsize=48)
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
    (x0, x1, _), (y0, y1, _) = x.values, y.values
    return Plate(
        line_x=x.line,
        line_y=y.line,
        bending=bending,
        mass=kron(mx[0, 0], my[0, 0]),
        load=kron(ix[0], iy[0]),
        moment_x=wxx + poisson * wyy,
        moment_y=wyy + poisson * wxx,
        along_x=(x0, x1),
        along_y=(y0, y1),
        points=(np.repeat(x.points, len(y.points)), np.tile(y.points, len(x.points))),
        pull=contraction(((x1, x1, y0, y0), (x0, x0, y1, y1), (x1, x0, y0, y1), (x0, x1, y1, y0))),
    )


@dataclass(frozen=True)
class State:
    """Energy and gradient at one shape, with the slopes and membrane strains they were made from.

    ``rate`` (m, n) is the derivative of the strain measures with respect to the unknowns.
    """

    energy: float
    gradient: Array
    slope: Array
    rate: Array
    strain: Array


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
        """Energy and gradient at the unknowns ``c``."""
        slope = self.plate.slope(c)
        rate = self.stress.rate(self.plate, slope)
        strain = 0.5 * (rate @ c) - self.misfit
        out = self.plate.bending @ c
        energy = c @ (0.5 * out - self.load_vector) + 0.5 * self.membrane * (strain @ strain)
        out -= self.load_vector
        out += (self.membrane * strain) @ rate
        return State(float(energy), out, slope, rate, strain)

    def tangent(self, here: State) -> Array:
        """(n, n) second derivative of the energy."""
        return self.pulled(self.plate, here) + self.membrane * (here.rate.T @ here.rate)

    def energy(self, c: Array) -> float:
        """Energy alone."""
        strain = self.stress.strains(self.plate.slope(c)) - self.misfit
        bent = 0.5 * (self.plate.bending @ c) - self.load_vector
        return float(c @ bent + 0.5 * self.membrane * (strain @ strain))

    def pulled(self, other: Plate, here: State) -> Array:
        """Tangent of the bending and of the membrane forces as they are, for disturbances of the class of ``other``.

        The change of the membrane forces adds to it (``stretched``), so where this is stable the whole is.
        """
        nx, ny, nxy = self.stress.tension(self.membrane * here.strain)
        return np.asarray(other.bending + other.pull.of((nx, ny, nxy, nxy)))

    def stretched(self, other: Plate, stress: Stress, here: State) -> Array:
        """What the change of the membrane forces adds to the tangent; ``stress`` are the modes of that class."""
        rate = stress.rate(other, here.slope)
        return np.asarray(self.membrane * (rate.T @ rate))
