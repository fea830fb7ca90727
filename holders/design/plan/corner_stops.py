"""Corner stops of a board without a pocket: angles glued on its top face that keep the film in its place.

They are cut from the board that falls out of the window, and stand round the largest film with the layout's clearance.
"""

from __future__ import annotations

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout, Place
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.design.model import Part, Rect, Role, Slab
from holders.geometry.outline import Outline, Point, Region, Vertex
from holders.preset.resolve import Job
from holders.preset.tables.making import Layout as LayoutTable

WIDE_MM = 6.0
LEAST_WIDE_MM = 3.0  # narrower pieces break or come unglued: common practice, no source
LONG_MM = 18.0
LONGEST_SHARE = 0.3  # of the film's short side
APART_MM = 0.5  # between the stops of two films, and from the board's edge
CORNERS = ("home left", "home right", "far right", "far left")


def stops_width_mm(asked: LayoutTable, layout: Layout, levels: Levels) -> float:
    """How wide the corner stops of all films may be, mm; 0 where none are asked for.

    Raises ``InputError`` where there is a pocket already, or no room beside the film.
    """
    if not asked.corner_stops:
        return 0.0
    if levels.top > levels.ledge + 1e-9:
        raise InputError(
            "layout.corner_stops",
            True,
            "are for a board without a pocket, cut by laser or knife: set layout.pocket_depth_mm = 0",
        )
    return _wide_mm(layout)


def corner_stops(job: Job, layout: Layout, levels: Levels, wide: float) -> tuple[Part, ...]:
    """Four angles a film of ``wide`` mm, each of them as often as there are films; none of no width.

    In a holder for several kinds of film ``layout`` has those of one kind, of which ``job`` knows the size.
    """
    if wide <= 0:
        return ()
    first = layout.places[0]
    long = min(LONG_MM, LONGEST_SHARE * min(first.film.width, first.film.height))
    z0 = levels.top + levels.glue
    z1 = z0 + nearest_sheet(sheet_thicknesses(job.material, job.preset), 0.0, least=job.film.thickness_mm)
    shifts = tuple((p.film.x - first.film.x, p.film.y - first.film.y) for p in layout.places)
    return tuple(
        Part(
            name=f"corner-stop-{number}",
            title=f"corner stop, {where}",
            process=job.preset.route,
            material=job.material.key,
            quantity=len(layout.places),
            slabs=(Slab("corner stop", z0, z1, Region(_angle(first, number - 1, wide, long))),),
            places=shifts,
            role=Role.CORNER,
        )
        for number, where in enumerate(CORNERS, 1)
    )


def _wide_mm(layout: Layout) -> float:
    """How wide the angles may be, mm."""
    outer, rooms = layout.outer, [place.pocket for place in layout.places]
    free = [WIDE_MM]
    for k, p in enumerate(rooms):
        free += [
            d - APART_MM for d in (p.x - outer.x, outer.right - p.right, p.y - outer.y, outer.top - p.top)
        ]
        free += [_gap(p, q) / 2 - APART_MM / 2 for q in rooms[k + 1 :]]
    wide = min(free)
    if wide < LEAST_WIDE_MM:
        raise InputError(
            "layout.corner_stops",
            True,
            f"only {max(0.0, wide):.1f} mm are free beside the film, and a stop needs {LEAST_WIDE_MM:g}: set "
            f"layout.wall_mm = {2 * LEAST_WIDE_MM + APART_MM:g}, or leave the stops out",
        )
    return wide


def _gap(p: Rect, q: Rect) -> float:
    return max(p.x - q.right, q.x - p.right, p.y - q.top, q.y - p.top)


def _angle(place: Place, corner: int, wide: float, long: float) -> Outline:
    """The angle round one corner of the place's pocket, anticlockwise; corners count from home left."""
    p = place.pocket
    x, y = ((p.x, p.y), (p.right, p.y), (p.right, p.top), (p.x, p.top))[corner]
    turn = ((1, 0), (0, 1), (-1, 0), (0, -1))[corner]
    legs: list[Point] = [(0, 0), (0, long), (-wide, long), (-wide, -wide), (long, -wide), (long, 0)]
    return Outline(
        tuple(Vertex(x + a * turn[0] - b * turn[1], y + a * turn[1] + b * turn[0]) for a, b in legs)
    )
