"""A sheet on its support in one symmetry class, and the shapes to start from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.film.basis import Parity
from holders.film.contact import Touch, touches
from holders.film.layout import Axis, Layout
from holders.film.lines import spread
from holders.film.membrane import stress_modes
from holders.film.models import Array, Sheet
from holders.film.plate import Plate, Problem, assemble


@dataclass(frozen=True)
class Posed:
    """A sheet on its support in one symmetry class, ready to be minimised."""

    layout: Layout
    sheet: Sheet
    classes: tuple[Parity, Parity]
    problem: Problem
    floor: bool  # the glass below is among the contacts
    touch: Touch

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


def pose(layout: Layout, sheet: Sheet, classes: tuple[Parity, Parity], floor: bool) -> Posed:
    """One class with or without the glass below."""
    plate = assemble(layout.outline, sheet.poisson, *classes)
    length, t = layout.length_mm, sheet.thickness_mm
    kx, ky = (k * length**2 / t for k in sheet.natural_curvature_per_mm)
    q = sheet.pressure_mpa * length**4 / (sheet.rigidity_nmm * t)
    load = -q * plate.load + kx * plate.moment_x + ky * plate.moment_y
    stress = stress_modes(layout.outline, sheet.poisson, *classes)
    misfit = np.zeros(stress.size)
    if sheet.moulded:
        shape = stress.weights.shape
        misfit = stress.strains(np.stack([kx * plate.points[0], ky * plate.points[1]]).reshape(2, *shape))
    problem = Problem(plate, stress, 12.0 * (1.0 - sheet.poisson**2), load, misfit)
    return Posed(layout, sheet, classes, problem, floor, touches(layout, classes, floor, plate.size))


def _window(axis: Axis, x: Array) -> Array:
    """1 in the middle of the opening, 0 with two level derivatives on the lips."""
    lo, hi = -axis.half + axis.ledge[0], axis.half - axis.ledge[1]
    u = (x - 0.5 * (lo + hi)) / (0.5 * (hi - lo))
    return np.where(np.abs(u) < 1, (1 - np.minimum(u * u, 1)) ** 3, 0.0)


def bubble(posed: Posed) -> Array:
    """A dome over the opening that is level on the lips, height 1 thickness."""
    px, py = posed.plate.points
    return posed.plate.fit(_window(posed.layout.x, px) * _window(posed.layout.y, py))


def natural(posed: Posed) -> list[Array]:
    """Shapes the sheet would like: rolled along either curl; a moulded shell as it was made and turned inside out."""
    px, py = posed.plate.points
    length, t = posed.layout.length_mm, posed.sheet.thickness_mm
    kx, ky = (k * length**2 / t for k in posed.sheet.natural_curvature_per_mm)
    along = [posed.plate.fit(0.5 * k * p**2) for k, p in ((kx, px), (ky, py)) if k]
    if posed.sheet.moulded and len(along) == 2:
        made = along[0] + along[1]
        return [made, -made]
    return along


def best_amplitude(posed: Posed, shape: Array) -> tuple[float, float]:
    """The lowest points of the energy along ``shape``, below and above zero amplitude."""
    problem = posed.problem
    e0 = problem.energy(0 * shape)
    e = [problem.energy(a * shape) - e0 for a in (-2.0, -1.0, 1.0, 2.0)]
    even1, even2 = 0.5 * (e[1] + e[2]), 0.5 * (e[0] + e[3])
    quartic = (even2 - 4 * even1) / 12
    square = even1 - quartic
    odd1, odd2 = 0.5 * (e[2] - e[1]), 0.5 * (e[3] - e[0])
    cubic = (odd2 - 2 * odd1) / 6
    linear = odd1 - cubic
    roots = np.roots([4 * quartic, 3 * cubic, 2 * square, linear])
    real = roots[np.abs(roots.imag) < 1e-9].real
    low, high = real.min() if len(real) else 0.0, real.max() if len(real) else 0.0
    return float(min(low, 0.0)), float(max(high, 0.0))


def starts(posed: Posed) -> list[Array]:
    """Start shapes: sagging, and for a curled sheet its natural shapes and bulged up as well."""
    dome = bubble(posed)
    low, high = best_amplitude(posed, dome)
    if not (posed.sheet.curl_x_per_m or posed.sheet.curl_y_per_m):
        return [low * dome]
    return [*natural(posed), low * dome, high * dome]
