"""A small triangle on the frame beside the corner where a sheet's code notches lie when its right side is down."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from typing import Literal

from holders.design.draft.places import Layout, Place
from holders.design.model import Rect
from holders.facts.models import Process
from holders.geometry.outline import Point
from holders.preset.resolve import Job

Emulsion = Literal["down", "up"]
SIZES_MM = ((4.0, 3.5), (2.8, 2.4))  # wide, high
CLEAR_MM = 0.8  # from what is beside it
FROM_CORNER_MM = (12.0, 16.0, 20.0, 26.0, 32.0)  # of the film: about where notches are cut, common practice


def notch_side(emulsion: Emulsion) -> Literal["left", "right"]:
    """On which side of its top edge a sheet has its code notches, as seen from above in a holder.

    Right where the emulsion faces one (common practice, no source), so left where it faces down.
    """
    return "left" if emulsion == "down" else "right"


def marked(films: Sequence[Job], layout: Layout) -> tuple[tuple[Place, str], ...]:
    """The places of all films that want a triangle, and its name: of sheets with their long side along the bed."""
    found = []
    for number, place in enumerate(layout.places, 1):
        one = films[place.kind]
        if one.own_film.kind == "sheet" and not layout.laid_at(place).turned:
            side = notch_side(one.preset.film.emulsion)
            which = f", pocket {number}" if len(layout.places) > 1 else ""
            found.append((place, f"triangle where the code notches lie: top {side}{which}"))
    return tuple(found)


def triangle(
    place: Place, side: Literal["left", "right"], free: Sequence[Rect], rules: Process
) -> tuple[tuple[Point, ...], ...] | None:
    """Its strokes: beyond the film's head and pointing at it, where one of the free strips takes it; else None."""
    y = place.room.top + CLEAR_MM + rules.groove_width_mm
    for (wide, high), aside in product(SIZES_MM, FROM_CORNER_MM):
        x = place.film.x + aside if side == "left" else place.film.right - aside
        box = Rect(x - wide / 2, y, wide, high).grown(CLEAR_MM)
        if aside <= place.film.width / 3 and any(strip.contains(box) for strip in free):
            tip, left, right = (x, y), (x - wide / 2, y + high), (x + wide / 2, y + high)
            return ((tip, right, left, tip),)
    return None
