"""A grid of straight beams that bend and twist, loaded by their own weight: small deflections, elastic.

Each node has its deflection w and the two slopes dw/dx and dw/dy; joints are rigid. Elements are Euler-Bernoulli
beams with Saint-Venant torsion, so nodal values are exact for the beams as modelled. Units N and mm.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.errors import NotConverged

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
    size = 3 * len(nodes)
    stiff, load = np.zeros((size, size)), np.zeros(size)
    for beam in beams:
        k, f = element(nodes[beam.start], nodes[beam.end], beam, curvature)
        at = [*range(3 * beam.start, 3 * beam.start + 3), *range(3 * beam.end, 3 * beam.end + 3)]
        stiff[np.ix_(at, at)] += k
        load[at] += f
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


def element(
    a: tuple[float, float], b: tuple[float, float], beam: Beam, curvature: float = 0.0
) -> tuple[Floats, Floats]:
    """Stiffness (6, 6) and load (6,) of one beam in (w, dw/dx, dw/dy) at start and end.

    A ``curvature`` of its own (1/mm) acts like a pair of end moments E I kappa.
    """
    length = math.dist(a, b)
    c, s = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    e, g = beam.bending / length**3, beam.torsion / length
    bend = e * np.array(
        [
            [12, 6 * length, -12, 6 * length],
            [6 * length, 4 * length**2, -6 * length, 2 * length**2],
            [-12, -6 * length, 12, -6 * length],
            [6 * length, 2 * length**2, -6 * length, 4 * length**2],
        ]
    )
    local = np.zeros((6, 6))  # w, slope along, slope across, at each end
    along = [0, 1, 3, 4]
    local[np.ix_(along, along)] = bend
    local[np.ix_([2, 5], [2, 5])] = g * np.array([[1, -1], [-1, 1]])
    q = beam.load
    force = np.array([q * length / 2, q * length**2 / 12, 0, q * length / 2, -q * length**2 / 12, 0])
    force += beam.bending * curvature * np.array([0, -1, 0, 0, 1, 0])
    turn = np.zeros((6, 6))
    for k in (0, 3):
        turn[k, k] = 1
        turn[k + 1, k + 1], turn[k + 1, k + 2] = c, s
        turn[k + 2, k + 1], turn[k + 2, k + 2] = -s, c
    return turn.T @ local @ turn, turn.T @ force
