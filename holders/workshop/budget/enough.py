"""Which heights of the finished ledge will do, by the chance that readings of it are judged by."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.design.model import Design
from holders.workshop.budget.as_made import AsMade, Readings

ENOUGH = 0.9  # the chance from which a holder is used as it is: nine times in ten, common practice, no source
SLACK = 0.05  # of the chance at the best height, where that is little over ENOUGH or below it
HOPELESS = 0.10  # a holder that does no better where it was meant is not worth making
UNEVEN_MM = 0.1  # each reading may be so far from the mean of the four
FAR_MM, STEP_MM, FINE_MM = 0.6, 0.05, 0.01
TINY = 1e-6


@dataclass(frozen=True, slots=True)
class Enough:
    """The mean heights of the ledge above a flat glass, mm, at which ``chance`` of a good scan or more is left.

    No reading is more than ``uneven_mm`` from the mean.
    """

    low_mm: float
    high_mm: float
    chance: float
    uneven_mm: float = UNEVEN_MM


def uneven(design: Design) -> Readings:
    """Readings whose mean is the designed height, as uneven as may be: the ledge falls from corner to corner."""
    plane = design.heights.ledge_above_glass
    return Readings(plane - UNEVEN_MM, plane + UNEVEN_MM, plane + UNEVEN_MM, plane - UNEVEN_MM)


def enough(made: AsMade) -> Enough | None:
    """The heights round the designed one that will do; None where the holder is hopeless as designed.

    ``made`` is the holder with :func:`uneven` readings. All heights leave nine good scans in ten or, where the best
    height does not leave that many with room to spare, nearly as many as the best height; the designed height is
    always among them.
    """
    plane = made.found.mean
    steps = round(FAR_MM / STEP_MM)
    grid = {k: made.chance(k * STEP_MM) for k in range(-steps, steps + 1)}
    if grid[0] < HOPELESS:
        return None
    least = min(ENOUGH, max(grid.values()) - SLACK, grid[0])
    low, high = (_end(made, grid, least, side) for side in (-1, 1))
    # rounded inward, the designed height kept
    first = min(math.ceil((plane + low) / FINE_MM - TINY) * FINE_MM, round(plane, 2))
    last = max(math.floor((plane + high) / FINE_MM + TINY) * FINE_MM, round(plane, 2))
    return Enough(round(first, 2), round(last, 2), least)


def _end(made: AsMade, grid: dict[int, float], least: float, side: int) -> float:
    """How far to one side of the designed height every chance is enough, mm, with the side's sign."""
    good = 0
    while good * side + 1 <= max(grid) and grid[good + side] >= least:
        good += side
    if good * side == max(grid):
        return good * STEP_MM
    near, far = good * STEP_MM, (good + side) * STEP_MM
    while abs(far - near) > FINE_MM / 2:
        middle = (near + far) / 2
        near, far = (middle, far) if made.chance(middle) >= least else (near, middle)
    return near
