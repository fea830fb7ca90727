"""The frame as it will be made: whole, or as a carrier with an insert; and where feet, notches and buttons are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.design.fittings.carrier import (
    carrier,
    carrier_layout,
    insert_layout,
    insert_outline,
    least_from,
    pocket_key,
)
from holders.design.fittings.channel import channel, raised
from holders.design.fittings.cover import Button, buttons
from holders.design.height.bed import followed
from holders.design.height.heights import foot_recess
from holders.design.height.levels import Levels
from holders.design.model import Carrier, Channel, Foot, Part, Rect, Role
from holders.design.plan.feet import feet
from holders.design.plan.frame import Relief, Shape, frame_texts, free_strips, parts
from holders.design.plan.layout import Layout, lay_out
from holders.design.plan.notches import Notch, notches
from holders.design.plan.relief import room_for_relief
from holders.design.plan.shell import shell
from holders.facts.tables import process
from holders.geometry.outline import Outline
from holders.measure.bed.record import Measured
from holders.preset.resolve import Job


@dataclass(frozen=True, slots=True)
class Body:
    """What carries the film. ``layout`` and ``levels`` are those of the part with the windows: the insert, if any."""

    layout: Layout
    levels: Levels
    under: float  # of the whole frame, above the glass
    relief: Relief
    notches: tuple[tuple[Notch, ...], ...]
    buttons: tuple[tuple[Button, ...], ...]
    recess: float  # of the feet, where the windows' part lies over them
    feet: tuple[Foot, ...]
    uneven: tuple[str, ...]  # what the feet cannot follow, in words
    frame: tuple[Part, ...]
    strips: tuple[Rect, ...]  # plain parts of the top for lettering
    texts: tuple[str, ...]  # what should be lettered
    channel: Channel | None
    carrier: Carrier | None


def body(job: Job, layout: Layout, heights: Levels, places: Sequence[Measured]) -> Body:
    """The frame's parts.

    Raises ``InputError`` when something has no room.
    """
    rules, wished = process(job.preset.route), job.preset.layout.finger_notches
    bed = carrier(job, heights)
    inner = layout if bed is None else insert_layout(layout, bed)
    own = raised(job, inner, heights if bed is None else replace(heights, under=bed.floor))
    relief = _relief(job, inner, own)
    bays = notches(inner, rules, wished)
    arc = channel(job, inner, own)
    turns = buttons(job, inner, bays, rules.corner_cut_mm if bed is None else bed.key)
    base = layout if bed is None else carrier_layout(layout, bed)
    held = heights if bed is None else replace(heights, below=(bed.floor,))
    stands = feet(job, base, bays if bed is None else ((),), rules, relief.flare + relief.step, held)
    stands, uneven = followed(job, layout, stands, places)
    recess = foot_recess(job)
    outside, holes = _outside(job, base)
    if bed is None:
        shape = Shape(job, inner, own, rules, bays, stands, recess, relief, outside, holes, turns, arc)
        frame, strips = parts(shape), free_strips(shape)
        own_kept = recess, stands, uneven, frame, tuple(strips), frame_texts(shape), arc, None
        return Body(inner, own, heights.under, relief, bays, turns, *own_kept)
    shape = Shape(job, inner, own, rules, bays, (), 0.0, relief, insert_outline(bed, rules), (), turns, arc)
    shape = replace(shape, texts=frame_texts(shape, f"insert {bed.fit}"))
    below = Levels(heights.under, (bed.floor,), None, own.top, None, None)
    around = Shape(
        job,
        base,
        below,
        rules,
        notches(base, rules, wished),
        stands,
        recess,
        Relief(bed.floor - heights.under, 0.0, 0.0),
        outside,
        holes,
        texts=("this side up", f"carrier {bed.fit}"),
        key=pocket_key(bed),
    )
    frame = (
        replace(parts(around)[0], name="carrier", title="carrier", role=Role.CARRIER),
        replace(parts(shape)[0], name="insert", title="insert", role=Role.INSERT),
    )
    kept = (
        0.0,
        stands,
        uneven,
        frame,
        tuple(free_strips(around)),
        (*(around.texts or ()), *(shape.texts or ())),
        arc,
        bed,
    )
    return Body(inner, own, heights.under, relief, bays, turns, *kept)


def _outside(job: Job, layout: Layout) -> tuple[Outline, tuple[Outline, ...]]:
    """The holder's outline and the hole for the calibration zone."""
    try:
        return shell(layout, job.preset.layout.corner_radius_mm, process(job.preset.route))
    except ValueError as error:
        if job.preset.layout.anchor == "home-corner":
            raise InputError("layout.anchor", "home-corner", f"{error}; {_elsewhere(job)}") from None
        raise InputError(
            "bed.calibration_x_mm", job.bed.calibration_x_mm, f"{error}; set layout.outer_* smaller"
        ) from None


def _elsewhere(job: Job) -> str:
    """Other places on the glass where a small holder leaves the calibration zone open, each tried."""
    ways = []
    for anchor in ("head-corner", "middle"):
        moved = job.preset.layout.model_copy(update={"anchor": anchor})
        other = replace(job, preset=job.preset.model_copy(update={"layout": moved}))
        try:
            shell(lay_out(other), moved.corner_radius_mm, process(job.preset.route))
        except (ValueError, InputError):
            continue
        ways.append(f'set layout.anchor = "{anchor}"')
    return " or ".join(ways) or "make the holder as large as the glass"


def _relief(job: Job, layout: Layout, heights: Levels) -> Relief:
    """Chamfer or step under the window edges, as large as the walls allow."""
    rules = process(job.preset.route)
    below = heights.ledge - heights.under
    if job.preset.layout.relief == "none":
        return Relief(below, 0.0, 0.0)
    wall = layout.wall if job.preset.carrier is None else least_from(job, layout)
    room = room_for_relief(layout.places, layout.outer, layout.keep_open, wall)
    if job.printer is not None:
        land = min(below, rules.land_mm)
        flare = min((below - land) * rules.relief_slope, room)
        return Relief(land, flare, 0.0)
    if len(heights.below) < 2:
        return Relief(below, 0.0, 0.0)
    lip_sheet = heights.below[-1] - heights.below[-2]
    return Relief(lip_sheet, 0.0, min(rules.relief_step_mm, room))
