"""How far a rail of a lid could bow up between what presses it, because curled film pushes along it: a bound.

A rail as long as the lid, on two ends that do not move, under half of what the film of usual curl pushes with, evenly:
5 F L³ / (384 E I) (any table of beams). Pressed in its middle alone it bows by 3/5 of that. Where a steel bar runs
along a part of it the rail is as much stiffer there, lid and bar bending side by side (glued to one another they are
stiffer still), and the deflection is the sum of curvatures by the unit load. The film eases off as the rail gives way,
and lifts it no farther than the film rises with no lid on it: the lesser of the two is the bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from holders.core.errors import NotConverged
from holders.design.model import Design, Part
from holders.design.parts.steel import LaidBar, bars_on
from holders.fittings.lid.bevel import reach_of
from holders.geometry.outline import bounds

if TYPE_CHECKING:
    from holders.film.models import Sheet

FREE_TOL, FREE_DEGREE, FREE_EFFORT = (
    1e-6,
    8,
    3.0,
)  # of the film without its lid: 1 % of its rise, in a hundredth of a second

NEAR_MM = 10.0  # from a rail's inner edge to the bar on it or in it: nearer than to any other rail
STEPS = 200


def rail_bow_mm(
    lids: Sequence[Part], modulus_mpa: float, push_n: float, bars: Sequence[LaidBar] = ()
) -> float | None:
    """The most that any rail of the lids bows by, mm; None where no lid is a whole frame.

    Parameters
    ----------
    lids:
        The lids' parts.
    modulus_mpa:
        Of their material.
    push_n:
        What one film pushes with in all; the rails at two opposite edges share it.
    bars:
        Steel bars on the lids.
    """
    found = []
    for lid in lids:
        high = sum(slab.z1 - slab.z0 for slab in lid.slabs)
        region = lid.slabs[0].region
        if len(region.holes) != 1:
            continue
        outer, hole = bounds(region.outer), bounds(region.holes[0])
        mine = bars_on(lid, bars)
        for axis in (0, 1):
            start, end = outer[1 - axis], outer[3 - axis]
            for wide, at in (
                (hole[axis] - outer[axis], hole[axis]),
                (outer[axis + 2] - hole[axis + 2], hole[axis + 2]),
            ):
                beside = [bar for bar in mine if bar.upright == (axis == 0) and _beside(bar, axis, at)]
                plain = wide - _taken(lid, beside, axis)
                if plain > 0 and high > 0:
                    stiff = modulus_mpa * second_moment(lid, plain)
                    soft = _softness((start, end), stiff, beside)
                    found.append(5 * push_n / 2 * (end - start) ** 3 / 384 * soft)
    return max(found, default=None)


def _beside(bar: LaidBar, axis: int, edge: float) -> bool:
    """Whether a bar lies along the rail whose inner edge is at ``edge``, and not along the opposite one."""
    r = bar.rect
    low, high = (r.x, r.right) if axis == 0 else (r.y, r.top)
    return min(abs(low - edge), abs(high - edge)) < NEAR_MM


def _taken(lid: Part, bars: Sequence[LaidBar], axis: int) -> float:
    """What of a rail's width the pockets of its bars take, as if they went through, mm."""
    if not any(bar.z0 < lid.z1 - 1e-6 for bar in bars):
        return 0.0
    return max(bar.rect.width if axis == 0 else bar.rect.height for bar in bars)


def _softness(span: tuple[float, float], stiff: float, bars: Sequence[LaidBar]) -> float:
    """1 / (E I) of a rail on two ends under an even load, as its middle's deflection weighs it along the rail."""
    start, end = span
    long, total, soft = end - start, 0.0, 0.0
    for k in range(STEPS):
        s = long * (k + 0.5) / STEPS
        weight = s * (long - s) * min(s, long - s)
        here = stiff + sum(bar.stiffness_nmm2 for bar in bars if bar.span()[0] <= start + s <= bar.span()[1])
        total += weight
        soft += weight / here
    return soft / total


def second_moment(lid: Part, wide_mm: float) -> float:
    """Of a lid's rail so wide at its foot, mm⁴: a rectangle, less the triangle that a bevel takes."""
    high = sum(slab.z1 - slab.z0 for slab in lid.slabs)
    back, rise = reach_of((lid,)) or (0.0, 0.0)
    area, cut = wide_mm * high, back * rise / 2
    down = high - rise / 3  # of the triangle's middle, which lies a third below the top
    axis = (area * high / 2 - cut * down) / (area - cut)
    whole = wide_mm * high**3 / 12 + area * (high / 2 - axis) ** 2
    return whole - back * rise**3 / 36 - cut * (down - axis) ** 2


def free_rise_mm(sheet: Sheet, design: Design) -> float | None:
    """How far any place of a film lies above its ledge with no lid on it, mm; None where no shape is found."""
    from holders.design.held.held_film import lips_of  # noqa: PLC0415 - numpy
    from holders.film.models import Kind, Support  # noqa: PLC0415
    from holders.film.solver.interior import Effort  # noqa: PLC0415
    from holders.film.surface import solve_surface  # noqa: PLC0415 - scipy

    window = design.mine[0]
    ledge = design.heights.ledge_above_glass
    bare = Support(kind=Kind.LEDGE, ledge_height_mm=ledge, lips=lips_of(window.lips))
    try:
        free = solve_surface(sheet, bare, tol=FREE_TOL, resolution=FREE_DEGREE, effort=Effort(FREE_EFFORT))
    except NotConverged:
        return None
    return free.max_rise_mm
