"""The holder's slabs as plain numbers, for the views that draw it on the glass and in 3D."""

from __future__ import annotations

from typing import Any

from holders.design.model import Design, Rect
from holders.design.parts.opened import opened
from holders.geometry.outline import Outline, points
from holders.output.draw import apart

CHORD_MM = 0.4


def shape(made: Design) -> dict[str, Any]:
    """The slabs as closed rings of points, mm, heights above the glass; ``stack``: all that lies in the holder.

    ``stack`` goes from the glass up, in the order in which the drawing pulls it apart: each with its ``kind`` (part,
    feet, film, pane), its ``level``, where it is moved to, its slabs and, of film, its picture.
    """
    return {
        "box": _box(made.outer),
        "high": made.total_height,
        "glass": _box(made.glass),
        "lamp": _box(made.lamp),
        "calibration": None if made.calibration is None else _box(made.calibration),
        "films": [
            {
                "film": _box(w.film),
                "opening": _box(w.opening),
                "picture": _box(w.picture),
                "z": made.of(w.kind).heights.ledge_above_glass,
            }
            for w in made.windows
        ],
        "parts": [
            {
                "title": part.title,
                "places": [list(place) for place in part.places],
                "slabs": _slabs(opened(part)),
            }
            for part in sorted(made.parts, key=lambda part: part.z0)
        ],
        "stack": [
            {
                "kind": _kind(thing, made),
                "level": level,
                "shift": [round(value, 2) for value in thing.shift],
                "slabs": _slabs(thing.slabs),
                "picture": None if thing.picture is None else _box(thing.picture),
            }
            for level, thing in apart.stacked(made)
        ],
    }


def _kind(thing: apart.Thing, made: Design) -> str:
    """What a thing is: glass in the pocket is drawn as glass, though the pocket is the film's."""
    if thing.key in {part.name for part in made.parts}:
        return "part"
    if thing.key == apart.FEET:
        return "feet"
    return "film" if thing.picture is not None else "pane"


def _slabs(slabs: Any) -> list[dict[str, Any]]:
    return [
        {
            "z": [round(slab.z0, 3), round(slab.z1, 3)],
            "rings": [_ring(outline) for outline in (slab.region.outer, *slab.region.holes)],
        }
        for slab in sorted(slabs, key=lambda slab: slab.z0)
    ]


def _box(rect: Rect) -> list[float]:
    return [round(value, 2) for value in (rect.x, rect.y, rect.width, rect.height)]


def _ring(outline: Outline) -> list[float]:
    return [round(value, 2) for point in points(outline, CHORD_MM) for value in point]
