"""Several equilibria: where to start, whether what was found is stable, and in which symmetry class it may tip."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.linalg import cholesky, eigh

from holders.errors import NotConverged
from holders.film.basis import Parity
from holders.film.contact import BY, deepest
from holders.film.interior import PUSH, Minimum, minimise
from holders.film.layout import Layout
from holders.film.membrane import stress_modes
from holders.film.models import Array, Sheet
from holders.film.plate import assemble
from holders.film.posed import Posed, fit, pose, starts

ACTIVE = 1.0  # a contact counts as closed when its force (scaled) exceeds its gap (scaled)
CLOSED_STIFFNESS = 1e8
STABLE = 1e-6
GLASS = BY.index("glass")
LEANS = (0.5, 2.0, 8.0)  # thicknesses
GENTLE_PUSH = 1e-3
DEEPEST = 0.005  # thicknesses: 1 µm in a sheet of 0.2 mm
SCOUT_TOL = 1e-4
SAME_ENERGY = 1e-5
SAME_SHAPE = 1e-3
SMALLEST_PART = 1e-9
MAX_STEPS = 200
TIPPED_STEPS = 80  # without symmetry each step costs some twenty times as much


@dataclass(frozen=True)
class Found:
    """One equilibrium with the stability of its tangent on the free set."""

    posed: Posed
    minimum: Minimum
    stiffness: float
    softest_class: tuple[Parity, Parity]
    softest: Array
    symmetric: bool

    @property
    def stable(self) -> bool:
        """No disturbance of any symmetry lowers the energy."""
        return self.stiffness > STABLE


def freed(posed: Posed, shape: Array) -> Array:
    """A shape strictly inside all contacts: scaled down and lifted as little as that takes."""
    touch = posed.touch
    if not touch.count:
        return shape
    lift = _lift(posed)
    raised, spread = touch.rows @ lift, float(np.ptp(touch.rows @ shape))
    factor = 1.0
    while factor > SMALLEST_PART:
        gap = factor * (touch.rows @ shape) + touch.room
        low = float(np.max(-gap[raised > 0], initial=-np.inf))
        high = float(np.min(gap[raised < 0], initial=np.inf))
        if high > low:
            amount = low + min(0.5 * (high - low), max(0.05 * spread * factor, 0.05))
            if (gap + amount * raised).min() > 0:
                return np.asarray(factor * shape + amount * lift)
        factor *= 0.5
    # flat: half way up under a lid, where it is gripped when only the glass is below
    level = 0.5 * (low + high) if np.isfinite(low + high) else 0.0
    return np.asarray(level * lift)


def _lift(posed: Posed) -> Array:
    """The rigid lift by one thickness."""
    return fit(posed.plate, np.ones(len(posed.plate.points[0])))


def solve_from(posed: Posed, shape: Array, tol: float, push: float = PUSH, limit: int = MAX_STEPS) -> Minimum:
    """Minimise from a start shape in at most ``limit`` steps."""
    return minimise(posed.problem, posed.touch, freed(posed, shape), tol=tol, push=push, max_iterations=limit)


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
        plate = assemble(posed.layout.outline, posed.sheet.poisson, *classes)
        rows = plate.rows(posed.touch.x[closed], posed.touch.y[closed])
        holding, unit = CLOSED_STIFFNESS * rows.T @ rows, plate.bending + plate.mass
        if classes == posed.classes:
            tangent = found.state.tangent
        else:
            tangent = posed.problem.pulled(plate, found.state.tension)
            if worst is not None and _definite(tangent + holding - worst[0] * unit):
                continue  # stiffer even without what stretching adds
            stress = stress_modes(posed.layout.outline, posed.sheet.poisson, *classes)
            tangent += posed.problem.stretched(plate, stress, found.state.slope)
        if worst is None or not _definite(tangent + holding - worst[0] * unit):
            value, vector = eigh(tangent + holding, unit, subset_by_index=[0, 0])
            if worst is None or value[0] < worst[0]:
                worst = float(value[0]), classes, vector[:, 0]
    assert worst is not None
    return worst


def _definite(a: Array) -> bool:
    """All eigenvalues positive (much quicker than computing them)."""
    try:
        cholesky(a, lower=True, check_finite=False)
    except np.linalg.LinAlgError:
        return False
    return True


def find_branches(layout: Layout, scout: Layout, sheet: Sheet, tol: float) -> list[Found]:
    """The stable equilibria reached from the starts, lowest energy first.

    A curled sheet may have several; they are looked for on the coarser layout ``scout`` and then followed up. One
    that tips out of its symmetry is followed to where it comes to rest unless a lower stable one is known.
    """
    classes: tuple[Parity, Parity] = (
        "even" if layout.x.symmetric else "none",
        "even" if layout.y.symmetric else "none",
    )
    fine = _Solver(layout, sheet, classes, tol)
    if (sheet.curl_x_per_m or sheet.curl_y_per_m) and scout.outline != layout.outline:
        coarse = _Solver(scout, sheet, classes, max(tol, SCOUT_TOL))
        likely = [_moved(p, m, fine.loose) for p, m in coarse.distinct(starts(coarse.loose), PUSH)]
        minima = fine.distinct(likely, GENTLE_PUSH)
    else:
        minima = fine.distinct(starts(fine.loose), PUSH)
    found: list[Found] = []
    for here, minimum in sorted(minima, key=lambda pm: pm[1].state.energy):
        one = Found(here, minimum, *stiffness(here, minimum), symmetric=True)
        if not one.stable and not any(f.stable for f in found):
            one = _followed(one, tol)
        if one.stable and not any(_same(one.posed, one.minimum, f.posed, f.minimum) for f in found):
            found.append(one)
    return sorted(found, key=lambda f: f.minimum.state.energy)


class _Solver:
    """One layout in its symmetric class, first without the glass below, with it where the film would reach it."""

    def __init__(self, layout: Layout, sheet: Sheet, classes: tuple[Parity, Parity], tol: float) -> None:
        self.layout, self.sheet, self.classes, self.tol = layout, sheet, classes, tol
        self.floor = layout.contact and not (all(layout.x.ledge) or all(layout.y.ledge))
        self.loose = pose(layout, sheet, classes, self.floor)

    def settle(self, shape: Array, push: float) -> tuple[Posed, Minimum]:
        """The equilibrium that a start shape leads to."""
        posed = self.loose
        minimum = solve_from(posed, shape, self.tol, push)
        floor = self.floor or _dips(self.layout, posed, minimum)
        if floor is not self.floor:
            posed = pose(self.layout, self.sheet, self.classes, floor)
            minimum = solve_from(posed, minimum.c, self.tol, push)
        return tightened(posed, minimum, floor, self.tol)

    def distinct(self, shapes: list[Array], push: float) -> list[tuple[Posed, Minimum]]:
        """The different equilibria that the shapes lead to; raises NotConverged when none does."""
        minima: list[tuple[Posed, Minimum]] = []
        failures: list[NotConverged] = []
        for shape in shapes:
            try:
                here, minimum = self.settle(shape, push)
            except NotConverged as failed:
                failures.append(failed)
                continue
            if not any(_same(here, minimum, p, m) for p, m in minima):
                minima.append((here, minimum))
        if not minima:
            raise failures[0]
        return minima


def tightened(posed: Posed, minimum: Minimum, floor: bool, tol: float) -> tuple[Posed, Minimum]:
    """Solve again with more contact points where the film reaches into something between them."""
    for density in (2, 4):
        finer = pose(posed.layout, posed.sheet, posed.classes, floor, density)
        if deepest(finer.touch, minimum.c) <= DEEPEST:
            break
        posed, minimum = finer, solve_from(finer, minimum.c, tol, GENTLE_PUSH)
    return posed, minimum


def _moved(coarse: Posed, found: Minimum, fine: Posed) -> Array:
    """A shape on the coarse layout as unknowns of the fine one."""
    return fit(fine.plate, coarse.plate.rows(*fine.plate.points) @ found.c)


def _dips(layout: Layout, posed: Posed, found: Minimum) -> bool:
    """Would the film reach through the glass?"""
    x, y = np.linspace(-layout.x.half, layout.x.half, 33), np.linspace(-layout.y.half, layout.y.half, 33)
    return bool(posed.plate.on_grid(x, y, found.c).min() < layout.floor)


def _same(p: Posed, a: Minimum, q: Posed, b: Minimum) -> bool:
    """Two minima that are one: same energy and same shape at the quadrature points of the symmetric class."""
    size = max(abs(a.state.energy), abs(b.state.energy))
    if abs(a.state.energy - b.state.energy) > SAME_ENERGY * size or p.classes != q.classes:
        return False
    shape_a, shape_b = p.plate.rows(*p.plate.points) @ a.c, q.plate.rows(*p.plate.points) @ b.c
    return bool(np.abs(shape_a - shape_b).max() <= SAME_SHAPE * (1.0 + np.abs(shape_a).max()))


def _followed(found: Found, tol: float) -> Found:
    """Let an unstable equilibrium tip over, with ever stronger pushes, until it comes to rest."""
    for lean in LEANS:
        try:
            found = _tipped(found, lean, tol)
        except NotConverged:
            continue
        if found.stable:
            break
    return found


def _tipped(found: Found, lean: float, tol: float) -> Found:
    """Push an unstable equilibrium along its softest disturbance, ``lean`` thicknesses far, and let it settle."""
    posed, (cx, cy) = found.posed, found.softest_class
    wide: tuple[Parity, Parity] = (
        "none" if cx == "odd" else posed.classes[0],
        "none" if cy == "odd" else posed.classes[1],
    )
    floor = bool((posed.touch.by == GLASS).any())
    bigger = posed if wide == posed.classes else pose(posed.layout, posed.sheet, wide, floor)
    softest = (
        posed.plate
        if (cx, cy) == posed.classes
        else assemble(posed.layout.outline, posed.sheet.poisson, cx, cy)
    )
    px, py = bigger.plate.points
    tip = softest.rows(px, py) @ found.softest
    shape = posed.plate.rows(px, py) @ found.minimum.c + lean * tip / np.abs(tip).max()
    settled = solve_from(bigger, fit(bigger.plate, shape), tol, GENTLE_PUSH, TIPPED_STEPS)
    bigger, settled = tightened(bigger, settled, floor, tol)
    return Found(bigger, settled, *stiffness(bigger, settled), symmetric=wide == posed.classes)
