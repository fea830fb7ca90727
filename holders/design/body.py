"""The frame as it will be made: whole, or as a carrier with an insert; and where feet, notches and catches are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.design.draft.bed import outer_radius_mm
from holders.design.draft.levels import Levels, highest, lowest
from holders.design.draft.notches import Notch, notches
from holders.design.draft.places import Layout
from holders.design.height.heights import foot_recess
from holders.design.model import Edge, Foot, Part, Rect
from holders.design.plan.feet import feet
from holders.design.plan.frame import Relief, Shape, parts
from holders.design.plan.layout import lay_out
from holders.design.plan.lettering_place import frame_texts, free_strips, lettering, wanted_texts
from holders.design.plan.lighten import trays
from holders.design.plan.pins import pins
from holders.design.plan.relief import room_for_relief
from holders.design.plan.shell import shell
from holders.design.plan.tilt import followed
from holders.facts.models import Printer
from holders.facts.tables import process
from holders.fittings.base import Added, Nest, Stage
from holders.fittings.registry import fitted_in
from holders.geometry.outline import Outline
from holders.measure.bed.record import Measured
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset


@dataclass(frozen=True, slots=True)
class Body:
    """What carries the film. ``layout`` and ``levels`` are those of the part with the windows: the inner one of two."""

    layout: Layout
    levels: Levels
    under: float  # of the whole frame, above the glass
    relief: Relief
    notches: tuple[tuple[Notch, ...], ...]
    feet: tuple[Foot, ...]
    uneven: tuple[str, ...]  # what the feet cannot follow, in words
    frame: tuple[Part, ...]
    strips: tuple[Rect, ...]  # plain parts of the top for lettering
    texts: tuple[str, ...]  # what should be lettered
    added: tuple[Added, ...]  # by the fittings
    over: tuple[Part, ...]  # the fittings' own parts
    nest: Nest | None
    each: tuple[Levels, ...]  # heights of every kind of film, or the one
    by_kind: tuple[tuple[Added, ...], ...]  # what the fittings added for each of them


def body(job: Job, layout: Layout, each: tuple[Levels, ...], places: Sequence[Measured]) -> Body:
    """The frame's parts; ``each`` has the heights of every kind of film in the holder.

    Raises ``InputError`` when something has no room.
    """
    heights = highest(each)
    rules, kinds = process(job.preset.route), fitted_in(job.preset)
    wished = (
        job.preset.layout.finger_notches and not heights.flat
    )  # a notch opens a wall, and there may be none
    nest = next((made for kind in kinds if (made := kind.nest(job, layout, heights)) is not None), None)
    inner = layout if nest is None else nest.inner
    own = heights if nest is None else replace(heights, under=nest.floor)
    low = own if nest is not None else lowest(each)
    relief = _relief(job.printer, job.preset, inner, low, 0.0 if nest is None else nest.seat)
    beside = [room for kind in kinds if (room := kind.opening(job)) is not None]
    if nest is not None or any(kind.settles_film for kind in kinds):
        beside = []  # a carrier's floor lies below; a channel's rails end there
    tabs, without = sum(kind.tabs(job) for kind in kinds), frozenset[Edge]()
    without = without.union(*(kind.open_edges(inner) for kind in kinds))
    under = max((kind.undercut_mm(job) for kind in kinds), default=0.0)
    bays = notches(inner, rules, wished, tabs, max(beside, default=None), without, under)
    recess = foot_recess(job)
    corner = rules.corner_cut_mm if nest is None else nest.corner
    stage = Stage(inner, own, bays, recess if nest is None else 0.0, corner, nest)
    by_kind, over = _fitted(job, stage, each if nest is None else (own,))
    added = tuple(one for mine in by_kind for one in mine)
    base = layout if nest is None else nest.outer
    held = each if nest is None else (replace(heights, below=(nest.floor,)),)
    stands = feet(job, base, bays if nest is None else ((),), rules, relief.flare + relief.step, held)
    stands, uneven = followed(job, layout, stands, places)
    outside, holes = _outside(job, base)
    if job.preset.route == "laser" and nest is None and not heights.flat:
        holes = (*holes, *pins(base, rules, outer_radius_mm(job.preset), _beside(inner, bays, added), stands))
    hollow = trays(
        job.printer, job.preset.layout, inner, _beside(inner, bays, added), stands, nested=nest is not None
    )
    if nest is None:
        shape = Shape(
            job, inner, own, rules, bays, stands, recess, relief, outside, holes, added, trays=hollow,
            each=each if job.kinds else (),
        )  # fmt: skip
        frame, strips = parts(shape, lettering(shape)), free_strips(shape)
        texts = wanted_texts(shape)
    else:
        shape = Shape(job, inner, own, rules, bays, (), 0.0, relief, nest.outline, (), added)
        around = Shape(
            job,
            base,
            Levels(heights.under, (nest.floor,), own.top),
            rules,
            notches(base, rules, wished),
            stands,
            recess,
            Relief(nest.floor - heights.under, 0.0, 0.0),
            outside,
            holes,
            key=nest.key,
            hollow_key=nest.hollow,
            notched=False,
        )
        frame, strips, texts = _nested(nest, around, shape)
    kept = stands, uneven, frame, tuple(strips), texts, added, over, nest, each, by_kind
    return Body(inner, own, heights.under, relief, bays, *kept)


def _fitted(
    job: Job, stage: Stage, each: tuple[Levels, ...]
) -> tuple[tuple[tuple[Added, ...], ...], tuple[Part, ...]]:
    """What the preset's fittings add for each kind of film, and their own parts, of which each name is used once."""
    kinds = fitted_in(job.preset)
    by_kind: list[tuple[Added, ...]] = []
    parts: list[Part] = []
    for one, own in zip(job.each, each, strict=True):
        mine = stage if not job.kinds else _stage_of(stage, one.kind, own)
        added = tuple(kind.fit(one, mine) for kind in kinds)
        over: tuple[Part, ...] = ()
        for kind, what in zip(kinds, added, strict=True):
            over = (*kind.dressed(one, mine, what, over), *what.parts)
        by_kind.append(added)
        parts += over if not job.kinds else [_of_film(part, one.film_tag) for part in over]
    return tuple(by_kind), tuple(parts)


