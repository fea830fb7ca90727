"""Where anti-slip feet stand: on the underside, out of the light that the lens sees, off notches and calibration zone.

A foot under the lamp area is harmless where the frame above it is opaque anyway. What it must keep off is the light on
its way from the picture to the lens, which leans toward the middle of the bed below a window (``lit_below``).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from holders.core.errors import InputError
from holders.design.draft.bed import outer_radius_mm
from holders.design.draft.levels import Levels, levels_at
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout
from holders.design.height.heights import foot_recess
from holders.design.model import Foot, Rect
from holders.facts.models import Process
from holders.preset.resolve import Job
from holders.preset.tables.holding import Feet

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
LONG_WAY_MM = 10.0  # a strip lies across its rail's end rather than so much farther from its wish

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
    levels: Sequence[Levels],
) -> tuple[Foot, ...]:
    """Feet nearest to their wished spots.

    Parameters
    ----------
    layout, notches:
        Of the part that the feet stand under: the frame, or the carrier of an insert.
    flare:
        How far the windows are wider at the underside than at the ledge, mm.
    levels:
        Heights of that part for each kind of film: its underside, and the ledge that a recess must leave a floor
        below.

    Raises
    ------
    InputError
        When fewer fit than asked; it names a smaller foot or a lesser number only where that does fit.
    """
    table = job.preset.feet
    if table is None:
        return ()
    blocked = _blocked(job, layout, notches, flare, levels)
    found: list[Foot] = []
    for length in _lengths(table):
        found = _placed(job, layout, blocked, table.count, table.diameter_mm, rules, length)
        if len(found) == table.count:
            return tuple(found)
    if len(found) < table.count:
        raise InputError(
            "feet.count",
            table.count,
            f"only {len(found)} feet of {table.diameter_mm:g} mm find room beside windows, notches and calibration "
            f"zone; {_way_out(job, layout, blocked, rules, len(found))}",
        )
    return tuple(found)


def _lengths(table: Feet) -> tuple[float, ...]:
    """The lengths of strips to try, the longest first; 0 for round feet."""
    if table.form == "round":
        return (0.0,)
    longest = max(table.length_mm, table.diameter_mm)
    return tuple(
        dict.fromkeys(max(round(longest * share), table.diameter_mm) for share in (1.0, 2 / 3, 1 / 2, 0.0))
    )


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
    job: Job,
    layout: Layout,
    blocked: tuple[Rect, ...],
    count: int,
    diameter: float,
    rules: Process,
    length: float = 0.0,
) -> list[Foot]:
    """Up to ``count`` feet, strips ``length`` long along the nearest rail; fewer where no more find room."""
    beside, wall, o, chosen = _beside(job), _wall(job), layout.outer, list[Foot]()
    rounding = outer_radius_mm(job.preset)
    corners = rounding, rules.corner_cut_mm, rules.corner_form
    end = max(beside, rounding) if length else beside
    for share_x, share_y in WISHES[count]:
        wish = (o.x + share_x * o.width, o.y + share_y * o.height)
        found: list[tuple[float, float, float, Foot]] = []
        for upright in (True, False) if length else (False,):
            shape = Foot(0.0, 0.0, diameter, length_mm=length, upright=upright)
            core, radius = shape.core
            half = core.width / 2, core.height / 2
            rim = (beside, end) if upright else (end, beside)
            spots = _spots(o, half, radius, (rim, wall), blocked, corners)
            spots = _apart(spots, shape, chosen, max(beside, 2 * FOOT_SLIP_MM + wall))
            if len(spots):
                away = _distance(spots, wish)
                # of spots as near as the nearest always the same one, whatever the last digits say
                x, y = min(spots[away <= away.min() + ALIKE_MM].tolist())
                along_rail = 0.0 if upright == (share_x in (0, 1)) else LONG_WAY_MM
                found.append((round(float(away.min()) + along_rail, 6), x, y, shape))
        if not found:
            break
        _, x, y, shape = min(found, key=lambda one: one[:3])
        chosen.append(replace(shape, x=x, y=y))
    return chosen


def _apart(
    spots: NDArray[np.float64], shape: Foot, chosen: Sequence[Foot], apart_mm: float
) -> NDArray[np.float64]:
    """Of spots those at which a foot stays so far from the others."""
    import numpy as np  # noqa: PLC0415 - the list of checks stays instant

    core, radius = shape.core
    for other in chosen:
        its, its_radius = other.core
        dx = np.maximum(np.abs(spots[:, 0] - other.x) - (core.width + its.width) / 2, 0.0)
        dy = np.maximum(np.abs(spots[:, 1] - other.y) - (core.height + its.height) / 2, 0.0)
        spots = spots[np.hypot(dx, dy) >= radius + its_radius + apart_mm]
    return spots


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
        if n <= have
        and len(_placed(job, layout, blocked, n, table.diameter_mm, rules, _lengths(table)[-1])) == n
    ]
    if fewer:
        ways.append(f"take {max(fewer)}")
    size = math.ceil(table.diameter_mm / DIAMETER_STEP_MM - 1) * DIAMETER_STEP_MM
    while size >= LEAST_DIAMETER_MM:
        least = 0.0 if table.form == "round" else size
        if len(_placed(job, layout, blocked, table.count, size, rules, least)) == table.count:
            ways.append(f"take feet of at most {size:g} mm")
            break
        size -= DIAMETER_STEP_MM
    return " or ".join(ways) or "leave out [feet]: no smaller or fewer ones find room either"


def _distance(spots: NDArray[np.float64], point: tuple[float, float]) -> NDArray[np.float64]:
    import numpy as np  # noqa: PLC0415 - the list of checks stays instant

    return np.hypot(spots[:, 0] - point[0], spots[:, 1] - point[1])


def _blocked(
    job: Job, layout: Layout, notches: tuple[tuple[Notch, ...], ...], flare: float, levels: Sequence[Levels]
) -> tuple[Rect, ...]:
    bed, found = job.bed, []
    if layout.keep_open is not None:
        found.append(layout.keep_open)
    layer = 0.0 if job.printer is None else job.printer.layer_mm
    for place, mine in zip(layout.places, notches, strict=True):
        own = levels_at(levels, place)
        thin = own.ledge - own.under - foot_recess(job) < LEAST_FLOOR_LAYERS * layer - 1e-9
        lit = [
            lit_below(place.opening, bed.glass_width_mm / 2 - across, bed.lens_distance_mm, own.ledge)
            for across in sorted({across for across, _ in layout.moves.stands})
        ]
        # the window as wide as at the underside, and beyond it the light that leans out below
        found += [place.opening.grown(flare), *lit]
        found.extend(notch.rect(place.room) for notch in mine)
        if thin:  # a recess below the pocket would leave no floor under the film
            found.append(place.room)
    return tuple(found)


@lru_cache(maxsize=16)  # a holder is designed again when its ledge has moved, and feet have no heights
def _spots(
    o: Rect,
    half: tuple[float, float],
    radius: float,
    keep: tuple[tuple[float, float], float],
    blocked: tuple[Rect, ...],
    corners: tuple[float, float, Literal["hollow", "stepped"]],
) -> NDArray[np.float64]:
    """Grid points (n, 2) at which a foot of half that size, and a radius round it, finds room, mm.

    ``keep`` is what stays between it and the holder's rim across and along, and between it and blocked rectangles;
    ``corners`` the radius that rounds the holder, and how much of its home corner is taken off in which form.
    """
    import numpy as np  # noqa: PLC0415 - the list of checks stays instant

    (rim_x, rim_y), away = keep[0], radius + keep[1]
    reach = radius + min(keep[0])
    in_x, in_y = half[0] + radius + rim_x, half[1] + radius + rim_y
    xs = np.array(_steps(o.x + in_x, o.right - in_x))
    ys = np.array(_steps(o.y + in_y, o.top - in_y))
    if not len(xs) or not len(ys):
        return np.empty((0, 2))
    x, y = xs[None, :], ys[:, None]
    near_x, near_y = x - half[0] - o.x, y - half[1] - o.y
    rounding, corner, form = corners
    past_x = np.maximum(o.x + rounding - x, x - o.right + rounding) + half[0]
    past_y = np.maximum(o.y + rounding - y, y - o.top + rounding) + half[1]
    inside = (np.minimum(past_x, past_y) <= 0) | (np.hypot(past_x, past_y) <= rounding - reach)
    if form == "hollow":
        clear = np.hypot(near_x, near_y) - corner >= reach
    else:
        clear = np.hypot(np.maximum(near_x - corner, 0.0), np.maximum(near_y - corner, 0.0)) >= reach
    clear &= inside
    for b in blocked:
        across = np.maximum(b.x - x, x - b.right) - half[0]
        along = np.maximum(b.y - y, y - b.top) - half[1]
        # what is glued on keeps nothing from it, and still does not enter
        beside = np.maximum(across, along) >= -ALIKE_MM
        clear &= beside & (np.maximum(across, 0.0) ** 2 + np.maximum(along, 0.0) ** 2 >= away**2)
    j, i = np.nonzero(clear)
    spots = np.stack([xs[i], ys[j]], axis=1)
    spots.flags.writeable = False
    return spots


def _steps(low: float, high: float) -> list[float]:
    if high < low:
        return []
    count = max(1, math.floor((high - low) / GRID_MM))
    return [low + (high - low) * k / count for k in range(count + 1)]
