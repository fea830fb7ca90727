"""From a start shape to rest on one layout: freed of contact, minimised, glass and denser contact points as needed."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from holders.core.errors import NotConverged
from holders.film.models import Array, Sheet
from holders.film.solver.basis import Parity
from holders.film.solver.boundary_value_problem import BoundaryValueProblem, pose
from holders.film.solver.contact import ContactSet, joined, missed
from holders.film.solver.grid import Layout
from holders.film.solver.interior import PUSH, Effort, Minimum, minimise

GENTLE_PUSH = 1e-3
NEAR = 0.5  # thicknesses: contacts this near to a warm start are likely to matter
ROOM = 0.01  # thicknesses that a warm start counts as free of contact
DEEPEST = 0.005  # thicknesses: 1 µm in a sheet of 0.2 mm
DENSEST = 4  # times as many points each way
ROUNDS = 3
SHARES = (1.0, 0.999, 0.99, 0.95, 0.8)  # of a shape, tried before it is halved
SMALLEST_PART = 1e-9
FREE, SPREAD = 0.05, 0.05  # room to start with: thicknesses, share of the shape's own height
SCOUT_TOL = 1e-3
SAME_SHAPE = 0.01  # of the greatest height; a scout is as rough as its tolerance
SAME_SCOUT = 0.03
SMALLEST_HEIGHT = 0.01  # thicknesses
SEEN = 41  # points each way at which two shapes are compared


@dataclass(frozen=True)
class Equilibrium:
    """A shape at rest with what it was found on."""

    posed: BoundaryValueProblem
    minimum: Minimum

    @property
    def energy(self) -> float:
        """Without dimension, as the layout has it."""
        return self.minimum.state.energy

    def moved(self, fine: BoundaryValueProblem) -> Array:
        """The shape as unknowns of another layout."""
        plate = self.posed.plate
        x, y = plate.x.line.at(fine.plate.x.points), plate.y.line.at(fine.plate.y.points)
        return fine.plate.fit(x @ (self.minimum.c.reshape(x.shape[1], -1) @ y.T))

    def forces(self, other: BoundaryValueProblem) -> Array | None:
        """The contact forces, for another layout with contacts of the same kinds in the same order; else None."""
        mine = self.posed
        alike = mine.classes == other.classes and np.array_equal(mine.contacts, other.contacts)
        if not alike:
            return None
        own = mine.touch.number >= 0
        found = np.zeros(len(mine.contacts))
        found[mine.touch.number[own]] = self.minimum.force[own]
        return found


@dataclass(frozen=True)
class Start:
    """A shape to start from in one symmetry class; ``warm`` when it is nearly at rest already.

    ``known`` is the rest on a support much like this one whose contact forces it may start with.
    """

    posed: BoundaryValueProblem
    shape: Array
    warm: bool
    push: float = GENTLE_PUSH  # of a warm one
    known: Equilibrium | None = None


@dataclass(frozen=True)
class Solver:
    """One sheet on one layout; ``thorough`` looks for contact between the points as well."""

    layout: Layout
    sheet: Sheet
    tol: float
    effort: Effort
    thorough: bool = True
    _posed: dict[tuple[tuple[Parity, Parity], bool], BoundaryValueProblem] = field(default_factory=dict)

    @property
    def classes(self) -> tuple[Parity, Parity]:
        """The symmetric class where the layout has one."""
        return (
            "even" if self.layout.x.symmetric else "none",
            "even" if self.layout.y.symmetric else "none",
        )

    @property
    def alike(self) -> float:
        """Within which share of the greatest height two shapes of this layout are one."""
        return SAME_SHAPE if self.thorough else SAME_SCOUT

    @property
    def on_glass(self) -> bool:
        """Nothing but the glass can carry the film's other side, so it is there from the start."""
        return self.layout.contact and not (all(self.layout.x.ledge) or all(self.layout.y.ledge))

    def pose(
        self, classes: tuple[Parity, Parity] | None = None, floor: bool | None = None
    ) -> BoundaryValueProblem:
        """The sheet in a class, remembered."""
        key = classes or self.classes, self.on_glass if floor is None else floor
        if key not in self._posed:
            self._posed[key] = pose(self.layout, self.sheet, *key)
        return self._posed[key]

    def solve_equilibrium(self, start: Start) -> Equilibrium:
        """The equilibrium that a start leads to; raises NotConverged when it leads to none."""
        posed, push = start.posed, start.push if start.warm else PUSH
        found = (
            self._near(posed, start.shape, push, start.known)
            if start.warm
            else Equilibrium(posed, self._minimise(posed, start.shape, push))
        )
        if not posed.floor and self._dips(found):
            posed = self.pose(posed.classes, True)
            found = self._near(posed, found.minimum.c, GENTLE_PUSH)
        return self._tightened(found) if self.thorough else found

    def distinct(self, starts: list[Start]) -> list[tuple[int, Equilibrium]]:
        """The different equilibria that the starts lead to, each with the place of the start that led to it first.

        Raises NotConverged when none leads to any.
        """
        found: list[tuple[int, Equilibrium]] = []
        failures: list[NotConverged] = []
        for place, start in enumerate(starts):
            try:
                one = self.solve_equilibrium(start)
            except NotConverged as failed:
                failures.append(failed)
                continue
            if not any(same(one, other, self.alike) for _, other in found):
                found.append((place, one))
        if not found:
            raise failures[0]
        return found

    def _minimise(
        self, posed: BoundaryValueProblem, shape: Array, push: float, known: Array | None = None
    ) -> Minimum:
        start = shape if push < PUSH else freed(posed, shape)
        return minimise(
            posed.problem,
            posed.touch,
            start,
            tol=self.tol,
            push=push,
            room=ROOM,
            effort=self.effort,
            known=known,
        )

    def _near(
        self, posed: BoundaryValueProblem, shape: Array, push: float, known: Equilibrium | None = None
    ) -> Equilibrium:
        """The equilibrium near a shape, at first only with the contacts near it, then with those that were missed."""
        every = posed.touch
        gap = every.rows @ shape + every.room
        used = gap < NEAR
        force = None if known is None else known.forces(posed)
        while True:
            some = posed if used.all() else replace(posed, touch=every.where(used))
            found = Equilibrium(
                some, self._minimise(some, shape, push, None if force is None else force[used])
            )
            shape = found.minimum.c
            gap = np.where(used, 0.0, every.rows @ shape + every.room)
            if not gap.min(initial=0.0) < -DEEPEST:
                return found
            used |= gap < NEAR

    def _dips(self, found: Equilibrium) -> bool:
        """Would the film reach through the glass?"""
        return bool(found.posed.plate.heights(found.minimum.c).min() < self.layout.floor)

    def _tightened(self, found: Equilibrium) -> Equilibrium:
        """Solve again with more contact points where the film reaches into something between them."""
        if not self._missed(found, DENSEST).count:
            return found
        for density in (2, DENSEST):
            for _ in range(ROUNDS):
                more = self._missed(found, density)
                if not more.count:
                    break
                posed, c = found.posed, found.minimum.c
                posed = replace(posed, touch=joined((posed.touch, more), len(c)))
                found = Equilibrium(posed, self._minimise(posed, c, GENTLE_PUSH))
        return found

    def _missed(self, found: Equilibrium, density: int) -> ContactSet:
        posed = found.posed
        return missed(posed.layout, posed.classes, posed.floor, density, found.minimum.c, DEEPEST)