def _stage_of(stage: Stage, kind: int, levels: Levels) -> Stage:
    """The stage with the films of one kind alone."""
    mine = tuple(
        bays for place, bays in zip(stage.layout.places, stage.notches, strict=True) if place.kind == kind
    )
    return replace(stage, layout=stage.layout.of(kind), levels=levels, notches=mine)


def _of_film(part: Part, tag: str) -> Part:
    """A fitting's part, named after the film that it is for."""
    return replace(part, name=f"{part.name}-{tag}", title=f"{part.title}, {tag}")


def _beside(layout: Layout, bays: tuple[tuple[Notch, ...], ...], added: Sequence[Added]) -> tuple[Rect, ...]:
    """Notches and what fittings put on the frame beside the pockets."""
    pairs = zip(layout.places, bays, strict=True)
    return (
        *(notch.rect(place.room) for place, mine in pairs for notch in mine),
        *(block for one in added for block in one.blocks),
    )


def _nested(nest: Nest, around: Shape, inner: Shape) -> tuple[tuple[Part, ...], list[Rect], tuple[str, ...]]:
    """The two parts of a nest, free strips of the outer one, and what should be lettered on both."""
    out, into = nest.outer_part, nest.inner_part
    inner = replace(inner, texts=frame_texts(inner, f"{into.name} {nest.code}"))
    around = replace(around, texts=("this side up", f"{out.name} {nest.code}"))
    frame = (
        replace(parts(around, lettering(around))[0], name=out.name, title=out.name, role=out.role),
        replace(parts(inner, lettering(inner))[0], name=into.name, title=into.name, role=into.role),
    )
    return frame, free_strips(around), (*(around.texts or ()), *wanted_texts(inner))


def _outside(job: Job, layout: Layout) -> tuple[Outline, tuple[Outline, ...]]:
    """The holder's outline and the hole for the calibration zone."""
    try:
        return shell(layout, outer_radius_mm(job.preset), process(job.preset.route))
    except ValueError as error:
        if job.preset.layout.anchor == "home-corner":
            raise InputError("layout.anchor", "home-corner", f"{error}; {_elsewhere(job)}") from None
        if layout.moves.count > 1:
            raise InputError(
                "film.format",
                job.film.key,
                f"{error} when the holder is moved; this bed does not take it in passes",
            ) from None
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
            shell(lay_out(other), outer_radius_mm(other.preset), process(job.preset.route))
        except (ValueError, InputError):
            continue
        ways.append(f'set layout.anchor = "{anchor}"')
    return " or ".join(ways) or "make the holder as large as the glass"


def _relief(
    printer: Printer | None, preset: PlainPreset, layout: Layout, heights: Levels, seat: float
) -> Relief:
    """Chamfer or step under the window edges, as large as the walls allow and ``seat`` from the part's edge."""
    rules = process(preset.route)
    below = heights.ledge - heights.under
    if preset.layout.relief == "none":
        return Relief(below, 0.0, 0.0)
    wall = max(layout.wall, seat)
    room = room_for_relief(layout.places, layout.outer, layout.keep_open, wall)
    if printer is not None:
        land = min(below, rules.land_mm)
        flare = min((below - land) * rules.relief_slope, room)
        return Relief(land, flare, 0.0)
    if len(heights.below) < 2:
        return Relief(below, 0.0, 0.0)
    lip_sheet = heights.below[-1] - heights.below[-2]
    return Relief(lip_sheet, 0.0, min(rules.relief_step_mm, room))
