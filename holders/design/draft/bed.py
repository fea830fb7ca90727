"""The bed's own rectangles: the holder's outside, the lamp area, what must stay open; and stretches along its axes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.model import Rect
from holders.facts.models import Bed, FilmFormat
from holders.facts.tables import process
from holders.preset.tables.plain import PlainPreset

SLACK = 1e-6
LEAST_BAR_MM = (
    5.0  # a narrower bar between calibration zone and edge breaks in the hand: common practice, no source
)


def outer_radius_mm(preset: PlainPreset) -> float:
    """The radius of the holder's outer corners: as asked for, else as the way of making likes them."""
    asked = preset.layout.corner_radius_mm
    return process(preset.route).outer_radius_mm if asked is None else asked


def corner_mm(preset: PlainPreset) -> float:
    """What the holder's corners take of its edges: the slanted one's leg, or the radius where that is more."""
    return max(process(preset.route).corner_cut_mm, outer_radius_mm(preset))


def outer_rect(bed: Bed, preset: PlainPreset) -> Rect:
    """The holder's outside: the glass less the slide-in gap, or the given size at the anchor's place."""
    layout = preset.layout
    gap = layout.slide_gap_mm
    room = layout.shift_room_mm or 0.0
    widest = bed.glass_width_mm - 2 * gap - room
    width = widest if layout.outer_width_mm is None else layout.outer_width_mm
    if room and width > widest + SLACK:
        raise InputError(
            "layout.shift_room_mm", room, f"a holder {width:g} mm wide leaves "
            f"{bed.glass_width_mm - 2 * gap - width:g} mm of the glass: leave out layout.outer_width_mm",
        )  # fmt: skip
    length = layout.outer_length_mm if layout.outer_length_mm is not None else bed.glass_length_mm - 2 * gap
    for field, size, glass in (
        ("layout.outer_width_mm", width, bed.glass_width_mm),
        ("layout.outer_length_mm", length, bed.glass_length_mm),
    ):
        if size > glass + SLACK:
            raise InputError(field, size, f"larger than the glass ({glass} mm)")
        if size < 2 * outer_radius_mm(preset) + 20:
            raise InputError(field, size, "too small for a holder; make it larger or the slide gap smaller")
    x, y = (bed.glass_width_mm - width) / 2, (bed.glass_length_mm - length) / 2
    if layout.anchor != "middle":
        x = min(x, gap)
        y = min(y, gap) if layout.anchor == "home-corner" else max(y, bed.glass_length_mm - gap - length)
    return Rect(x, y, width, length)


def lamp_rect(bed: Bed) -> Rect:
    """The lamp area."""
    return Rect(bed.lamp_x_mm, bed.lamp_y_mm, bed.lamp_width_mm, bed.lamp_length_mm)


def calibration(bed: Bed) -> Rect | None:
    """The calibration zone itself; None when the bed has none."""
    if bed.calibration_width_mm <= 0 or bed.calibration_length_mm <= 0:
        return None
    return Rect(
        bed.calibration_x_mm, bed.calibration_y_mm, bed.calibration_width_mm, bed.calibration_length_mm
    )


def keep_open(bed: Bed, preset: PlainPreset) -> Rect | None:
    """The calibration zone with its clearance; None when the bed has none."""
    zone = calibration(bed)
    return None if zone is None else zone.grown(process(preset.route).calibration_clear_mm)


def wall_mm(preset: PlainPreset) -> float:
    """The least wall between two things, as asked for or usual on the route."""
    return preset.layout.wall_mm or process(preset.route).wall_mm


def margin_mm(film: FilmFormat, preset: PlainPreset) -> float:
    """From the film's nominal edge to the pocket wall: half the film's tolerance and the clearance."""
    return film.tolerance_mm / 2 + preset.layout.clearance_mm


@dataclass(frozen=True, slots=True)
class Span:
    """Where openings may stand along one axis, and where they would like their middle."""

    low: float
    high: float
    middle: float

    def fit(self, size: float, pitch: float) -> int:
        """How many of a size fit, one pitch apart."""
        free = self.high - self.low - size
        return 0 if free < -SLACK else 1 + math.floor((free + SLACK) / pitch)

    def start(self, size: float) -> float:
        """Where something of a size begins, as near to the middle as it can be."""
        return max(self.low, min(self.middle - size / 2, self.high - size))
