"""The least frame for the same film: less material and time than one as large as the glass, often in one piece."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

from holders.core.errors import InputError
from holders.design.draft.bed import keep_open, wall_mm
from holders.design.model import Design, Rect, Role
from holders.design.plan.anchor import holding
from holders.design.plan.layout import room_of, shoulder_mm
from holders.design.resolve import design as designed
from holders.facts.models import Material, Printer
from holders.fittings.registry import fitted_in
from holders.preset.resolve import Job
from holders.study import Study
from holders.verdict.judge import OWN
from holders.workshop.cost import print_costs, print_hours
from holders.workshop.nest.nest_job import Nested, nest_job

STEP_MM = 5.0  # outer sizes are rounded up to it
MOST_STEPS = 6  # from the least size on, until all that is on the large frame has room
SAVES = 0.6  # of plastic or sheet: a frame in as many pieces that takes more is not worth its stops
LESS = 0.01  # of the chance: what a small frame may lose
ANCHORS = {
    "middle": "over the middle of the glass, with stops",
    "head-corner": "in the far left corner of the glass",
}  # in this order: the lens sees the middle best
SETTLED = (
    "outer_width_mm",
    "outer_length_mm",
    "shift_room_mm",
    "light",
)  # by them a frame's size is asked for


@dataclass(frozen=True, slots=True)
class Smaller:
    """A small frame: the keys of ``[layout]`` that make it, its size, where it lies, and what it saves, in words.

    ``saves`` are pieces, or sheet of a cut one; ``hours`` those of printing.
    """

    layout: dict[str, object]
    size: str
    where: str
    saves: str
    hours: str

    @property
    def words(self) -> str:
        """All of it, in a sentence without its stop."""
        saved = ", ".join(words for words in (self.saves, self.hours) if words)
        return f"A frame of {self.size}: {saved}; it lies {self.where}"

    @property
    def keys(self) -> dict[str, object]:
        """What changes in the preset, each key with its table."""
        return {f"layout.{key}": value for key, value in self.layout.items()}


def small_frame(found: Study) -> Smaller | None:
    """The least frame that saves pieces, sheets or much material, designed but not judged; None where there is none.

    Each side is the least multiple of 5 mm (and as many steps of 5 mm more as need be) at which the frame keeps
    everything the large one has: windows, catches, feet, notches, letters. It lies clear of the calibration zone, held
    in its place. A frame whose size was asked for, that is moved, that goes into a carrier, that holds several kinds of
    film or as many as fit stays as it is; so does one whose ledge was measured, as it is made already.
    """
    job, asked = found.job, found.job.preset.layout
    settled = any(key in asked.model_fields_set for key in SETTLED) or asked.count == "fill" or job.kinds
    if settled or job.preset.coupon.ledge_mm or room_of(job) is not None:
        return None
    if any(kind.sees_more for kind in fitted_in(job.preset)):
        return None
    printer, preset = job.printer, job.preset
    less = (
        partial(_less_sheet, job, found.nested)
        if printer is None
        else partial(_less_plastic, job.material, printer)
    )
    for anchor in ANCHORS if "anchor" not in asked.model_fields_set else (asked.anchor,):
        zone = keep_open(job.bed, preset)
        tried = [one for one in _growing(found, anchor) if _in_place(zone, one[1])]
        for layout, small in tried[-1:]:
            if not _keeps_all(small, found.design):
                return None
            saved = less(small, found.design)
            size = f"{small.outer.width:g} x {small.outer.height:g} mm"
            where = ANCHORS.get(anchor, "in the home corner of the glass")
            return Smaller(layout, size, where, *saved) if any(saved) else None
    return None


def _growing(found: Study, anchor: str) -> Iterator[tuple[dict[str, object], Design]]:
    """Frames from the least size on, up to the first that has room for all that the large one has."""
    job, large, asked = found.job, found.design, found.job.preset.layout
    around = 2 * (wall_mm(job.preset) + shoulder_mm(job))
    width, length = _least([one.pocket for one in large.windows], around)
    for step in range(MOST_STEPS):
        more = step * STEP_MM
        layout: dict[str, object] = {"outer_width_mm": width + more, "outer_length_mm": length + more}
        layout |= {} if anchor == asked.anchor else {"anchor": anchor}
        trial = job.preset.model_copy(update={"layout": asked.model_copy(update=layout)})
        try:
            small = designed(replace(job, preset=trial))
        except InputError:
            continue
        yield layout, small
        if _keeps_all(small, large):
            return


def as_good(small: Study, large: Study) -> bool:
    """Whether no check stops the small frame, none warns that did not before, and the chance is about the same."""
    return (
        small.ok
        and _warned(small) <= _warned(large)
        and (not large.ok or small.verdict.chance >= large.verdict.chance - LESS)
    )


def _warned(found: Study) -> frozenset[str]:
    return frozenset(one.code for one in found.findings if one.level == "warn") - {OWN}


def _least(pockets: Sequence[Rect], around: float) -> tuple[float, float]:
    """Pockets and what a fitting rests on, with a wall around, rounded up."""
    wide = max(one.right for one in pockets) - min(one.x for one in pockets) + around
    long = max(one.top for one in pockets) - min(one.y for one in pockets) + around
    return STEP_MM * math.ceil(wide / STEP_MM - 1e-9), STEP_MM * math.ceil(long / STEP_MM - 1e-9)


def _keeps_all(small: Design, large: Design) -> bool:
    """Whether no lid, catch, foot, grip or letter of the large frame is missing for want of room."""
    return (
        _without_room(small) <= _without_room(large)
        and _beside_frame(small) == _beside_frame(large)
        and len(small.feet) == len(large.feet)
        and _grips(small) >= _grips(large)
    )


def _without_room(made: Design) -> frozenset[str]:
    """The notes on what found no room, without their numbers: the film's height is settled after this."""
    return frozenset(re.sub(r"[0-9.]+", "", note) for note in made.notes if "no room" in note)


