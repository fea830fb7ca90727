"""Several equilibria: where to start, which of those found are stable, and what becomes of one that tips over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from holders.core.errors import NotConverged
from holders.film.models import Sheet
from holders.film.solver.basis import Parity
from holders.film.solver.boundary_value_problem import starts
from holders.film.solver.equilibrium import (
    GENTLE_PUSH,
    SCOUT_TOL,
    Equilibrium,
    Solver,
    Start,
    one_sided,
    same,
)
from holders.film.solver.grid import Layout
from holders.film.solver.interior import Effort
from holders.film.solver.plate import assemble
from holders.film.solver.stability import STABLE, Softest, softest

NEAR_PUSH = 1e-2  # from one lip to a like one: in two thirds of the steps, and still on the branch
LEANS = (0.5, 2.0, 8.0)  # thicknesses
OTHER_PUSHES = (1e-5, 1e-2, 1e-6)
NEAR_SHAPE = 0.05  # of the greatest height: below it two shapes are one that rests on other points
LOST = 0.25  # of the greatest height: farther from its scout it is another shape


@dataclass(frozen=True)
class Found:
    """One equilibrium with its stability, softest disturbance first."""

    rest: Equilibrium
    soft: tuple[Softest, ...]

    @classmethod
    def judged(cls, rest: Equilibrium, enough: float = math.inf) -> Found:
        """With the stability of its tangent; ``enough`` as for :func:`softest`."""
        return cls(rest, softest(rest, enough))

    @property
    def energy(self) -> float:
        """Without dimension, as the layout has it."""
        return self.rest.energy

    @property
    def stiffness(self) -> float:
        """Of the softest disturbance."""
        return self.soft[0].stiffness

    @property
    def stable(self) -> bool:
        """No disturbance of any symmetry lowers the energy."""
        return self.stiffness > STABLE

    @property
    def symmetric(self) -> bool:
        """It has all the symmetry that its support has."""
        return not one_sided(self.rest)


def find_branches(
    layout: Layout,
    scouts: Sequence[Layout],
    sheet: Sheet,
    tol: float,
    effort: Effort,
    near: Sequence[Equilibrium] = (),
) -> list[Found]:
    """The stable equilibria reached from the starts, lowest energy first.

    They are looked for on the first of the ``scouts``, coarse layouts ever nearer to the wanted one, and followed up
    over the others. One that tips out of its symmetry is followed to where it comes to rest unless a lower stable one
    is known. Raises NotConverged when none was found within the ``effort`` allowed.

    ``near`` are equilibria of the same sheet on a support much like this one. Where all that they lead to are stable,
    those are returned and no others are looked for.
    """
    if near:
        share = (
            effort.left / 2
        )  # of its own, so that what gets lost takes nothing from the search that follows
        own = Effort(share)
        if followed := _from_near(near, Solver(layout, sheet, tol, own)):
            effort.left -= share - own.left
            return followed
    fine = Solver(layout, sheet, tol, effort)
    coarse = [Solver(scout, sheet, max(tol, SCOUT_TOL), effort, thorough=False) for scout in scouts]
    ladder = [*coarse, fine]
    rests = [rest for _, rest in ladder[0].distinct(_cold(ladder[0]))]
    likely = rests
    for solver in ladder[1:]:
        pairs = _refined(rests, solver)
        likely, rests = [rests[i] for i, _ in pairs], [rest for _, rest in pairs]
    found: list[Found] = []
    for scouted, rest in sorted(zip(likely, rests, strict=True), key=lambda pair: pair[1].energy):
        many = [Found.judged(rest)]
        if not many[0].stable and not any(f.stable for f in found):
            many = _tipped_over(many[0], scouted, ladder[-2] if coarse else fine, fine)
        for one in many:
            if one.stable and not any(same(one.rest, other.rest) for other in found):
                found.append(one)
    return _merged(found)


def _merged(found: list[Found]) -> list[Found]:
    """Lowest energy first, without those that differ from a lower one by a few contacts alone."""
    kept: list[Found] = []
    for one in sorted(found, key=lambda f: f.energy):
        if not any(same(one.rest, lower.rest, NEAR_SHAPE) for lower in kept):
            kept.append(one)
    return kept


def _from_near(near: Sequence[Equilibrium], fine: Solver) -> list[Found]:
    """What the equilibria of a like support come to here, lowest energy first; none where one of them gets lost."""
    push = NEAR_PUSH if len(near) == 1 else GENTLE_PUSH  # a hard push may lead from one branch to another
    try:
        rests = [fine.solve_equilibrium(replace(_warm(rest, fine), push=push, known=rest)) for rest in near]
    except NotConverged:
        return []
    found = [Found.judged(rest, STABLE) for rest in rests]
    merged = any(same(one.rest, other.rest) for one, other in combinations(found, 2))
    if merged or not all(one.stable for one in found):
        return []
    return sorted(found, key=lambda one: one.energy)


def _cold(solver: Solver) -> list[Start]:
    here = solver.pose()
    return [Start(here, shape, False) for shape in starts(here)]


def _refined(rests: Sequence[Equilibrium], fine: Solver) -> list[tuple[int, Equilibrium]]:
    """The different equilibria that those of a coarse layout come to, each with the place of the first that led to it.

    One that slides to quite another shape is started again with other pushes, since a shape that is held by few
    contacts is easily lost on the way. Raises NotConverged when none comes to any.
    """
    found: list[tuple[int, Equilibrium]] = []
    failures: list[NotConverged] = []
    for place, rest in enumerate(rests):
        for push in (GENTLE_PUSH, *OTHER_PUSHES) if len(rests) > 1 else (GENTLE_PUSH,):
            try:
                one = fine.solve_equilibrium(replace(_warm(rest, fine), push=push))
            except NotConverged as failed:
                failures.append(failed)
                continue
            if not any(same(one, other, fine.alike) for _, other in found):
                found.append((place, one))
            if same(one, rest, LOST):
                break
    if not found:
        raise failures[0]
    return found


def _warm(rest: Equilibrium, fine: Solver) -> Start:
    """What was found on a coarse layout as a start on a fine one."""
    classes: tuple[Parity, Parity] = tuple(  # type: ignore[assignment]
        wanted if axis.symmetric else "none"
        for wanted, axis in zip(rest.posed.classes, (fine.layout.x, fine.layout.y), strict=True)
    )
    here = fine.pose(classes, rest.posed.floor)
    return Start(here, rest.moved(here), True)


def _tipped_over(one: Found, scouted: Equilibrium, coarse: Solver, fine: Solver) -> list[Found]:
    """What an unstable equilibrium comes to by each disturbance that tips it, tried on the coarse layout if it can."""
    from_here, solver = one, fine
    if coarse is not fine:
        rough = Found.judged(scouted)
        if not rough.stable:
            from_here, solver = rough, coarse
    came_to = []
    for soft in from_here.soft:
        try:
            rest = _followed(from_here.rest, soft, solver)
            if solver is not fine:
                rest = fine.solve_equilibrium(_warm(rest, fine))
            came_to.append(Found.judged(rest))
        except NotConverged:
            if fine.effort.left < 0:
                break
    return came_to


def _followed(rest: Equilibrium, soft: Softest, solver: Solver) -> Equilibrium:
    """Let an unstable equilibrium tip over, with ever stronger pushes, until it comes to rest."""
    for lean in LEANS:
        rest = _tipped(rest, soft, lean, solver)
        soft = softest(rest)[0]
        if soft.stiffness > STABLE:
            break
    return rest


def _tipped(rest: Equilibrium, soft: Softest, lean: float, solver: Solver) -> Equilibrium:
    """Push an unstable equilibrium along a disturbance, ``lean`` thicknesses far, and let it settle."""
    posed, (cx, cy) = rest.posed, soft.classes
    wide: tuple[Parity, Parity] = (
        "none" if cx == "odd" else posed.classes[0],
        "none" if cy == "odd" else posed.classes[1],
    )
    bigger = solver.pose(wide, posed.floor)
    plate = assemble(posed.layout.outline, posed.sheet.poisson, cx, cy)
    px, py = bigger.plate.points
    tip = plate.rows(px, py) @ soft.shape
    shape = posed.plate.rows(px, py) @ rest.minimum.c + lean * tip / np.abs(tip).max()
    return solver.solve_equilibrium(Start(bigger, bigger.plate.fit(shape), True))
