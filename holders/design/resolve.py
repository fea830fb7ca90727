"""Job in, Design out: the one place that puts the rooms' answers together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from holders.design.body import Body, body
from holders.design.fittings.carrier import carrier_opening
from holders.design.fittings.channel import railed
from holders.design.fittings.cover import SET_BACK_MM, button_parts, button_thickness, pane, pane_notes
from holders.design.fittings.cover_levels import covered
from holders.design.fittings.lid import lid_lips, lids
from holders.design.height.heights import Rise, foot_recess, rise
from holders.design.height.levels import levels
from holders.design.model import Design, Edges, Groove, Pane, Part, Sag, Window
from holders.design.pieces.split import Split, split
from holders.design.plan.anchor import stops
from holders.design.plan.layout import Place, lay_out
from holders.design.plan.relief import Step, seen_fraction, shade
from holders.facts.tables import process
from holders.measure.bed.record import Measured
from holders.preset.resolve import Job


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
    raised = rise(job, wanted_plane_mm, reach)
    heights = covered(job, levels(job, raised))
    made = body(job, layout, heights, places)
    glass = pane(job, made.layout, made.levels, made.buttons, made.recess)
    rules = process(job.preset.route)
    covers = (
        *railed(job, lids(job, made.layout, made.notches, made.levels, rules), made.channel, made.layout),
        *button_parts(job, made.buttons, made.levels),
        *stops(job, layout, replace(heights, under=made.under)),
    )
    windows = tuple(_window(job, made, place) for place in layout.places)
    whole = (*made.frame, *covers)
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
        lid_play=made.levels.play,
        lid_shoulder=None if made.levels.shoulder is None else made.levels.shoulder - made.levels.ledge,
        clearance=job.preset.layout.clearance_mm,
        slide_gap=job.preset.layout.slide_gap_mm,
        total_height=_height(whole, glass),
        notes=(
            *_notes(job, raised, made, cut.kept(letters)),
            *pane_notes(glass),
            *made.uneven,
            *cut.notes,
        ),
        sag=sag,
        seams=cut.seams,
        pane=glass,
        channel=made.channel,
        carrier=made.carrier,
        whole_because=cut.whole_because,
    )


def _height(made: Sequence[Part], glass: Pane | None) -> float:
    """From the scanner's glass to the top of all, screw heads included."""
    top = max(part.z1 for part in made)
    return top if glass is None else max(top + glass.head_height, glass.z1)


def quoted(texts: Sequence[str]) -> str:
    """Texts as words of a sentence."""
    return " and ".join(f'"{text}"' for text in texts)


def _window(job: Job, made: Body, place: Place) -> Window:
    layout, heights, relief = made.layout, made.levels, made.relief
    down = [Step(relief.land, 0.0)]
    down.append(Step(heights.ledge - heights.under, relief.flare + relief.step))
    if made.carrier is not None:
        inside, o = carrier_opening(made.carrier), place.opening
        back = min(o.x - inside.x, inside.right - o.right)
        down.append(Step(heights.ledge - made.under, back))
    up = []
    if heights.lid is not None:
        reach = lid_lips(job, layout.lips)
        back = min(layout.lips.left - reach.left, layout.lips.right - reach.right)
        up.append(Step(heights.lid[1] - heights.ledge, back))
    if any(button.edge in ("left", "right") for mine in made.buttons for button in mine):
        up.append(Step(heights.top + button_thickness(job) - heights.ledge, SET_BACK_MM))
    shaded = shade(place.opening, job.bed.glass_width_mm / 2, job.bed.lens_distance_mm, down, up)
    return Window(
        opening=place.opening,
        film=place.film,
        picture=place.picture,
        pocket=place.pocket,
        lips=layout.lips,
        film_key=job.film.key,
        turned=layout.laid.turned,
        seen=seen_fraction(place, shaded),
        shaded=Edges(shaded.left, shaded.right, shaded.head, shaded.foot),
    )


def _notes(job: Job, raised: Rise, made: Body, letters: tuple[Groove, ...]) -> tuple[str, ...]:
    bays = made.notches
    found = []
    if job.preset.layout.finger_notches and not all(bays):
        bare = sum(1 for mine in bays if not mine)
        found.append(
            f"{bare} of {len(bays)} pockets have no room for a finger notch: lift that film with a folded card"
        )
    there = {groove.text for groove in letters}
    missing = [text for text in made.texts if text not in there]
    if job.preset.layout.label and missing:
        found.append(f"no room was found to letter {quoted(missing)}: write that on the holder by hand")
    if made.carrier is not None:
        r = made.carrier.insert
        found.append(
            f"carrier and insert {made.carrier.fit}: any insert of that code ({r.width:g} x {r.height:g} mm) fits this "
            "carrier, and any carrier of that code takes this insert, at the same height; print the carrier once"
        )
    if raised.stack is not None and len(raised.stack.sheets) > 1:
        sheets = " + ".join(f"{t:g}" for t in raised.stack.sheets)
        glue = raised.heights.glue
        lines = f", and {glue:.2f} mm of glue" if glue > 0 else ""
        found.append(f"the ledge is a stack of sheets, from the glass up: {sheets} mm{lines}")
    return tuple(found)
