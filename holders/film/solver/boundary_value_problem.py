"""A sheet on its support in one symmetry class, and the shapes to start from."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.film.models import Array, Sheet
from holders.film.solver.basis import Parity
from holders.film.solver.contact import ContactSet, touches
from holders.film.solver.grid import Axis, Layout
from holders.film.solver.lines import spread
from holders.film.solver.membrane import stress_modes
from holders.film.solver.plate import Plate, Problem, assemble


@dataclass(frozen=True)
class BoundaryValueProblem:
    """A sheet on its support in one symmetry class, ready to be minimised."""

    layout: Layout
    sheet: Sheet
    classes: tuple[Parity, Parity]
    problem: Problem
    floor: bool  # the glass below is among the contacts
    touch: ContactSet
    contacts: NDArray[
        np.int64
    ]  # what the layout's own are with, as in ``ContactSet.by``; ``touch`` may be some, or more

    @property
    def plate(self) -> Plate:
        """The matrices."""
        return self.problem.plate

    def on_grid(self, c: Array, nx: int, ny: int) -> tuple[Array, Array, Array]:
        """Places x (nx,), y (ny,) from edge to edge and the heights (ny, nx) of the shape ``c`` there."""
        (x, along_x), (y, along_y) = (
            spread(axis, wanted, n)
            for axis, wanted, n in zip((self.layout.x, self.layout.y), self.classes, (nx, ny), strict=True)
        )
        return x, y, along_y @ (c.reshape(along_x.shape[1], -1).T @ along_x.T)


def pose(layout: Layout, sheet: Sheet, classes: tuple[Parity, Parity], floor: bool) -> BoundaryValueProblem:
    """One class with or without the glass below."""
    plate = assemble(layout.outline, sheet.poisson, *classes)
    length, t = layout.length_mm, sheet.thickness_mm
    kx, ky = (k * length**2 / t for k in sheet.natural_curvature_per_mm)
    q = sheet.pressure_mpa * length**4 / (sheet.rigidity_nmm * t)
    weight, moment_x, moment_y = plate.integrals
    load = -q * weight + kx * moment_x + ky * moment_y
    stress = stress_modes(layout.outline, sheet.poisson, *classes)
    misfit = np.zeros(stress.size)
    if sheet.moulded:
        shape = len(plate.x.points), len(plate.y.points)
        misfit = stress.strains(np.stack([kx * plate.points[0], ky * plate.points[1]]).reshape(2, *shape))
    problem = Problem(plate, stress, 12.0 * (1.0 - sheet.poisson**2), load, misfit)
    touch = touches(layout, classes, floor, plate.size)
    return BoundaryValueProblem(layout, sheet, classes, problem, floor, touch, touch.by)


def _window(axis: Axis, x: Array) -> Array:
    """1 in the middle of the opening, 0 with two level derivatives on the lips."""
    lo, hi = -axis.half + axis.ledge[0], axis.half - axis.ledge[1]
    u = (x - 0.5 * (lo + hi)) / (0.5 * (hi - lo))
    return np.where(np.abs(u) < 1, (1 - np.minimum(u * u, 1)) ** 3, 0.0)


def bubble(posed: BoundaryValueProblem) -> Array:
    """A dome over the opening that is level on the lips, height 1 thickness."""
    plate = posed.plate
    return plate.fit(
        np.multiply.outer(_window(posed.layout.x, plate.x.points), _window(posed.layout.y, plate.y.points))
    )


def natural(posed: BoundaryValueProblem) -> list[Array]:
    """Shapes the sheet would like: rolled along either curl; a moulded shell as it was made and turned inside out."""
    px, py = posed.plate.points
    length, t = posed.layout.length_mm, posed.sheet.thickness_mm
    kx, ky = (k * length**2 / t for k in posed.sheet.natural_curvature_per_mm)
    along = [posed.plate.fit(0.5 * k * p**2) for k, p in ((kx, px), (ky, py)) if k]
    if posed.sheet.moulded and len(along) == 2:
        made = along[0] + along[1]
        return [made, -made]
    return along


def best_amplitude(posed: BoundaryValueProblem, shape: Array) -> tuple[float, float]:
    """The lowest points of the energy along ``shape``, below and above zero amplitude.

    Along it the energy is a polynomial of the amplitude a: square and linear from bending and load, of fourth order
    from the membrane strain, which is of second order itself.
    """
    problem = posed.problem
    strain = problem.stress.strains(problem.plate.slope(shape))
    quartic = 0.5 * problem.membrane * float(strain @ strain)
    square = 0.5 * float(shape @ problem.plate.bending @ shape) - problem.membrane * float(
        strain @ problem.misfit
    )
    linear = -float(problem.load_vector @ shape)
    roots = cubic_roots(4 * quartic, 2 * square, linear) if quartic > 0 else [-0.5 * linear / square]
    return min(0.0, *roots), max(0.0, *roots)


def cubic_roots(a: float, b: float, c: float) -> list[float]:
    """The real roots of a x³ + b x + c for a > 0, by Cardano and Viète."""
    p, q = b / (3 * a), c / (2 * a)
    inside = q * q + p**3
    if inside >= 0:
        root = math.sqrt(inside)
        return [math.cbrt(-q + root) + math.cbrt(-q - root)]
    size = 2 * math.sqrt(-p)
    angle = math.acos(min(1.0, max(-1.0, -q / (-p) ** 1.5))) / 3
    return [size * math.cos(angle - k * math.tau / 3) for k in range(3)]


def starts(posed: BoundaryValueProblem) -> list[Array]:
    """Start shapes: sagging, and for a curled sheet its natural shapes and bulged up as well."""
    dome = bubble(posed)
    low, high = best_amplitude(posed, dome)
    if not (posed.sheet.curl_x_per_m or posed.sheet.curl_y_per_m):
        return [low * dome]
    return [*natural(posed), low * dome, high * dome]
