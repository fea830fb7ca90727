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

Floats = NDArray[np.float64]


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
    """Beams put together: stiffness (3 n, 3 n) and load (3 n,), each node's in the order w, dw/dx, dw/dy."""

    stiff: Floats
    load: Floats


def assembled(nodes: Sequence[tuple[float, float]], beams: Sequence[Beam], curvature: float = 0.0) -> Grid:
    """The grid's matrix, which any supports may be tried on; ``curvature`` as for :func:`deflect`."""
    size = 3 * len(nodes)
    stiff, load = np.zeros((size, size)), np.zeros(size)
    if beams:
        k, f = elements(nodes, beams, curvature)
        first = 3 * np.array([(beam.start, beam.end) for beam in beams])
        at = (first[:, :, None] + np.arange(3)).reshape(-1, 6)
        np.add.at(stiff, (at[:, :, None], at[:, None, :]), k)
        np.add.at(load, at, f)
    return Grid(stiff, load)


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
    return settled(assembled(nodes, beams, curvature), clamped, supported, point_loads, lowered=lowered)


def settled(
    grid: Grid,
    clamped: Sequence[int],
    supported: Sequence[int] = (),
    point_loads: Sequence[tuple[int, float]] = (),
    *,
    lowered: Mapping[int, float] | None = None,
) -> Deflected:
    """The same for a grid that is put together already."""
    stiff, load, size = grid.stiff, grid.load.copy(), len(grid.load)
    for node, force in point_loads:
        load[3 * node] += force
    at_depth = lowered or {}
    held = {3 * n + d for n in clamped for d in range(3)} | {3 * n for n in (*supported, *at_depth)}
    free = [d for d in range(size) if d not in held]
    answer = np.zeros(size)
    for node, depth in at_depth.items():
        answer[3 * node] = depth
    inner = stiff[np.ix_(free, free)]
    wanted = load[free] - stiff[free] @ answer
    if free and float(np.diag(inner).min()) <= 0:
        raise NotConverged("a part of the frame has no stiffness at all")
    # slopes are scaled by a length so that the entries are alike
    scale = 1 / np.sqrt(np.diag(inner))
    try:
        answer[free] = scale * np.linalg.solve(inner * np.outer(scale, scale), scale * wanted)
    except np.linalg.LinAlgError:
        raise NotConverged("the frame's beams do not hang together or nothing holds them") from None
    size_of_load = float(np.abs(load).max()) or 1.0
    left = float(np.abs(inner @ answer[free] - wanted).max() / size_of_load) if free else 0.0
    if not np.isfinite(answer).all() or left > 1e-5:
        raise NotConverged(f"the frame's deflection could not be solved (residual {left:.1e})")
    push = load - stiff @ answer
    push[free] = 0.0
    return Deflected(_column(answer, 0), _column(answer, 1), _column(answer, 2), _column(push, 0), left)


def _column(answer: Floats, first: int) -> tuple[float, ...]:
    return tuple(float(v) for v in answer[first::3])


def elements(
    nodes: Sequence[tuple[float, float]], beams: Sequence[Beam], curvature: float = 0.0
) -> tuple[Floats, Floats]:
    """Stiffness (n, 6, 6) and load (n, 6) of beams in (w, dw/dx, dw/dy) at start and end.

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
    force[:, 1] = load * long**2 / 12 - bending * curvature
    force[:, 4] = -force[:, 1]
    turn = np.zeros((len(beams), 6, 6))
    for k in (0, 3):
        turn[:, k, k] = 1
        turn[:, k + 1, k + 1], turn[:, k + 1, k + 2] = c, s
        turn[:, k + 2, k + 1], turn[:, k + 2, k + 2] = -s, c
    back = turn.swapaxes(1, 2)
    return back @ local @ turn, (back @ force[:, :, None])[:, :, 0]
