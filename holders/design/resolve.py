"""Job in, Design out: the one place that puts the rooms' answers together."""

from __future__ import annotations

from collections.abc import Sequence

from holders.design.bed import followed
from holders.design.cover import (
    SET_BACK_MM,
    Button,
    button_parts,
    button_thickness,
    buttons,
    pane,
    pane_notes,
)
from holders.design.cover_levels import covered
from holders.design.feet import feet
from holders.design.frame import Relief, Shape, free_strips, parts
from holders.design.heights import Rise, foot_recess, rise
from holders.design.layout import Layout, Place, lay_out
from holders.design.levels import Levels, levels
from holders.design.lid import lid_lips, lids
from holders.design.model import Design, Edges, Pane, Part, Sag, Window
from holders.design.notches import notches
from holders.design.outline import Outline
from holders.design.relief import Step, room_for_relief, seen_fraction, shade
from holders.design.shell import shell
from holders.design.split import split
from holders.errors import InputError
from holders.facts.tables import process
from holders.focus.record import Measured
from holders.preset.resolve import Job


def design(
    job: Job,
    wanted_plane_mm: float | None = None,
    sag: Sag | None = None,
    places: Sequence[Measured] = (),
    reach: tuple[float, float] = (0.0, 0.0),
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

    Raises
    ------
    InputError
        When the preset asks for what cannot be made; it names the key and the way out.
    """
    rules = process(job.preset.route)
    layout = lay_out(job)
    raised = rise(job, wanted_plane_mm, reach)
    heights = covered(job, levels(job, raised))
    relief = _relief(job, layout, heights)
    bays = notches(layout, rules, job.preset.layout.finger_notches)
    stands = feet(job, layout, bays, rules, relief.flare + relief.step)
    stands, uneven = followed(job, layout, stands, places)
    outside, holes = _outside(job, layout)
    turns = buttons(job, layout, bays, rules.corner_cut_mm)
    shape = Shape(job, layout, heights, rules, bays, stands, foot_recess(job), relief, outside, holes, turns)
    frame = parts(shape)
    glass = pane(job, layout, heights, turns, foot_recess(job))
    covers = (*lids(job, layout, bays, heights, rules), *button_parts(job, turns, heights))
    windows = tuple(_window(job, layout, place, heights, relief, turns) for place in layout.places)
    made = split(job, (*frame, *covers), windows, free_strips(shape))
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
        parts=made.parts,
        feet=stands,
        foot_thickness=0.0 if job.preset.feet is None else job.preset.feet.thickness_mm,
        foot_recess=foot_recess(job),
        film_thickness=job.film.thickness_mm,
        pocket_depth=heights.top - heights.ledge,
        lid_play=heights.play,
        clearance=job.preset.layout.clearance_mm,
        slide_gap=min(layout.outer.x, layout.outer.y),
        total_height=_height((*frame, *covers), glass),
        notes=(
            *_notes(job, raised, bays, made.kept(frame[-1].grooves)),
            *pane_notes(glass),
            *uneven,
            *made.notes,
        ),
        sag=sag,
        seams=made.seams,
        pane=glass,
        whole_because=made.whole_because,
    )


def _outside(job: Job, layout: Layout) -> tuple[Outline, tuple[Outline, ...]]:
    """The holder's outline and the hole for the calibration zone."""
    try:
        return shell(layout, job.preset.layout.corner_radius_mm, process(job.preset.route))
    except ValueError as error:
        raise InputError(
            "bed.calibration_x_mm", job.bed.calibration_x_mm, f"{error}; set layout.outer_* smaller"
        ) from None


def _height(made: Sequence[Part], glass: Pane | None) -> float:
    """From the scanner's glass to the top of all, screw heads included."""
    top = max(part.z1 for part in made)
    return top if glass is None else max(top + glass.head_height, glass.z1)


def _relief(job: Job, layout: Layout, heights: Levels) -> Relief:
    """Chamfer or step under the window edges, as large as the walls allow."""
    rules = process(job.preset.route)
    below = heights.ledge - heights.under
    if job.preset.layout.relief == "none":
        return Relief(below, 0.0, 0.0)
    room = room_for_relief(layout.places, layout.outer, layout.keep_open, layout.wall)
    if job.printer is not None:
        land = min(below, rules.land_mm)
        flare = min((below - land) * rules.relief_slope, room)
        return Relief(land, flare, 0.0)
    if len(heights.below) < 2:
        return Relief(below, 0.0, 0.0)
    lip_sheet = heights.below[-1] - heights.below[-2]
    return Relief(lip_sheet, 0.0, min(rules.relief_step_mm, room))


def _window(
    job: Job,
    layout: Layout,
    place: Place,
    heights: Levels,
    relief: Relief,
    turns: Sequence[Sequence[Button]],
) -> Window:
    down = [Step(relief.land, 0.0)]
    down.append(Step(heights.ledge - heights.under, relief.flare + relief.step))
    up = []
    if heights.lid is not None:
        reach = lid_lips(job, layout.lips)
        back = min(layout.lips.left - reach.left, layout.lips.right - reach.right)
        up.append(Step(heights.lid[1] - heights.ledge, back))
    if any(button.edge in ("left", "right") for mine in turns for button in mine):
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


def _notes(
    job: Job, raised: Rise, bays: tuple[tuple[object, ...], ...], letters: tuple[object, ...]
) -> tuple[str, ...]:
    found = []
    if job.preset.layout.finger_notches and not all(bays):
        bare = sum(1 for mine in bays if not mine)
        found.append(
            f"{bare} of {len(bays)} pockets have no room for a finger notch: lift that film with a folded card"
        )
    if job.preset.layout.label and len(letters) < 2:
        found.append("not all lettering found room: write format and height on the holder by hand")
    if raised.stack is not None and len(raised.stack.sheets) > 1:
        sheets = " + ".join(f"{t:g}" for t in raised.stack.sheets)
        glue = raised.heights.glue
        lines = f", and {glue:.2f} mm of glue" if glue > 0 else ""
        found.append(f"the ledge is a stack of sheets, from the glass up: {sheets} mm{lines}")
    return tuple(found)
