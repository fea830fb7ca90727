"""Job in, Design out: the one place that puts the rooms' answers together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from holders.design.body import Body, body
from holders.design.draft.levels import Levels, keep_wall, level_topped, levels, levels_at
from holders.design.draft.lips import holes_lit
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout, Place, Step
from holders.design.height.heights import Rise, foot_recess, rises
from holders.design.model import Design, Edges, Fitted, Groove, Held, Part, Window
from holders.design.parts import pocket_number
from holders.design.pieces.split import Split, plate_room, split
from holders.design.plan.anchor import stops
from holders.design.plan.corner_stops import corner_stops, stops_width_mm
from holders.design.plan.layout import lay_out
from holders.design.plan.mask import cards
from holders.design.plan.relief import dimmed, seen_fraction, shade_moved
from holders.design.sag import Sag
from holders.fittings.registry import fitted_in
from holders.geometry.grip import Grip
from holders.measure.bed.record import Measured
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset


def design(
    job: Job,
    wanted_plane_mm: float | None = None,
    sag: Sag | None = None,
    places: Sequence[Measured] = (),
    reach: tuple[float, float] = (0.0, 0.0),
    *,
    uncut: bool = False,
) -> Design:
    """Decide every number of a holder.

    Parameters
    ----------
    job:
        The resolved preset.
    wanted_plane_mm:
        Where the plane of a flat film should lie above the glass; left out, the bed's focus height.
    sag:
        What the film surface does, recorded in the design as it is.
    places:
        Measurements of the bed; where they show a tilt, the feet follow it.
    reach:
        Least and greatest height of the film over its picture above the ledge, mm; it decides which stack of sheets
        makes the whole picture sharp.
    uncut:
        Leave parts larger than the printer's plate whole, where only heights and windows are wanted of the answer.

    Raises
    ------
    InputError
        When the preset asks for what cannot be made; it names the key and the way out.
    """
    many = len(job.each)
    made = design_for(job, (wanted_plane_mm,) * many, (reach,) * many, places, uncut=uncut)
    return made if sag is None else replace(made, sag=sag)


def design_for(
    job: Job,
    planes_mm: Sequence[float | None],
    reaches: Sequence[tuple[float, float]],
    places: Sequence[Measured] = (),
    *,
    uncut: bool = False,
) -> Design:
    """The same with the wanted plane and the reach of each kind of film in the holder, in their order.

    Raises ``InputError`` as :func:`design`.
    """
    layout = lay_out(job)
    kinds = fitted_in(job.preset)
    raised = rises(job, planes_mm, reaches, 1 + sum(kind.printed_below() for kind in kinds))
    each = _levels(job, layout, raised)
    made = body(job, layout, each, places)
    windows = tuple(_window(job, made, *each) for each in zip(layout.places, made.notches, strict=True))
    heights = made.each[job.kind]
    beside = (*_corner_stops(job, layout, heights), *stops(job, layout, heights))
    whole = (*made.frame, *made.over, *beside)
    cut = Split(whole, ()) if uncut else split(job, whole, windows, made.strips)
    letters = tuple(groove for part in made.frame for groove in part.grooves)
    held = _held(job.each, raised, made)
    own = held[job.kind]
    fitted = tuple(one for mine in held for one in mine.fitted)
    return Design(
        slug=job.slug,
        title=job.preset.title,
        route=job.preset.route,
        outer=layout.outer,
        glass=layout.glass,
        lamp=layout.lamp,
        calibration=layout.calibration,
        heights=own.heights,
        windows=windows,
        parts=cut.parts,
        feet=made.feet,
        foot_thickness=0.0 if job.preset.feet is None else job.preset.feet.thickness_mm,
        foot_recess=foot_recess(job),
        film_thickness=own.film_thickness,
        pocket_depth=own.pocket_depth,
        clearance=job.preset.layout.clearance_mm,
        slide_gap=job.preset.layout.slide_gap_mm,
        total_height=_height(whole, fitted),
        cards=cards(job, layout, whole, windows, min(one.pocket_depth for one in held)),
        notes=(
            *_notes(job.preset, raised[job.kind], made, cut.kept(letters)),
            *dict.fromkeys(
                note for one in sorted(fitted, key=lambda one: not one.is_frame) for note in one.notes()
            ),
            *made.uneven,
            *cut.notes,
        ),
        seams=cut.seams,
        fitted=own.fitted,
        plate=None if job.printer is None else plate_room(job.printer),
        whole_because=cut.whole_because,
        kinds=held if job.kinds else (),
        kind=job.kind,
    )


def _held(films: Sequence[Job], raised: Sequence[Rise], made: Body) -> tuple[Held, ...]:
    """What each kind of film has of its own."""
    return tuple(
        Held(
            heights=up.heights,
            film_thickness=one.film.thickness_mm,
            pocket_depth=own.top - own.ledge,
            fitted=tuple(added.fitted for added in mine),
        )
        for one, up, own, mine in zip(films, raised, made.each, made.by_kind, strict=True)
    )


def _corner_stops(job: Job, layout: Layout, heights: Levels) -> tuple[Part, ...]:
    """The corner stops of every film, named after it where there are several kinds."""
    wide = stops_width_mm(job.preset.layout, layout, heights)
    if not job.kinds:
        return corner_stops(job, layout, heights, wide)
    return tuple(
        replace(part, name=f"{part.name}-{one.film_tag}", title=f"{part.title}, {one.film_tag}")
        for one in job.each
        for part in corner_stops(one, layout.of(one.kind), heights, wide)
    )


def _levels(job: Job, layout: Layout, raised: Sequence[Rise]) -> tuple[Levels, ...]:
    """The frame's heights for each kind of film, with the preset's fittings, and one top for all."""
    kinds, found = fitted_in(job.preset), []
    for one, up in zip(job.each, raised, strict=True):
        heights = plain = levels(one, up, alone=not kinds)
        for kind in kinds:
            heights = kind.levels(one, layout.of(one.kind), heights)
        keep_wall(one.printer, one.preset, plain, heights)
        found.append(heights)
    return level_topped(found)


def _height(made: Sequence[Part], fitted: Sequence[Fitted]) -> float:
    """From the scanner's glass to the top of all, catches included."""
    top = max(part.z1 for part in made)
    for one in fitted:
        top = one.top_mm(top)
    return top