def freed(posed: BoundaryValueProblem, shape: Array, spread: float = SPREAD) -> Array:
    """A shape strictly inside all contacts: scaled down and lifted as little as that takes.

    ``spread`` is the room left below it, as a share of its own height.
    """
    touch = posed.touch
    if not touch.count:
        return shape
    lift = posed.plate.lift  # by one thickness
    raised, heights = touch.rows @ lift, touch.rows @ shape
    up, down = raised > 0, raised < 0
    height = float(np.ptp(heights))
    shares = list(SHARES)
    while shares[-1] > SMALLEST_PART:
        shares.append(0.5 * shares[-1])
    for share in shares:
        gap = share * heights + touch.room
        low = float(np.max(-gap[up], initial=-np.inf))
        high = float(np.min(gap[down], initial=np.inf))
        if high > low:
            amount = low + min(0.5 * (high - low), max(spread * height * share, FREE))
            if (gap + amount * raised).min() > 0:
                return np.asarray(share * shape + amount * lift)
    # flat: half way up under a lid, where it is gripped when only the glass is below
    level = 0.5 * (low + high) if np.isfinite(low + high) else 0.0
    return np.asarray(level * lift)


def same(a: Equilibrium, b: Equilibrium, share: float = SAME_SHAPE) -> bool:
    """Two that are one: the same shape, or its mirror image, within a share of its greatest height."""
    here = _seen(a)
    size = share * max(SMALLEST_HEIGHT, float(np.abs(here).max()))
    return any(bool(np.abs(here - image).max() <= size) for image in _images(b))


def one_sided(rest: Equilibrium) -> bool:
    """Whether some mirror image is another shape of the same sheet on the same support."""
    here = _seen(rest)
    size = SAME_SHAPE * max(SMALLEST_HEIGHT, float(np.abs(here).max()))
    return any(bool(np.abs(here - image).max() > size) for image in _images(rest))


def _seen(rest: Equilibrium) -> Array:
    return rest.posed.on_grid(rest.minimum.c, SEEN, SEEN)[2]


def _images(rest: Equilibrium) -> list[Array]:
    """The shape on a grid and all its mirror images that lie on the same support; a square also has diagonals."""
    outline, sheet, seen = rest.posed.layout.outline, rest.posed.sheet, _seen(rest)
    images = [seen]
    if outline.x.symmetric:
        images += [image[:, ::-1] for image in images]
    if outline.y.symmetric:
        images += [image[::-1] for image in images]
    if outline.x == outline.y and sheet.curl_x_per_m == sheet.curl_y_per_m:
        images += [image.T for image in images]
    return images
