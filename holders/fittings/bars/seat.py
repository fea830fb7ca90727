"""Where the steel bars lie along a lid's rails, and which have room there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout, Place
from holders.design.model import EDGES, Rect
from holders.facts.models import Bar
from holders.facts.tables import bar, process, table
from holders.fittings.bars.table import FIT, NONE, Bars, lies_on
from holders.fittings.lid.bevel import bevel_of, on_plate
from holders.fittings.lid.frame import lid_lips
from holders.fittings.lid.table import Lid
from holders.preset.tables.plain import table_of

if TYPE_CHECKING:
    from holders.preset.resolve import Job

Pair = Literal["sides", "ends"]

SET_BACK_MM = (
    0.5  # of a bar on a lid behind the lid's inner edge: glue that is pressed out stays off the film
)
APART_MM = 0.5  # between bars that meet in a corner or of neighbouring lids
APART_IN_MM = 0.3  # of bars that are let in: their pockets run into one another and leave no thin wall
OUTSIDE_MM = 0.2  # a bar stays so far within the frame's outside, wherever its lid lies in its pocket
OVER_MM = 0.3  # least room between the frame and a bar that reaches out over it
SLIP_MM = 0.2  # of a pocket round its bar, each side and above
WALL_MM = 1.2  # of a printed lid outside a pocket: three lines
COVER_MM = 1.2  # of a printed lid above a pocket, with lettering 0.4 mm deep in it
LAMP_MM = 0.5  # below the scanner's lid
FIT_HIGH_MM = 5.0  # a higher one shades more of the picture, and has to be asked for
FIT_IN_MM = 10.0  # likewise the width of one that makes room for itself in a printed lid
EVEN = 1e-6


@dataclass(frozen=True, slots=True)
class Seat:
    """The room for bars on the lid of one film, mm.

    ``inner`` is the rectangle that the bars' inner faces lie on, ``bounds`` what they must stay within, ``body`` how
    far the rails reach, ``z0`` their underside, ``high`` how high they may be.
    """

    inner: Rect
    bounds: Rect
    body: Rect
    z0: float
    high: float

    def room(self, pair: Pair) -> float:
        """How wide the bars at two opposite edges may be."""
        if pair == "sides":
            return min(self.inner.x - self.bounds.x, self.bounds.right - self.inner.right)
        return min(self.inner.y - self.bounds.y, self.bounds.top - self.inner.top)


@dataclass(frozen=True, slots=True)
class Chosen:
    """The bars at the two pairs of edges; None for none."""

    sides: Bar | None
    ends: Bar | None


def let_in_mm(job: Job, wish: Bars) -> float:
    """How much wider than usual a printed lid's shoulder is for bars that are let in, mm."""
    lid = table_of(job.preset, Lid)
    if lid is None or job.printer is None or lies_on(wish, printed=True):
        return 0.0
    high = lid.thickness_mm - SLIP_MM - COVER_MM
    widths = []
    for pair, name in (("bars.sides", wish.sides), ("bars.ends", wish.ends)):
        if name == FIT:
            widths += [max((b.width_mm for b in _all() if _let_in(b, high)), default=0.0)]
        elif name != NONE:
            widths.append(bar(name, pair).width_mm)
    wide = max(widths, default=0.0)
    if wide == 0.0:
        return 0.0
    return max(0.0, lid.clearance_mm + WALL_MM + wide + 2 * SLIP_MM - process("print").shoulder_mm)


def _let_in(one: Bar, high: float) -> bool:
    return one.width_mm <= FIT_IN_MM and one.height_mm <= min(high, FIT_HIGH_MM)


def seats(job: Job, wish: Bars, layout: Layout, levels: Levels) -> tuple[Seat, ...]:
    """One for each film.

    Raises ``InputError`` where the bars cannot lie as they are wished to.
    """
    lid = table_of(job.preset, Lid)
    if lid is None or levels.over is None:
        raise InputError("bars", "(set)", "steel bars lie on a lid frame: add [lid], or leave [bars] out")
    printed, reach = job.printer is not None, lid_lips(lid, layout.lips)
    on = lies_on(wish, printed=printed)
    if on and job.kinds:  # they reach out over the frame, where the other kinds' lie
        raise InputError(
            "bars.place", "on", "bars glued on lids are for one kind of film, and this holder has several: let them "
            "into "
            'printed lids (place = "in"), or leave [bars] out',
        )  # fmt: skip
    if not on and not printed:
        raise InputError("bars.place", "in", 'only a printed lid has pockets for bars; set "on"')
    if job.printer is not None and not all(on_plate(place, job.printer) for place in layout.places):
        raise InputError(
            "bars", "(set)", "the lid is printed in pieces, and a bar would lie across their joints: leave [bars] out"
        )  # fmt: skip
    lean = bevel_of(job.printer, lid, layout, [reach.of(edge) for edge in EDGES], levels)
    found = []
    for place in layout.places:
        body = place.room.inset(*(lid.clearance_mm,) * 4)
        if on:
            z0 = levels.over[1] + levels.glue
            hole = place.film.inset(reach.left, reach.right, reach.head, reach.foot)
            inner = hole.grown((0.0 if lean is None else lean.back) + SET_BACK_MM)
            free = z0 - levels.top >= OVER_MM - EVEN
            bounds = _over_frame(place, layout, lid.clearance_mm) if free else body
            high = job.bed.lid_room_mm - LAMP_MM - z0
        else:
            z0 = levels.over[0] + levels.rim + SLIP_MM
            inner, bounds = place.pocket.grown(SLIP_MM), body.grown(-WALL_MM - SLIP_MM)
            high = levels.over[1] - z0 - COVER_MM
        found.append(Seat(inner, bounds, body, round(z0, 6), high))
    return tuple(found)


