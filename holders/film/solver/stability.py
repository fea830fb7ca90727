"""Whether a shape at rest is stable, judged in every symmetry class, and the disturbances that would tip it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

import numpy as np
from scipy.linalg import eigh

from holders.film.models import Array
from holders.film.solver.basis import Parity
from holders.film.solver.contact import rows_in
from holders.film.solver.equilibrium import Equilibrium
from holders.film.solver.linear import definite
from holders.film.solver.membrane import stress_modes
from holders.film.solver.plate import assemble

ACTIVE = 1.0  # a contact counts as closed when its force (scaled) exceeds its gap (scaled)
CLOSED_STIFFNESS = 1e8
STABLE = 1e-6


@dataclass(frozen=True)
class Softest:
    """The softest disturbance of one symmetry class: its stiffness, the class, its unknowns in that class."""

    stiffness: float
    classes: tuple[Parity, Parity]
    shape: Array


def softest(rest: Equilibrium, enough: float = math.inf) -> tuple[Softest, ...]:
    """The softest disturbance of all symmetry classes first, then those of the other classes that would tip it too.

    The stiffness is the smallest eigenvalue of the tangent on the free set. Contacts that carry force are held; the
    measure is the sheet's own bending stiffness plus its mass, so a value well below zero is a snap and a value of
    order one is as stiff as the flat sheet. Where only its being stable counts, classes that are stiffer than
    ``enough`` are not looked at closely, and the one named softest need not be.
    """
    posed, found = rest.posed, rest.minimum
    options_x = ("none",) if posed.classes[0] == "none" else ("even", "odd")
    options_y = ("none",) if posed.classes[1] == "none" else ("even", "odd")
    touch = posed.touch
    closed = found.force > ACTIVE * (touch.rows @ found.c + touch.room)
    known: list[Softest] = []
    least = np.inf
    for cx, cy in product(options_x, options_y):
        classes: tuple[Parity, Parity] = (cx, cy)  # type: ignore[assignment]
        plate = assemble(posed.layout.outline, posed.sheet.poisson, *classes)
        own = classes == posed.classes
        held, unit = np.zeros_like(plate.bending), plate.bending + plate.mass
        if closed.any():
            rows = (
                touch.rows[closed]
                if own
                else rows_in(posed.layout.outline, posed.classes, classes, touch.where(closed))
            )
            held = CLOSED_STIFFNESS * (rows.T @ rows)
        limit = min(enough, max(least, 0.0))  # what is stiffer than this need not be known
        if own:
            tangent = held + posed.problem.tangent(found.state)
        else:
            tangent = held + posed.problem.pulled(plate, found.state)
            if np.isfinite(least) and definite(tangent - limit * unit):
                continue  # stiffer even without what stretching adds
            stress = stress_modes(posed.layout.outline, posed.sheet.poisson, *classes)
            tangent += posed.problem.stretched(plate, stress, found.state)
            if np.isfinite(least) and definite(tangent - limit * unit):
                continue
        value, vector = eigh(tangent, unit, subset_by_index=[0, 0], check_finite=False)
        known.append(Softest(float(value[0]), classes, vector[:, 0]))
        least = min(least, known[-1].stiffness)
    known.sort(key=lambda s: s.stiffness)
    return (known[0], *(s for s in known[1:] if s.stiffness <= STABLE))
