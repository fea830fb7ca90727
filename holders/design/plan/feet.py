"""Where anti-slip feet stand: on the underside, out of the light that the lens sees, off notches and calibration zone.

A foot under the lamp area is harmless where the frame above it is opaque anyway. What it must keep off is the light on
its way from the picture to the lens, which leans toward the middle of the bed below a window (``lit_below``).
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import TYPE_CHECKING

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout
from holders.design.height.heights import foot_recess
from holders.design.model import Foot, Rect
from holders.facts.models import Process
from holders.preset.resolve import Job

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

EDGE_MM = 1.5  # material left beside a foot
FOOT_SLIP_MM = 0.15  # a foot's recess is this much larger in radius
LEAST_FLOOR_LAYERS = 3  # above a recess
LINES_BESIDE = 2  # nozzle widths that a wall beside a recess needs
LEAST_DIAMETER_MM, DIAMETER_STEP_MM = 2.0, 0.5
GRID_MM = 2.0
ALIKE_MM = 1e-9

# where feet would like to stand, as shares of the free width and length: spread wide, never in one line
WISHES: dict[int, tuple[tuple[float, float], ...]] = {
    3: ((0, 0), (1, 0), (0.5, 1)),
    4: ((0, 0), (1, 0), (0, 1), (1, 1)),
    5: ((0, 0), (1, 0), (0, 1), (1, 1), (0.5, 1)),
    6: ((0, 0), (1, 0), (0, 1), (1, 1), (0, 0.5), (1, 0.5)),
    7: ((0, 0), (1, 0), (0, 1), (1, 1), (0, 0.5), (1, 0.5), (0.5, 1)),
    8: ((0, 0), (1, 0), (0, 1), (1, 1), (0, 0.5), (1, 0.5), (0.5, 1), (0.5, 0)),
}


def feet(
    job: Job,
    layout: Layout,
    notches: tuple[tuple[Notch, ...], ...],
    rules: Process,
    flare: float,
    levels: Levels,
) -> tuple[Foot, ...]:
    """Feet nearest to their wished spots.

    Parameters
    ----------
    layout, notches:
        Of the part that the feet stand under: the frame, or the carrier of an insert.
    flare:
        How far the windows are wider at the underside than at the ledge, mm.
    levels:
        Heights of that part: its underside, and the ledge that a recess must leave a floor below.

    Raises
    ------
    InputError
        When fewer fit than asked; it names a smaller foot or a lesser number only where that does fit.
    """
    table = job.preset.feet
    if table is None:
        return ()
    blocked = _blocked(job, layout, notches, flare, levels)
    found = _placed(job, layout, blocked, table.count, table.diameter_mm, rules)
    if len(found) < table.count:
        raise InputError(
            "feet.count",
            table.count,
            f"only {len(found)} feet of {table.diameter_mm:g} mm find room beside windows, notches and calibration "
            f"zone; {_way_out(job, layout, blocked, rules, len(found))}",
        )
    return tuple(Foot(x, y, table.diameter_mm) for x, y in found)


def lit_below(opening: Rect, lens_x: float, lens_distance_mm: float, height_mm: float) -> Rect:
    """The window with all the light below it that goes from the picture to the lens.

    Parameters
    ----------
    opening:
        The window's edge at the ledge.
    lens_x, lens_distance_mm:
        Where the lens stands across the bed, and the way of the light to it, mm.
    height_mm:
        Of the film above the glass; the light leans by height x sideways / distance until it reaches the glass. Head
        and foot see no slant, as the lens travels along.
    """

    def lean(x: float) -> float:
        return height_mm * (lens_x - x) / lens_distance_mm

    return opening.inset(-max(0.0, -lean(opening.x)), -max(0.0, lean(opening.right)), 0.0, 0.0)


def _placed(
    job: Job, layout: Layout, blocked: tuple[Rect, ...], count: int, diameter: float, rules: Process
) -> list[tuple[float, float]]:
    """Middles of up to ``count`` feet; fewer where no more find room."""
    beside = _beside(job)
    reach = diameter / 2 + beside
    spots = _spots(layout.outer, reach, diameter / 2 + _wall(job), blocked, rules.corner_cut_mm)
    o, chosen = layout.outer, list[tuple[float, float]]()
    for share_x, share_y in WISHES[count]:
        if not len(spots):
            break
        away = _distance(spots, (o.x + share_x * o.width, o.y + share_y * o.height))
        # of spots as near as the nearest always the same one, whatever the last digits say
        nearest = spots[away <= away.min() + ALIKE_MM]
        x, y = min(nearest.tolist())
        chosen.append((x, y))
        spots = spots[_distance(spots, (x, y)) >= diameter + max(beside, 2 * FOOT_SLIP_MM + _wall(job))]
    return chosen


def _wall(job: Job) -> float:
    """What a foot keeps from windows beside it: a printed recess needs a wall there, a glued-on foot nothing."""
    if job.printer is None or foot_recess(job) <= 0:
        return 0.0
    return FOOT_SLIP_MM + LINES_BESIDE * job.printer.nozzle_mm


def _beside(job: Job) -> float:
    """What a foot keeps from the rim and from other feet."""
    return max(EDGE_MM, _wall(job))


def _way_out(job: Job, layout: Layout, blocked: tuple[Rect, ...], rules: Process, have: int) -> str:
    """Smaller feet or fewer of them, whichever do find room."""
    table = job.preset.feet
    assert table is not None
    ways = []
    fewer = [
        n
        for n in WISHES
        if n <= have and len(_placed(job, layout, blocked, n, table.diameter_mm, rules)) == n
    ]
    if fewer:
        ways.append(f"take {max(fewer)}")
    size = math.ceil(table.diameter_mm / DIAMETER_STEP_MM - 1) * DIAMETER_STEP_MM
    while size >= LEAST_DIAMETER_MM:
        if len(_placed(job, layout, blocked, table.count, size, rules)) == table.count:
            ways.append(f"take feet of at most {size:g} mm")
            break
        size -= DIAMETER_STEP_MM
    return " or ".join(ways) or "leave out [feet]: no smaller or fewer ones find room either"


def _distance(spots: NDArray[np.float64], point: tuple[float, float]) -> NDArray[np.float64]:
    import numpy as np  # noqa: PLC0415 - the list of checks stays instant

    return np.hypot(spots[:, 0] - point[0], spots[:, 1] - point[1])


def _blocked(
    job: Job, layout: Layout, notches: tuple[tuple[Notch, ...], ...], flare: float, levels: Levels
) -> tuple[Rect, ...]:
    bed, found = job.bed, []
    if layout.keep_open is not None:
        found.append(layout.keep_open)
    layer = 0.0 if job.printer is None else job.printer.layer_mm
    thin = levels.ledge - levels.under - foot_recess(job) < LEAST_FLOOR_LAYERS * layer - 1e-9
    for place, mine in zip(layout.places, notches, strict=True):
        lit = lit_below(place.opening, bed.glass_width_mm / 2, bed.lens_distance_mm, levels.ledge)
        # the window as wide as at the underside, and beyond it the light that leans out below
        found += [place.opening.grown(flare), lit]
        found.extend(notch.rect(place.room) for notch in mine)
        if thin:  # a recess below the pocket would leave no floor under the film
            found.append(place.room)
    return tuple(found)


@lru_cache(maxsize=8)  # a holder is designed again when its ledge has moved, and feet have no heights
def _spots(
    o: Rect, reach: float, away: float, blocked: tuple[Rect, ...], corner: float
) -> NDArray[np.float64]:
    """Grid points (n, 2) at least ``reach`` from the holder's rim and ``away`` from every blocked rectangle, mm."""
    import numpy as np  # noqa: PLC0415 - the list of checks stays instant

    xs = np.array(_steps(o.x + reach, o.right - reach))
    ys = np.array(_steps(o.y + reach, o.top - reach))
    x, y = xs[None, :], ys[:, None]
    clear = (x - o.x + y - o.y - corner) / math.sqrt(2) >= reach
    for b in blocked:
        across = np.maximum(np.maximum(b.x - x, x - b.right), 0.0)
        along = np.maximum(np.maximum(b.y - y, y - b.top), 0.0)
        clear &= across**2 + along**2 >= away**2
    j, i = np.nonzero(clear)
    spots = np.stack([xs[i], ys[j]], axis=1)
    spots.flags.writeable = False
    return spots


def _steps(low: float, high: float) -> list[float]:
    if high < low:
        return []
    count = max(1, math.floor((high - low) / GRID_MM))
    return [low + (high - low) * k / count for k in range(count + 1)]