def _over_frame(place: Place, layout: Layout, clearance: float) -> Rect:
    """How far a bar may reach out over the frame: within its outside, off the calibration zone, half the way to the
    next lid's.
    """
    own, off = place.room, clearance + APART_MM / 2
    edge = layout.outer.grown(-clearance - OUTSIDE_MM)
    x0, x1, y0, y1 = edge.x, edge.right, edge.y, edge.top
    for other in layout.places:
        room = other.room
        if other is place:
            continue
        if room.y < own.top and room.top > own.y:
            if room.right <= own.x:
                x0 = max(x0, (room.right + own.x) / 2 + off)
            else:
                x1 = min(x1, (own.right + room.x) / 2 - off)
        elif room.top <= own.y:
            y0 = max(y0, (room.top + own.y) / 2 + off)
        else:
            y1 = min(y1, (own.top + room.y) / 2 - off)
    zone = layout.keep_open
    if zone is not None and zone.x < x1 and zone.right > x0:
        if zone.top <= own.y:
            y0 = max(y0, zone.top + clearance)
        elif zone.y >= own.top:
            y1 = min(y1, zone.y - clearance)
    return Rect(x0, y0, x1 - x0, y1 - y0)


def chosen(wish: Bars, places: Sequence[Seat]) -> Chosen:
    """The bars that were asked for, or the heaviest that have room.

    Raises ``InputError`` where one that was asked for has none, or none at all has.
    """
    found = Chosen(_one(wish.sides, "sides", places), _one(wish.ends, "ends", places))
    if found.sides is None and found.ends is None:
        sides, ends = (min(seat.room(pair) for seat in places) for pair in ("sides", "ends"))
        raise InputError(
            *(("bars.sides", wish.sides) if "sides" in wish.model_fields_set else ("bars", "(set)")),
            f"no bar of `holders list bars` has room: {max(0.0, sides):.1f} mm at the sides, {max(0.0, ends):.1f} mm "
            f"at head and foot, {max(0.0, min(seat.high for seat in places)):.1f} mm high; leave [bars] out, or make "
            "the lid thicker (print) or the frame's wall lower (cut sheet)",
        )
    return found


def _one(name: str, pair: Pair, places: Sequence[Seat]) -> Bar | None:
    wide, high = min(seat.room(pair) for seat in places), min(seat.high for seat in places)
    if name == NONE:
        return None
    if name == FIT:
        fit = [
            one
            for one in _all()
            if one.width_mm <= wide + EVEN and one.height_mm <= min(high, FIT_HIGH_MM) + EVEN
        ]
        return max(fit, key=lambda one: (one.area_mm2, one.width_mm), default=None)
    one = bar(name, f"bars.{pair}")
    for have, need, way in ((wide, one.width_mm, "wide"), (high, one.height_mm, "high")):
        if need > have + EVEN:
            raise InputError(
                f"bars.{pair}",
                name,
                f"there is room for a bar {max(0.0, math.floor(10 * have + EVEN) / 10):.1f} mm {way}: take a smaller "
                f'one, "{FIT}" or "{NONE}"',
            )
    return one


def _all() -> tuple[Bar, ...]:
    return tuple(row for row in table("bars") if isinstance(row, Bar))


def laid(seat: Seat, what: Chosen, *, on: bool) -> tuple[tuple[Rect, ...], tuple[Rect, ...]]:
    """The bars of one lid as seen from above: left and right, then foot and head.

    Bars at the ends run past those at the sides, which end before them.
    """
    inner, ends, sides = seat.inner, what.ends, what.sides
    within = seat.body if on else seat.bounds
    apart = APART_MM if on else APART_IN_MM
    side, end = (0.0 if one is None else one.width_mm for one in (sides, ends))
    low, high = (inner.y + apart, inner.top - apart) if end else (within.y, within.top)
    first, last = (inner.x - side, inner.right + side) if side else (within.x, within.right)
    upright = () if not side else tuple(Rect(x, low, side, high - low) for x in (inner.x - side, inner.right))
    level = () if not end else tuple(Rect(first, y, last - first, end) for y in (inner.y - end, inner.top))
    return upright, level
