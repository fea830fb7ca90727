"""Several equilibria: where to start, whether what was found is stable, and in which symmetry class it may tip."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.linalg import eigh

from holders.errors import NotConverged
from holders.film.basis import Parity
from holders.film.interior import Effort
from holders.film.layout import Layout
from holders.film.linear import definite
from holders.film.membrane import stress_modes
from holders.film.models import Array, Sheet
from holders.film.plate import assemble
from holders.film.posed import fit, starts
from holders.film.settle import SCOUT_TOL, Rest, Solver, Start, same

ACTIVE = 1.0  # a contact counts as closed when its force (scaled) exceeds its gap (scaled)
CLOSED_STIFFNESS = 1e8
STABLE = 1e-6
LEANS = (0.5, 2.0, 8.0)  # thicknesses
EFFORT = 20.0  # billions of multiplications for one surface; about a second


@dataclass(frozen=True)
class Found:
    """One equilibrium with the stability of its tangent on the free set."""

    rest: Rest
    stiffness: float
    softest_class: tuple[Parity, Parity]
    softest: Array
    symmetric: bool

    @property
    def energy(self) -> float:
        """Without dimension, as the layout has it."""
        return self.rest.energy

    @property
    def stable(self) -> bool:
        """No disturbance of any symmetry lowers the energy."""
        return self.stiffness > STABLE


def stiffness(rest: Rest) -> tuple[float, tuple[Parity, Parity], Array]:
    """Smallest eigenvalue of the tangent on the free set over all symmetry classes, its class, its vector.

    Contacts that carry force are held; the measure is the sheet's own bending stiffness plus its mass, so a value
    well below zero is a snap and a value of order one is as stiff as the flat sheet.
    """
    posed, found = rest.posed, rest.minimum
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
            tangent = posed.problem.tangent(found.state)
        else:
            tangent = posed.problem.pulled(plate, found.state)
            if worst is not None and definite(tangent + holding - worst[0] * unit):
                continue  # stiffer even without what stretching adds
            stress = stress_modes(posed.layout.outline, posed.sheet.poisson, *classes)
            tangent += posed.problem.stretched(plate, stress, found.state)
        if worst is None or not definite(tangent + holding - worst[0] * unit):
            value, vector = eigh(tangent + holding, unit, subset_by_index=[0, 0])
            if worst is None or value[0] < worst[0]:
                worst = float(value[0]), classes, vector[:, 0]
    assert worst is not None
    return worst


def find_branches(layout: Layout, scout: Layout, sheet: Sheet, tol: float) -> list[Found]:
    """The stable equilibria reached from the starts, lowest energy first.

    A curled sheet may have several; they are looked for on the coarser and more even layout ``scout`` and then
    followed up. One that tips out of its symmetry is followed to where it comes to rest unless a lower stable one is
    known. Raises NotConverged when none was found within the bounds of work.
    """
    effort = Effort(EFFORT)
    fine = Solver(layout, sheet, tol, effort)
    if scout.outline == layout.outline:
        rests = fine.distinct([Start(fine.pose(), shape, False) for shape in starts(fine.pose())])
    else:
        coarse = Solver(scout, sheet, max(tol, SCOUT_TOL), effort, thorough=False)
        likely = _judged(
            coarse.distinct([Start(coarse.pose(), s, False) for s in starts(coarse.pose())]), coarse
        )
        rests = fine.distinct([_warm(one, fine) for one in likely])
    found: list[Found] = []
    for one in _judged(rests, fine):
        if one.stable and not any(same(one.rest, other.rest) for other in found):
            found.append(one)
    return sorted(found, key=lambda f: f.energy)


def _judged(rests: list[Rest], solver: Solver) -> list[Found]:
    """Each with its stability; one that tips is followed unless a lower stable one is known."""
    found: list[Found] = []
    for rest in sorted(rests, key=lambda r: r.energy):
        one = Found(rest, *stiffness(rest), symmetric=rest.posed.classes == solver.classes)
        if not one.stable and not any(f.stable for f in found):
            one = _followed(one, solver)
        found.append(one)
    return found


def _warm(one: Found, fine: Solver) -> Start:
    """What was found on a coarse layout as a start on a fine one."""
    posed = one.rest.posed
    classes: tuple[Parity, Parity] = tuple(  # type: ignore[assignment]
        wanted if axis.symmetric else "none"
        for wanted, axis in zip(posed.classes, (fine.layout.x, fine.layout.y), strict=True)
    )
    here = fine.pose(classes, posed.floor)
    return Start(here, one.rest.moved(here), True)


def _followed(found: Found, solver: Solver) -> Found:
    """Let an unstable equilibrium tip over, with ever stronger pushes, until it comes to rest."""
    for lean in LEANS:
        try:
            found = _tipped(found, lean, solver)
        except NotConverged:
            if solver.effort.left < 0:
                break
            continue
        if found.stable:
            break
    return found


def _tipped(found: Found, lean: float, solver: Solver) -> Found:
    """Push an unstable equilibrium along its softest disturbance, ``lean`` thicknesses far, and let it settle."""
    posed, (cx, cy) = found.rest.posed, found.softest_class
    wide: tuple[Parity, Parity] = (
        "none" if cx == "odd" else posed.classes[0],
        "none" if cy == "odd" else posed.classes[1],
    )
    bigger = solver.pose(wide, posed.floor)
    softest = assemble(posed.layout.outline, posed.sheet.poisson, cx, cy)
    px, py = bigger.plate.points
    tip = softest.rows(px, py) @ found.softest
    shape = posed.plate.rows(px, py) @ found.rest.minimum.c + lean * tip / np.abs(tip).max()
    rest = solver.settle(Start(bigger, fit(bigger.plate, shape), True))
    return Found(rest, *stiffness(rest), symmetric=wide == solver.classes)
