"""A strip in a channel, by the geometrically exact shell of `lidded_shell`: an independent reference.

A quarter of the strip, mirrored: it turns by any angle, its mesh is of bicubic Hermite rectangles, contact is at points
by an augmented Lagrangian. Heights are those of the lower face above the ledge. Positive curl arches the middle up (the
emulsion faces down), along as across. The lid does not move.

The walls are written from the drawing: terraces `layer` high whose outer corners are `low`, rails of the lid whose
inner corners are `high`, the ledge under the ends, the lid's underside over the ends.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_matrix, vstack

from tests.simulators.lidded_shell import Equilibrium, Film, Mesh, Model
from tests.simulators.shell.hermite import Array

NEAR = 1e-6
ALONG_END = 1.6  # how much closer the points of contact lie toward the end


@dataclass(frozen=True)
class Walls:
    """Distances from the strip's middle line (corners) and from its end (the last three), mm."""

    window: float
    lid_edge: float
    layer: float
    low: tuple[float, ...]
    high: tuple[float, ...]
    roof: float
    lip: float
    lid_lip: float
    rail_end: float

    def floor(self, x: float, from_end: float) -> float:
        """What carries the strip there; minus infinity over the window."""
        if x < self.window - NEAR:
            return 0.0 if from_end <= self.lip + NEAR else -np.inf
        return -self.layer * sum(x > corner + NEAR for corner in self.low[:-1])

    def ceiling(self, x: float, from_end: float) -> float:
        """The lid over it; infinity where there is none."""
        found = np.inf
        if x >= self.lid_edge - NEAR or from_end <= self.lid_lip + NEAR:
            found = self.roof
        if from_end >= self.rail_end - NEAR:
            found -= self.layer * sum(x >= corner - NEAR for corner in self.high)
        return found


class InChannel(Model):
    """The strip between its walls. ``film`` has the curls of a sheet whose edges rise (so -curl here)."""

    def __init__(self, film: Film, walls: Walls, mesh: Mesh, points: int = 60) -> None:
        self.walls, self.points = walls, points
        super().__init__(film, None, film.x_mm / 2 - walls.window, mesh, quarter=True)

    def contacts(self) -> tuple[Array, Array]:
        """Points where the strip can touch: at every corner and just past it, along the strip closer to its end."""
        w, half = self.walls, self.film.x_mm / 2
        past = [c + 0.05 for c in w.low if c + 0.05 < half]
        across = sorted({*np.linspace(0, w.window, 9), w.lid_edge, *w.low, *w.high, *past, half})
        along = self.film.y_mm / 2 * (1 - (1 - np.linspace(0, 1, self.points)) ** ALONG_END)
        ends = [self.film.y_mm / 2 - v for v in (w.lip, w.lid_lip, w.rail_end)]
        x, y = np.meshgrid([v for v in across if v <= half], np.unique([*along, *ends]), indexing="ij")
        return x.ravel(), y.ravel()

    def _constraints(self) -> tuple[csr_matrix, Array]:
        x, y = self.contacts()
        from_end = self.film.y_mm / 2 - y
        floor = np.array([self.walls.floor(a, b) for a, b in zip(x, from_end, strict=True)])
        thick = self.film.thickness_mm
        ceiling = np.array([self.walls.ceiling(a, b) for a, b in zip(x, from_end, strict=True)]) - thick
        below, above = np.isfinite(floor), np.isfinite(ceiling)
        self.ledge, self.lidded = int(below.sum()), int(above.sum())
        matrix = vstack([self.heights(x[below], y[below]), -self.heights(x[above], y[above])])
        return csr_matrix(matrix), np.concatenate([-floor[below], ceiling[above]])

    def settled(self) -> Equilibrium:
        """At rest, from a flat strip on the ledge."""
        return self.solve(np.zeros(self.size))[0]