def _beside_frame(made: Design) -> Counter[Role]:
    """How many lids, catches and other loose parts there are; on which edges catches stand does not matter."""
    counted = Counter[Role]()
    for part in made.parts:
        if not part.role.in_frame and part.role is not Role.STOP:
            counted[part.role] += part.quantity
    return counted


def _grips(made: Design) -> int:
    return sum(len(window.grips or ()) for window in made.windows)


def _in_place(zone: Rect | None, small: Design) -> bool:
    return None not in holding(small) and not (zone is not None and zone.overlaps(small.outer))


def _less_plastic(material: Material, printer: Printer, small: Design, large: Design) -> tuple[str, str]:
    """Pieces and hours that the small frame saves, in words; ("", "") where that is too little."""
    costs = [print_costs(material, printer, one) for one in (small, large)]
    laid = [sum(cost.laid_mm3 * cost.quantity for cost in mine) for mine in costs]
    hours = [print_hours(printer, one, mine) for one, mine in zip((small, large), costs, strict=True)]
    pieces = [sum(p.quantity for p in one.parts if p.role.in_frame) for one in (small, large)]
    fewer = pieces[0] < pieces[1]
    if not fewer and laid[0] > SAVES * laid[1]:
        return "", ""
    return (
        _instead(pieces, "piece") if fewer else "",
        f"{hours[0]:.1f} h of printing instead of {hours[1]:.1f} h",
    )


def _less_sheet(job: Job, before: Sequence[Nested], small: Design, _: Design) -> tuple[str, str]:
    """Stock sheets and area that the small frame saves, in words; ("", "") where that is too little.

    ``before`` is the large frame on its sheets. Stops that want a sheet of their own count.
    """
    try:
        after = nest_job(job, small)
    except InputError:
        return "", ""
    sheets = [sum(len(one.nesting.sheets) for one in each) for each in (after, before)]
    used = [sum(one.nesting.used_mm2 for one in each) / 1e6 for each in (after, before)]
    if sheets[0] > sheets[1] or (sheets[0] == sheets[1] and used[0] > SAVES * used[1]):
        return "", ""
    area = f"{used[0]:.2f} m² of sheet instead of {used[1]:.2f} m²"
    return (f"{_instead(sheets, 'stock sheet')}, {area}" if sheets[0] < sheets[1] else area), ""


def _instead(counts: Sequence[int], name: str) -> str:
    now, before = counts
    return f"one {name} instead of {before}" if now == 1 else f"{now} {name}s instead of {before}"