def _window(job: Job, made: Body, place: Place, mine: Sequence[Notch]) -> Window:
    bed, film = job.bed, job.of(place.kind).film
    layout, relief = made.layout, made.relief
    lips, lying = layout.lips_at(place), layout.laid_at(place)
    heights = made.levels if made.nest is not None else levels_at(made.each, place)
    down = [Step(relief.land, 0.0)]
    down.append(Step(heights.ledge - heights.under, relief.flare + relief.step))
    if made.nest is not None:
        inside, o = made.nest.opening, place.opening
        back = min(o.x - inside.x, inside.right - o.right)
        down.append(Step(heights.ledge - made.under, back))
    up = [step for one in made.by_kind[place.kind] for step in one.shades]
    shaded = shade_moved(
        place.opening,
        layout.lamp,
        layout.moves.stands,
        (bed.glass_width_mm / 2, bed.lens_distance_mm),
        down,
        up,
    )
    return Window(
        opening=place.opening,
        film=place.film,
        picture=place.picture,
        pocket=place.pocket,
        lips=lips,
        film_key=film.key,
        turned=lying.turned,
        seen=seen_fraction(place, shaded),
        shaded=Edges(shaded.left, shaded.right, shaded.head, shaded.foot),
        dimmed=dimmed(place, up, heights.top - heights.ledge),
        wall=tuple((step.away_mm, step.back_mm) for step in down),
        grips=tuple(
            Grip(n.edge, n.width_mm, n.beside_mm, n.depth_mm, n.tab_mm > 0, n.through_mm, n.undercut_mm)
            for n in mine
        ),
        holes_lit=holes_lit(film, lying, lips, place.film.x - place.pocket.x),
        kind=place.kind,
    )


def _notes(preset: PlainPreset, raised: Rise, made: Body, letters: tuple[Groove, ...]) -> tuple[str, ...]:
    bays = made.notches
    found = []
    if preset.layout.finger_notches and not made.levels.flat and not all(bays):
        bare = sum(1 for mine in bays if not mine)
        found.append(
            f"{bare} of {len(bays)} pockets have no room for a finger notch: lift that film with a folded card"
        )
    there = {groove.text for groove in letters}
    missing = [text for text in made.texts if text not in there]
    if preset.layout.label and missing:
        words = pocket_number.in_words(missing, len(made.layout.places))
        found.append(f"no room was found to letter {words}: write that on the holder by hand")
    if raised.stack is not None and len(raised.stack.sheets) > 1:
        sheets = " + ".join(f"{t:g}" for t in raised.stack.sheets)
        glue = raised.heights.glue
        lines = f", and {glue:.2f} mm of glue" if glue > 0 else ""
        found.append(f"the ledge is a stack of sheets, from the glass up: {sheets} mm{lines}")
    return tuple(found)
