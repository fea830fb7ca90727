"""The energy of a thin plate with large deflections, its gradient and tangent, in one symmetry class.

Bending energy with natural curvature, plus membrane energy by the complementary principle (von Kármán): with N the
membrane forces from a stress function φ,

    U_m = max over φ of  ½ ∫ N_ij(φ) w,i w,j  -  1/(2Et) ∫ (φ,xx² + φ,yy² - 2ν φ,xx φ,yy + 2(1+ν) φ,xy²).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from holders.film.models import Array
from holders.film.solver.basis import Parity
from holders.film.solver.grid import Outline
from holders.film.solver.lines import Contraction, Sampled, contraction, curved, film_line, kron
from holders.film.solver.membrane import Stress


@dataclass(frozen=True)
class Plate:
    """Matrices of one class.

    ``bending`` is for ν, ``mass`` is ∫w²; ``pull`` is the contraction of (½N_x, ½N_y, N_xy) with pairs of slopes; it
    and its transpose make the tangent. ``fit`` turns heights at the ``points`` into the unknowns of the nearest shape.
    """

    x: Sampled
    y: Sampled
    poisson: float
    bending: Array
    mass: Array
    pull: Contraction

    @cached_property
    def integrals(self) -> tuple[Array, Array, Array]:
        """∫w, ∫(w,xx + ν w,yy) and ∫(w,yy + ν w,xx) of the functions."""
        ix, iy = ([one.weights @ f for f in one.values] for one in (self.x, self.y))
        wxx, wyy = kron(ix[2], iy[0]), kron(ix[0], iy[2])
        return kron(ix[0], iy[0]), wxx + self.poisson * wyy, wyy + self.poisson * wxx

    @property
    def load(self) -> Array:
        """∫w of the functions."""
        return self.integrals[0]

    @cached_property
    def points(self) -> tuple[Array, Array]:
        """All quadrature points as x and y, y running fastest."""
        x, y = self.x.points, self.y.points
        return np.repeat(x, len(y)), np.tile(y, len(x))

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return int(self.bending.shape[0])

    def slope(self, c: Array) -> Array:
        """(2, qx, qy) slopes (w,x and w,y) of the shape ``c`` at the quadrature points."""
        (x0, x1, _), (y0, y1, _) = self.x.values, self.y.values
        grid = c.reshape(x0.shape[1], -1)
        out = np.empty((2, len(x0), len(y0)))
        np.matmul(x1, grid @ y0.T, out=out[0])
        np.matmul(x0, grid @ y1.T, out=out[1])
        return out

    def heights(self, c: Array) -> Array:
        """(qx, qy) deflection of the shape ``c`` at the quadrature points."""
        x, y = self.x.values[0], self.y.values[0]
        return np.asarray(x @ (c.reshape(x.shape[1], -1) @ y.T))

    def fit(self, values: Array) -> Array:
        """Unknowns whose shape comes closest, in the mean square, to values at the quadrature ``points``."""
        x, y = self.x.nearest, self.y.nearest
        return np.asarray((x @ values.reshape(x.shape[1], -1) @ y.T).ravel())

    @cached_property
    def lift(self) -> Array:
        """The unknowns of a shape that is 1 everywhere."""
        x, y = self.x.nearest, self.y.nearest
        return kron(x.sum(axis=1), y.sum(axis=1))

    def slopes(self) -> tuple[Array, Array]:
        """(q, n) each: the maps from the unknowns to w,x and to w,y at the quadrature points."""
        (x0, x1, _), (y0, y1, _) = self.x.values, self.y.values
        return kron(x1, y0), kron(x0, y1)

    def rows(self, x: Array, y: Array) -> Array:
        """(len(x), n) values of the functions at points."""
        fx, fy = self.x.line.at(x), self.y.line.at(y)
        return np.asarray((fx[:, :, None] * fy[:, None, :]).reshape(len(x), self.size))


@lru_cache(maxsize=48)
def assemble(outline: Outline, poisson: float, class_x: Parity, class_y: Parity) -> Plate:
    """The matrices of one symmetry class; remembered, since one holder is asked for many films of one size."""
    x, y = film_line(outline.x, class_x), film_line(outline.y, class_y)
    mx, my = x.inner, y.inner
    (x00, x11, x10), (y00, y11, y10) = x.pairs, y.pairs
    y01 = y10.reshape(-1, y.line.size, y.line.size).transpose(0, 2, 1).reshape(y10.shape)
    return Plate(
        x=x,
        y=y,
        poisson=poisson,
        bending=curved(mx, my, poisson),
        mass=kron(mx[0, 0], my[0, 0]),
        pull=contraction(
            (((x11, y00),), ((x00, y11),), ((x10, y01),)),
            (x.line.size, x.line.size, y.line.size, y.line.size),
        ),
    )


@dataclass(frozen=True)
class State:
    """Energy and gradient at the unknowns ``c``, with the membrane strains they were made from.

    ``rate`` (m, n) is the derivative of the strain measures with respect to the unknowns.
    """

    c: Array
    energy: float
    gradient: Array
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
        coupled = self.stress.coupled
        if coupled is None:
            rate = self.stress.rate(self.plate, self.plate.slope(c))
        else:
            rate = (coupled.reshape(-1, len(c)) @ c).reshape(-1, len(c))
        strain = 0.5 * (rate @ c) - self.misfit
        out = self.plate.bending @ c
        energy = c @ (0.5 * out - self.load_vector) + 0.5 * self.membrane * (strain @ strain)
        out -= self.load_vector
        out += (self.membrane * strain) @ rate
        return State(c, float(energy), out, rate, strain)

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
        coupled, force = self.stress.coupled, self.membrane * here.strain
        if coupled is not None and other is self.plate:
            out = (force @ coupled.reshape(len(force), -1)).reshape(other.bending.shape)
        else:
            out = other.pull.of(self.stress.tension(force))
            out += out.T
        out += other.bending
        return np.asarray(out)

    def stretched(self, other: Plate, stress: Stress, here: State) -> Array:
        """What the change of the membrane forces adds to the tangent; ``stress`` are the modes of that class."""
        rate = stress.rate(other, self.plate.slope(here.c))
        return np.asarray(self.membrane * (rate.T @ rate))
