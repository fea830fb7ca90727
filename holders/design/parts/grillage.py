"""A grid of straight beams that bend and twist, loaded by their own weight: small deflections, elastic.

Each node has its deflection w and the two slopes dw/dx and dw/dy; joints are rigid. Elements are Euler-Bernoulli
beams with Saint-Venant torsion, so nodal values are exact for the beams as modelled. Units N and mm.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import NotConverged
from holders.design.parts.factored import Triplets, solver_of, summed

Floats = NDArray[np.float64]
MOST_RESIDUAL = 1e-5  # of the greatest load


@dataclass(frozen=True, slots=True)
class Beam:
    """A straight element between two nodes: bending and torsional stiffness (N mm²), weight per length (N/mm)."""

    start: int
    end: int
    bending: float
    torsion: float
    load: float


@dataclass(frozen=True, slots=True)
class Deflected:
    """The answer: deflection (mm, downward positive) and slopes of every node, and how well the system was solved.

    ``push`` is the force (N) with which each node's support pushes it up; 0 where it has none.
    """

    w: tuple[float, ...]
    slope_x: tuple[float, ...]
    slope_y: tuple[float, ...]
    push: tuple[float, ...]
    residual: float


@dataclass(frozen=True)
class Grid:
    """Beams put together: stiffness (3 n, 3 n) and loads (3 n,), each node's in the order w, dw/dx, dw/dy.

    ``weight`` is the load of the beams' own weight, ``arch`` that of the curvature they would take without load.
    """

    stiff: Triplets
    weight: Floats
    arch: Floats


def assembled(nodes: Sequence[tuple[float, float]], beams: Sequence[Beam], curvature: float = 0.0) -> Grid:
    """The grid's matrix, which any supports may be tried on; ``curvature`` as for :func:`deflect`."""
    size = 3 * len(nodes)
    if not beams:
        none = np.zeros(0, dtype=np.int64)
        return Grid(Triplets(none, none, np.zeros(0), size), np.zeros(size), np.zeros(size))
    k, weight, arch = elements(nodes, beams, curvature)
    first = 3 * np.array([(beam.start, beam.end) for beam in beams])
    at = (first[:, :, None] + np.arange(3)).reshape(-1, 6)
    rows, columns = np.broadcast_arrays(at[:, :, None], at[:, None, :])
    return Grid(
        Triplets(rows.ravel(), columns.ravel(), k.ravel(), size),
        summed(at.ravel(), weight.ravel(), size),
        summed(at.ravel(), arch.ravel(), size),
    )


def deflect(
    nodes: Sequence[tuple[float, float]],
    beams: Sequence[Beam],
    clamped: Sequence[int],
    supported: Sequence[int] = (),
    point_loads: Sequence[tuple[int, float]] = (),
    *,
    lowered: Mapping[int, float] | None = None,
    curvature: float = 0.0,
) -> Deflected:
    """Solve the grid: ``clamped`` nodes do not move or turn, ``supported`` ones do not move.

    ``lowered`` nodes are held at that deflection (mm). ``curvature`` (1/mm) is what every beam would take without load,
    as it does with one warm face; positive: its middle rises.

    Raises ``NotConverged`` when the grid is not held or falls in pieces (a singular system).
    """
    grid = assembled(nodes, beams, curvature)
    load, size = grid.weight + grid.arch, 3 * len(nodes)
    for node, force in point_loads:
        load[3 * node] += force
    at_depth = lowered or {}
    held = {3 * n + d for n in clamped for d in range(3)} | {3 * n for n in (*supported, *at_depth)}
    free = np.array([d for d in range(size) if d not in held], dtype=np.int64)
    answer = np.zeros(size)
    for node, depth in at_depth.items():
        answer[3 * node] = depth
    wanted = (load - grid.stiff.times(answer))[free]
    answer[free] = solver_of(grid.stiff.among(free))(wanted)
    push = load - grid.stiff.times(answer)
    left = sound(answer, push[free], load)
    push[free] = 0.0
    return Deflected(_column(answer, 0), _column(answer, 1), _column(answer, 2), _column(push, 0), left)


def sound(answer: Floats, unbalanced: Floats, load: Floats) -> float:
    """The greatest force that nothing balances over the greatest load.

    Raises ``NotConverged`` when it is more than rounding, or the answer is not finite.
    """
    size_of_load = float(np.abs(load).max(initial=0.0)) or 1.0
    left = float(np.abs(unbalanced).max(initial=0.0)) / size_of_load
    if not np.isfinite(answer).all() or not left <= MOST_RESIDUAL:
        raise NotConverged(f"the frame's deflection could not be solved (residual {left:.1e})")
    return left


def _column(answer: Floats, first: int) -> tuple[float, ...]:
    return tuple(float(v) for v in answer[first::3])


def elements(
    nodes: Sequence[tuple[float, float]], beams: Sequence[Beam], curvature: float = 0.0
) -> tuple[Floats, Floats, Floats]:
    """Stiffness (n, 6, 6), loads by weight and by curvature (n, 6) of beams in (w, dw/dx, dw/dy) at start and end.

    A ``curvature`` of their own (1/mm) acts like a pair of end moments E I kappa.
    """
    ends = np.array([(nodes[beam.start], nodes[beam.end]) for beam in beams], dtype=float)
    bending, torsion, load = np.array([(b.bending, b.torsion, b.load) for b in beams], dtype=float).T
    away = ends[:, 1] - ends[:, 0]
    long = np.hypot(away[:, 0], away[:, 1])
    c, s = away[:, 0] / long, away[:, 1] / long
    e, g = bending / long**3, torsion / long
    local = np.zeros((len(beams), 6, 6))  # w, slope along, slope across, at each end
    local[:, 0, 0] = local[:, 3, 3] = 12 * e
    local[:, 0, 3] = local[:, 3, 0] = -12 * e
    for end in (1, 4):
        local[:, 0, end] = local[:, end, 0] = 6 * e * long
        local[:, 3, end] = local[:, end, 3] = -6 * e * long
        local[:, end, end] = 4 * e * long**2
    local[:, 1, 4] = local[:, 4, 1] = 2 * e * long**2
    local[:, 2, 2] = local[:, 5, 5] = g
    local[:, 2, 5] = local[:, 5, 2] = -g
    force = np.zeros((len(beams), 6))
    force[:, 0] = force[:, 3] = load * long / 2
    force[:, 1] = load * long**2 / 12
    force[:, 4] = -force[:, 1]
    moment = np.zeros((len(beams), 6))
    moment[:, 1], moment[:, 4] = -bending * curvature, bending * curvature
    turn = np.zeros((len(beams), 6, 6))
    for k in (0, 3):
        turn[:, k, k] = 1
        turn[:, k + 1, k + 1], turn[:, k + 1, k + 2] = c, s
        turn[:, k + 2, k + 1], turn[:, k + 2, k + 2] = -s, c
    back = turn.swapaxes(1, 2)
    weight, arch = (np.asarray((back @ each[:, :, None])[:, :, 0]) for each in (force, moment))
    return np.asarray(back @ local @ turn), weight, arch
