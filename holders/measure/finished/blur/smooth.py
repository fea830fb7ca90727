"""What cells say together: film bends slowly, so neighbours lie at nearly the same distance from the sharp plane.

Sum-product message passing on the grid of cells (Pearl 1988, from memory; on a grid with loops an approximation): each
cell's evidence for each blur, joined with what its neighbours believe.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.spectra import F64

ROUNDS = 24
SLOPE = 0.45  # by how much blur changes from cell to cell (one standard deviation)
JUMP = 0.05  # how rarely it jumps: an edge that lifts over grit
OUTLIER = 0.002  # a cell whose dust or edges speak nonsense


def _alike(gap: F64) -> F64:
    return np.asarray(np.exp(-0.5 * (gap / SLOPE) ** 2) + JUMP / (1.0 + (gap / (4 * SLOPE)) ** 2))


def join(evidence: F64, steps: F64, row: NDArray[np.intp], column: NDArray[np.intp]) -> tuple[F64, F64]:
    """Beliefs of each cell (n, cores, steps), and what its neighbours alone let expect of it (same shape).

    Parameters
    ----------
    evidence:
        Likelihood of each step, (n, cores, steps), each cell's largest 1.
    steps:
        Blurs, (steps,).
    row, column:
        Where each cell lies, (n,).
    """
    n, cores, m = evidence.shape
    width = np.gradient(steps)
    gap = steps[:, None] - steps[None, :]
    # a blur is a distance without its sign: film that passes through the sharp plane comes back from nought
    both = steps[:, None] + steps[None, :]
    pair = _alike(gap) + _alike(both)
    # cells that say nothing must leave every blur as likely as any other, also at the ends of the range
    for _ in range(60):
        pair /= np.sqrt(pair @ width)[:, None] * np.sqrt(pair @ width)[None, :]
    pair = pair * width[None, :]
    grid = np.full((int(row.max()) + 1, int(column.max()) + 1), -1)
    grid[row, column] = np.arange(n)
    local = (evidence + OUTLIER) / (1.0 + OUTLIER)
    ways = ((0, 1), (0, -1), (1, 0), (-1, 0))
    opposite = (1, 0, 3, 2)
    neighbour = np.full((4, n), -1)
    for d, (dj, di) in enumerate(ways):
        j, i = row + dj, column + di
        good = (j >= 0) & (j < grid.shape[0]) & (i >= 0) & (i < grid.shape[1])
        neighbour[d, good] = grid[j[good], i[good]]
    come = np.ones((4, n, cores, m))  # from the neighbour in each direction
    for _ in range(ROUNDS):
        new = np.ones_like(come)
        for d in range(4):
            at = np.flatnonzero(neighbour[d] >= 0)
            other = neighbour[d, at]
            sent = local[other].copy()
            for k in range(4):
                if k != opposite[d]:
                    sent *= come[k, other]
            message = sent @ pair.T
            new[d, at] = message / message.max(axis=2, keepdims=True)
        come = 0.5 * come + 0.5 * new
    around = come.prod(axis=0) * width
    around /= around.sum(axis=2, keepdims=True)
    belief = around * local
    return belief / belief.sum(axis=2, keepdims=True), around
