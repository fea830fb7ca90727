"""Job in, Design out: the one place that puts the rooms' answers together."""

from __future__ import annotations

from collections.abc import Sequence

from holders.design.body import Body, body
from holders.design.draft.levels import keep_wall, levels
from holders.design.draft.lips import holes_lit
from holders.design.draft.notches import Notch
from holders.design.draft.places import Place, Step
from holders.design.height.heights import Rise, foot_recess, rise
from holders.design.model import Design, Edges, Fitted, Groove, Part, Sag, Window
from holders.design.pieces.split import Split, split
from holders.design.plan.anchor import stops
from holders.design.plan.corner_stops import corner_stops
from holders.design.plan.layout import lay_out
from holders.design.plan.relief import seen_fraction, shade
from holders.facts.models import Bed, FilmFormat
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
    layout = lay_out(job)
    kinds = fitted_in(job.preset)
    raised = rise(job, wanted_plane_mm, reach, 1 + sum(kind.printed_below() for kind in kinds))
    heights = plain = levels(job, raised, alone=not kinds)
    for kind in kinds:
        heights = kind.levels(job, layout, heights)
    keep_wall(job.printer, job.preset, plain, heights)
    made = body(job, layout, heights, places)
    windows = tuple(
        _window(job.bed, job.film, made, *each) for each in zip(layout.places, made.notches, strict=True)
    )
    beside = (*corner_stops(job, layout, heights), *stops(job, layout, heights))
    whole = (*made.frame, *made.over, *beside)
    fitted = tuple(one.fitted for one in made.added)
    cut = Split(whole, ()) if uncut else split(job, whole, windows, made.strips)
    letters = tuple(groove for part in made.frame for groove in part.grooves)
    return Design(
        slug=job.slug,
        title=job.preset.title,
        route=job.preset.route,
        outer=layout.outer,
        glass=layout.glass,
        lamp=layout.lamp,
        calibration=layout.calibration,
        heights=raised.heights,
        windows=windows,
        parts=cut.parts,
        feet=made.feet,
        foot_thickness=0.0 if job.preset.feet is None else job.preset.feet.thickness_mm,
        foot_recess=foot_recess(job),
        film_thickness=job.film.thickness_mm,
        pocket_depth=made.levels.top - heights.ledge,
        clearance=job.preset.layout.clearance_mm,
        slide_gap=job.preset.layout.slide_gap_mm,
        total_height=_height(whole, fitted),
        notes=(
            *_notes(job.preset, raised, made, cut.kept(letters)),
            *(note for one in sorted(fitted, key=lambda one: not one.is_frame) for note in one.notes()),
            *made.uneven,
            *cut.notes,
        ),
        sag=sag,
        seams=cut.seams,
        fitted=fitted,
        whole_because=cut.whole_because,
    )


def _height(made: Sequence[Part], fitted: Sequence[Fitted]) -> float:
    """From the scanner's glass to the top of all, screw heads included."""
    top = max(part.z1 for part in made)
    for one in fitted:
        top = one.top_mm(top)
    return top


def quoted(texts: Sequence[str]) -> str:
    """Texts as words of a sentence."""
    return " and ".join(f'"{text}"' for text in texts)


def _window(bed: Bed, film: FilmFormat, made: Body, place: Place, mine: Sequence[Notch]) -> Window:
    layout, heights, relief = made.layout, made.levels, made.relief
    down = [Step(relief.land, 0.0)]
    down.append(Step(heights.ledge - heights.under, relief.flare + relief.step))
    if made.nest is not None:
        inside, o = made.nest.opening, place.opening
        back = min(o.x - inside.x, inside.right - o.right)
        down.append(Step(heights.ledge - made.under, back))
    up = [step for one in made.added for step in one.shades]
    shaded = shade(place.opening, bed.glass_width_mm / 2, bed.lens_distance_mm, down, up)
    return Window(
        opening=place.opening,
        film=place.film,
        picture=place.picture,
        pocket=place.pocket,
        lips=layout.lips,
        film_key=film.key,
        turned=layout.laid.turned,
        seen=seen_fraction(place, shaded),
        shaded=Edges(shaded.left, shaded.right, shaded.head, shaded.foot),
        wall=tuple((step.away_mm, step.back_mm) for step in down),
        grips=tuple(
            Grip(n.edge, n.width_mm, n.beside_mm, n.depth_mm, n.tab_mm > 0, n.through_mm) for n in mine
        ),
        holes_lit=holes_lit(film, layout.laid, layout.lips, place.film.x - place.pocket.x),
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
        found.append(f"no room was found to letter {quoted(missing)}: write that on the holder by hand")
    if raised.stack is not None and len(raised.stack.sheets) > 1:
        sheets = " + ".join(f"{t:g}" for t in raised.stack.sheets)
        glue = raised.heights.glue
        lines = f", and {glue:.2f} mm of glue" if glue > 0 else ""
        found.append(f"the ledge is a stack of sheets, from the glass up: {sheets} mm{lines}")
    return tuple(found)
