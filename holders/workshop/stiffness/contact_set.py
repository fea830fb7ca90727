"""A grid of beams on supports that only push: which of them do, found on one factor of the grid.

The grid is factored once with a spring under each of its feet. A support that pushes and a spring that is taken away
are forces at single nodes, so that each change of the contact costs one solution with that factor and a small system
among the nodes that are touched (a flexibility method; the Woodbury identity).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import NotConverged
from holders.design.parts.factored import Triplets, solver_of
from holders.design.parts.grillage import Beam, assembled, sound

Floats = NDArray[np.float64]
Point = tuple[float, float]
EVEN_MM, EVEN_N = 1e-7, 1e-9
MOST_CHANGES = 2000
PATIENCE = 5  # changes of many at once that may leave as many wrong


@dataclass(frozen=True, slots=True)
class Contact:
    """The grid at rest: deflection and slopes (3 n,), which feet push, and which other nodes lie on the ground."""

    answer: Floats
    feet: tuple[int, ...]
    ground: tuple[int, ...]


class Flexible:
    """A grid with springs under its feet, and what it does under a force at any one node, computed when first asked."""

    def __init__(self, nodes: tuple[Point, ...], beams: tuple[Beam, ...], feet: tuple[int, ...]) -> None:
        grid = assembled(nodes, beams, 1.0)
        self.count, self.feet = len(nodes), feet
        self.stiff: Triplets = grid.stiff
        self.weight, self.arch = grid.weight, grid.arch  # the latter for a curvature of 1/mm
        at = 3 * np.asarray(feet, dtype=np.int64)
        self.spring = float(np.median(grid.stiff.diagonal()[::3]))
        self.solve = solver_of(grid.stiff.raised(at, self.spring))
        self._columns: dict[int, Floats] = {}

    def column(self, node: int) -> Floats:
        """All deflections and slopes (3 n,) under a force of 1 N at a node, springs in place."""
        if node not in self._columns:
            force = np.zeros(3 * self.count)
            force[3 * node] = 1.0
            self._columns[node] = self.solve(force)
        return self._columns[node]


@lru_cache(maxsize=4)  # one frame is asked for cold, warm and aged
def flexible(nodes: tuple[Point, ...], beams: tuple[Beam, ...], feet: tuple[int, ...]) -> Flexible:
    """The factored grid. Raises ``NotConverged`` when feet do not hold it."""
    return Flexible(nodes, beams, feet)


def at_rest(grid: Flexible, load: Floats, room_mm: float) -> Contact:
    """The grid under a load (3 n,), its feet at 0, the ground ``room_mm`` below all nodes that are no feet.

    From all feet pushing and nothing on the ground, every wrong contact is changed at once as long as that leaves
    fewer wrong; where it does not, the one that is most wrong alone (block pivoting: J. J. Júdice, F. M. Pires, 1994,
    from memory). A foot is only ever changed alone.

    Raises ``NotConverged`` when that does not end, as for a frame that tips over its feet.
    """
    free = grid.solve(load)
    held = dict.fromkeys(grid.feet, 0.0)  # node: the depth it is held at
    fewest, patience = len(free), PATIENCE
    for _ in range(MOST_CHANGES):
        at, force, w = _held(grid, free, held)
        wrong = _wrong(grid.feet, held, dict(zip(at, force, strict=True)), w, room_mm)
        if not wrong:
            answer = free + sum(f * grid.column(node) for node, f in zip(at, force, strict=True))
            return _checked(grid, answer, load, held)
        if len(wrong) < fewest:
            fewest, patience = len(wrong), PATIENCE
        else:
            patience -= 1
        for node in _changed(wrong, grid.feet) if patience > 0 else wrong[:1]:
            if node in held:
                del held[node]
            else:  # a foot reaches to the ground itself
                held[node] = 0.0 if node in grid.feet else room_mm
    raise NotConverged(f"how the frame rests on its feet was not found in {MOST_CHANGES} steps")


def _changed(wrong: list[int], feet: tuple[int, ...]) -> list[int]:
    """All of them, but of the feet none unless one is the most wrong, and that alone."""
    return wrong[:1] if wrong[0] in feet else [node for node in wrong if node not in feet]


def _held(grid: Flexible, free: Floats, held: dict[int, float]) -> tuple[list[int], Floats, Floats]:
    """Nodes with a force on them, those forces (N, downward), and every deflection (mm).

    A held node's force brings it to its depth; a lifted foot's takes its spring away.
    """
    at = [*held, *(foot for foot in grid.feet if foot not in held)]
    bent = np.array([grid.column(node)[::3] for node in at])
    spots = np.asarray(at)
    system = bent[:, spots].T.copy()
    loose = np.arange(len(held), len(at))
    system[loose, loose] -= 1 / grid.spring
    wanted = np.array([*held.values(), *(0.0 for _ in loose)]) - free[3 * spots]
    try:
        force = np.linalg.solve(system, wanted)
    except np.linalg.LinAlgError:
        raise NotConverged("the frame tips over the feet that are left to it") from None
    return at, force, free[::3] + force @ bent


def _wrong(
    feet: tuple[int, ...], held: dict[int, float], force: dict[int, Floats], w: Floats, room_mm: float
) -> list[int]:
    """Feet and places on the ground that pull, the strongest first, then what is pushed through, the deepest first."""
    pulls = sorted((node for node in held if force[node] > EVEN_N), key=lambda node: -force[node])
    over = w - room_mm
    over[list(feet)] = w[list(feet)]
    over[list(held)] = -np.inf
    through = np.flatnonzero(over > EVEN_MM)
    return [*pulls, *through[np.argsort(-over[through], kind="stable")].tolist()]


def _checked(grid: Flexible, answer: Floats, load: Floats, held: dict[int, float]) -> Contact:
    unbalanced = load - grid.stiff.times(answer)
    unbalanced[3 * np.asarray(list(held), dtype=np.int64)] = 0.0
    sound(answer, unbalanced, load)
    feet = tuple(foot for foot in grid.feet if foot in held)
    return Contact(answer, feet, tuple(sorted(set(held) - set(feet))))
