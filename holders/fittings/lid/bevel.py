"""The bevel along a printed lid's inner edges: they lean back from the picture toward the top and shade less of it.

It begins over a land that stays upright, so that the lip on the film is no thinner than the printer makes it, leans by
45 degrees at most, so that it prints without support either way up, and leaves a wall at the top. A lid in pieces has
none: a joint needs the rail solid from face to face. A laser cuts square edges, as does a knife through thick board.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.draft.levels import EVEN, Levels
from holders.design.draft.places import Layout, Place
from holders.design.model import Cut, Part, Rect
from holders.facts.habits import habit
from holders.facts.models import Printer
from holders.facts.tables import process
from holders.fittings.lid.table import Lid
from holders.geometry.outline import rectangle

NAME = "lid bevel"
LINES = 4  # of the nozzle, left of a rail at its top: two walls of two lines
LEAST_TOP_MM = 1.6
WORTH_MM = 0.3  # one that leans back less is left out: the slicer's steps are as large


@dataclass(frozen=True, slots=True)
class Bevel:
    """How far the edges lean back at the top, and the height above the glass at which they begin to, mm."""

    back: float
    z0: float


def bevel_of(
    printer: Printer | None, lid: Lid, layout: Layout, reach: Sequence[float], levels: Levels
) -> Bevel | None:
    """The bevel of a holder's lids; None where they have none.

    Parameters
    ----------
    reach:
        How far the lid reaches over the film at left, right, head and foot, mm.

    Raises
    ------
    InputError
        When the preset asks for more than the rails allow, or for any on a route that cuts square edges.
    """
    wish = lid.bevel_mm
    if printer is None or levels.over is None:
        if wish:
            raise InputError("lid.bevel_mm", wish, "sheet is cut square by laser and knife; leave it out")
        return None
    z0 = levels.over[0] + max(process("print").land_mm, levels.rim)
    solid = layout.shoulder <= process("print").shoulder_mm + EVEN
    rails = [
        _rail(lid, place.film, place.room if solid else place.pocket, reach, solid) for place in layout.places
    ]
    most = min(levels.over[1] - z0, min(rails) - _least_top(printer))
    if not all(on_plate(place, printer) for place in layout.places):
        if wish:
            raise InputError(
                "lid.bevel_mm", wish, "the lid is printed in pieces, whose joints want upright edges; set 0"
            )
        return None
    if wish is not None and wish > most + EVEN:
        raise InputError(
            "lid.bevel_mm",
            wish,
            f"rails {min(rails):.2f} mm wide on a lid {levels.over[1] - levels.over[0]:.2f} mm high take at most "
            f"{max(0.0, most):.2f} mm",
        )
    back = min(habit("lid-bevel"), most) if wish is None else wish
    return None if back < WORTH_MM else Bevel(round(back, 6), round(z0, 6))


def on_plate(place: Place, printer: Printer) -> bool:
    """Whether a lid for that place goes on the printer's plate whole, its tabs counted."""
    sizes = sorted((place.room.width, place.room.height))
    plate = sorted(size - 2 * printer.margin_mm for size in (printer.build_x_mm, printer.build_y_mm))
    return sizes[0] <= plate[0] and sizes[1] + 2 * max(0.0, place.film.x - place.room.x) <= plate[1]


def _least_top(printer: Printer) -> float:
    return max(LEAST_TOP_MM, LINES * printer.nozzle_mm)


def _rail(lid: Lid, film: Rect, room: Rect, reach: Sequence[float], solid: bool) -> float:
    """Width of the narrowest rail of a lid at its top, mm; ``room`` is the film's pocket where bars lie beside that."""
    beside = (film.x - room.x, room.right - film.right, room.top - film.top, film.y - room.y)
    return min(wide + over for wide, over in zip(beside, reach, strict=True)) - (
        lid.clearance_mm if solid else 0.0
    )


def bevel_cut(bevel: Bevel | None, hole: Rect, radius: float, top: float) -> tuple[Cut, ...]:
    """What it takes from a lid with that opening, rounded by ``radius``, up to its top; nothing without a bevel."""
    if bevel is None:
        return ()
    wide = hole.grown(bevel.back)
    outline = rectangle(wide.x, wide.y, wide.width, wide.height, radius + bevel.back)
    return (Cut(NAME, outline, bevel.z0, top, -bevel.back),)


def leaning(part: Part, z: float) -> float:
    """How far a lid's inner edges have leaned back at a height above the glass, mm; 0 without a bevel."""
    return sum(
        -cut.flare_mm * (z - cut.z0) / (cut.z1 - cut.z0)
        for cut in part.cuts
        if cut.bevel and cut.z0 < z < cut.z1
    )


def reach_of(parts: Sequence[Part]) -> tuple[float, float] | None:
    """Of the first bevelled lid: how far its edges lean back, and over how much of its height, mm."""
    for part in parts:
        for cut in part.cuts:
            if cut.bevel:
                return -cut.flare_mm, cut.z1 - cut.z0
    return None
