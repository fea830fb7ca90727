"""Several equilibria: where to start, whether what was found is stable, and in which symmetry class it may tip."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.linalg import eigh

from holders.errors import NotConverged
from holders.film.basis import Parity
from holders.film.contact import Touch, touches
from holders.film.interior import Minimum, minimise
from holders.film.layout import Axis, Layout
from holders.film.models import Array, Sheet
from holders.film.plate import Plate, Problem, assemble

ACTIVE = 1.0  # a contact counts as closed when its force (scaled) exceeds its gap (scaled)
CLOSED_STIFFNESS = 1e4
STABLE = 1e-6
SAME_ENERGY = 1e-5
SAME_SHAPE = 1e-3


@dataclass(frozen=True)
class Found:
    """One equilibrium with the stability of its tangent on the free set."""

    posed: Posed
    minimum: Minimum
    stiffness: float
    symmetric: bool

    @property
    def stable(self) -> bool:
        """No disturbance of any symmetry lowers the energy."""
        return self.stiffness > STABLE


@dataclass(frozen=True)
class Posed:
    """A sheet on its support in one symmetry class, ready to be minimised."""

    layout: Layout
    sheet: Sheet
    classes: tuple[Parity, Parity]
    problem: Problem
    touch: Touch

    @property
    def plate(self) -> Plate:
        """The matrices."""
        return self.problem.plate


def pose(layout: Layout, sheet: Sheet, classes: tuple[Parity, Parity], floor: bool) -> Posed:
    """Assemble one class, with or without the glass below."""
    return pose_on(layout, sheet, classes, assemble(layout, sheet.poisson, *classes), floor)


def pose_on(layout: Layout, sheet: Sheet, classes: tuple[Parity, Parity], plate: Plate, floor: bool) -> Posed:
    """The same on matrices that exist already (another sheet of the same size and Poisson ratio)."""
    length, t = layout.length_mm, sheet.thickness_mm
    kx, ky = (k * length**2 / t for k in sheet.natural_curvature_per_mm)
    q = sheet.pressure_mpa * length**4 / (sheet.rigidity_nmm * t)
    load = -q * plate.load + kx * plate.moment_x + ky * plate.moment_y
    misfit = np.zeros(plate.stress[0].shape[1])
    if sheet.moulded:
        wx, wy = kx * plate.points[0], ky * plate.points[1]
        yy, xx, xy = plate.stress
        misfit = 0.5 * (yy.T @ (wx * wx) + xx.T @ (wy * wy) - 2 * (xy.T @ (wx * wy)))
    problem = Problem(plate, 12.0 * (1.0 - sheet.poisson**2), load, misfit)
    whole = (classes[0] == "none", classes[1] == "none")
    return Posed(layout, sheet, classes, problem, touches(layout, plate, whole, floor))


def _fit(plate: Plate, values: Array) -> Array:
    """Unknowns whose shape comes closest to values at the quadrature points."""
    rows = plate.rows(*plate.points)
    return np.asarray(np.linalg.lstsq(rows, values, rcond=None)[0])


def _window(axis: Axis, x: Array) -> Array:
    """1 in the middle of the opening, 0 with two level derivatives on the lips."""
    lo, hi = -axis.half + axis.ledge[0], axis.half - axis.ledge[1]
    u = (x - 0.5 * (lo + hi)) / (0.5 * (hi - lo))
    return np.where(np.abs(u) < 1, (1 - np.minimum(u * u, 1)) ** 3, 0.0)


def bubble(posed: Posed) -> Array:
    """A dome over the opening that is level on the lips, height 1 thickness."""
    px, py = posed.plate.points
    return _fit(posed.plate, _window(posed.layout.x, px) * _window(posed.layout.y, py))


def natural(posed: Posed) -> list[Array]:
    """The shapes of the sheet without weight and membrane stress: a parabola along either curl."""
    px, py = posed.plate.points
    length, t = posed.layout.length_mm, posed.sheet.thickness_mm
    kx, ky = (k * length**2 / t for k in posed.sheet.natural_curvature_per_mm)
    return [_fit(posed.plate, 0.5 * k * p**2) for k, p in ((kx, px), (ky, py)) if k]


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


def freed(posed: Posed, shape: Array) -> Array:
    """A shape strictly inside all contacts: scaled down and lifted as little as that takes."""
    touch = posed.touch
    if not touch.count:
        return shape
    lift = _lift(posed)
    up = touch.rows @ lift
    factor = 1.0
    while True:
        gap = factor * (touch.rows @ shape) + touch.room
        low = float(np.max(-gap[up > 0])) if (up > 0).any() else -1.0
        high = float(np.min(gap[up < 0])) if (up < 0).any() else np.inf
        low = max(low, -np.inf)
        if high > low:
            margin = min(0.5 * (high - low), max(0.05 * float(np.ptp(touch.rows @ shape)) * factor, 0.05))
            return np.asarray(factor * shape + (low + margin) * lift)
        factor *= 0.5
        if factor < 1e-9:
            return np.asarray(0 * shape + 0.5 * (low + high) * lift)


def _lift(posed: Posed) -> Array:
    """The rigid lift by one thickness."""
    return _fit(posed.plate, np.ones(len(posed.plate.points[0])))


def solve_from(posed: Posed, shape: Array, tol: float) -> Minimum:
    """Minimise from a start shape."""
    return minimise(posed.problem, posed.touch, freed(posed, shape), tol=tol)


def stiffness(posed: Posed, found: Minimum) -> tuple[float, tuple[Parity, Parity], Array]:
    """Smallest eigenvalue of the tangent on the free set over all symmetry classes, its class, its vector.

    Contacts that carry force are held; the measure is the sheet's own bending stiffness plus its mass, so a value
    well below zero is a snap and a value of order one is as stiff as the flat sheet.
    """
    options_x = ("none",) if posed.classes[0] == "none" else ("even", "odd")
    options_y = ("none",) if posed.classes[1] == "none" else ("even", "odd")
    worst: tuple[float, tuple[Parity, Parity], Array] | None = None
    gap = posed.touch.rows @ found.c + posed.touch.room
    closed = found.force > ACTIVE * gap
    for cx, cy in product(options_x, options_y):
        classes: tuple[Parity, Parity] = (cx, cy)  # type: ignore[assignment]
        if classes == posed.classes:
            plate, tangent = posed.plate, found.state.tangent
        else:
            plate = assemble(posed.layout, posed.sheet.poisson, *classes)
            tangent = posed.problem.tangent_in(plate, found.state.slope, found.state.tension)
        rows = plate.rows(posed.touch.x[closed], posed.touch.y[closed])
        held = tangent + CLOSED_STIFFNESS * rows.T @ rows
        value, vector = eigh(held, plate.bending + plate.mass, subset_by_index=[0, 0])
        if worst is None or value[0] < worst[0]:
            worst = float(value[0]), classes, vector[:, 0]
    assert worst is not None
    return worst


def find_branches(layout: Layout, sheet: Sheet, tol: float) -> list[Found]:
    """All equilibria reached from the starts, lowest energy first, stable ones before unstable ones."""
    classes: tuple[Parity, Parity] = (
        "even" if layout.x.symmetric else "none",
        "even" if layout.y.symmetric else "none",
    )
    floor = layout.contact and not (all(layout.x.ledge) or all(layout.y.ledge))
    posed = pose(layout, sheet, classes, floor)
    with_floor = posed if floor else None
    minima: list[tuple[Posed, Minimum]] = []
    failures: list[NotConverged] = []
    for shape in _starts(posed):
        try:
            here, minimum = posed, solve_from(posed, shape, tol)
            if not floor and _dips(layout, posed, minimum):
                with_floor = with_floor or pose_on(layout, sheet, classes, posed.plate, True)
                here, minimum = with_floor, solve_from(with_floor, minimum.c, tol)
        except NotConverged as failed:
            failures.append(failed)
            continue
        if not any(_same(here, minimum, p, m) for p, m in minima):
            minima.append((here, minimum))
    if not minima:
        raise failures[0]
    found: list[Found] = []
    for here, minimum in minima:
        one = _judged(here, minimum, tol)
        if not any(_same(one.posed, one.minimum, f.posed, f.minimum) for f in found):
            found.append(one)
    return sorted(found, key=lambda f: (not f.stable, f.minimum.state.energy))


def _starts(posed: Posed) -> list[Array]:
    """Start shapes: sagging, and for a curled sheet its natural shapes, their mirror images, and bulged up."""
    dome = bubble(posed)
    low, high = best_amplitude(posed, dome)
    if not (posed.sheet.curl_x_per_m or posed.sheet.curl_y_per_m):
        return [low * dome]
    shapes = natural(posed)
    return [*shapes, *(-s for s in shapes), low * dome, high * dome]


def _dips(layout: Layout, posed: Posed, found: Minimum) -> bool:
    """Would the film reach through the glass?"""
    x, y = np.linspace(-layout.x.half, layout.x.half, 33), np.linspace(-layout.y.half, layout.y.half, 33)
    return bool((posed.plate.rows(np.repeat(x, 33), np.tile(y, 33)) @ found.c).min() < layout.floor)


def _same(p: Posed, a: Minimum, q: Posed, b: Minimum) -> bool:
    """Two minima that are one: same energy and same shape at the quadrature points of the symmetric class."""
    size = max(abs(a.state.energy), abs(b.state.energy))
    if abs(a.state.energy - b.state.energy) > SAME_ENERGY * size or p.classes != q.classes:
        return False
    shape_a, shape_b = p.plate.rows(*p.plate.points) @ a.c, p.plate.rows(*p.plate.points) @ b.c
    return bool(np.abs(shape_a - shape_b).max() <= SAME_SHAPE * (1.0 + np.abs(shape_a).max()))


def _judged(posed: Posed, minimum: Minimum, tol: float) -> Found:
    """Check an equilibrium in every class; where it tips out of its symmetry, follow it to where it comes to rest."""
    value, (cx, cy), vector = stiffness(posed, minimum)
    if value > STABLE or (cx, cy) == posed.classes:
        return Found(posed, minimum, value, True)
    wide: tuple[Parity, Parity] = (
        "none" if cx == "odd" else posed.classes[0],
        "none" if cy == "odd" else posed.classes[1],
    )
    floor = bool((posed.touch.by == 3).any())
    bigger = pose(posed.layout, posed.sheet, wide, floor)
    tipping = assemble(posed.layout, posed.sheet.poisson, cx, cy)
    px, py = bigger.plate.points
    base = posed.plate.rows(px, py) @ minimum.c
    lean = tipping.rows(px, py) @ vector
    try:
        settled = solve_from(bigger, _fit(bigger.plate, base + 0.5 * lean / np.abs(lean).max()), tol)
    except NotConverged:
        return Found(posed, minimum, value, True)
    return Found(bigger, settled, stiffness(bigger, settled)[0], False)
