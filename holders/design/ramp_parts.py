"""The focus ramp as parts: slabs like any holder, from the numbers that the analysis reads."""

from __future__ import annotations

from holders.design.model import Groove, Part, Rect, Role, Slab
from holders.design.parts.lettering import strokes_in
from holders.facts.models import Route
from holders.geometry.outline import Outline, Region, Vertex, rectangle
from holders.measure.ramp import Box, RampGeometry

EVEN = 1e-9
GROOVE_MM = 0.5
LETTER_MM = 3.0
LID_MM, LID_PLAY_MM = 4.0, 0.4  # heavy enough to press film flat along its edges; slides between the walls
RIM_MM = 1.0


def printed_ramp(ramp: RampGeometry) -> Part:
    """The ramp in one printed piece: floor with slots, walls, and two stairs of one layer a step.

    The stairs' low-side corners lie on the slope, so a target laid on them has its known height at every mark.
    """
    outer = rectangle(0.0, 0.0, ramp.length_mm, ramp.width_mm)
    slots = tuple(_outline(mark.box) for mark in ramp.marks())
    tops = {round(z, 6) for _, _, z in ramp.stairs()} | {ramp.floor_mm, ramp.wall_height_mm}
    slabs, z = [], 0.0
    for top in sorted(tops):
        beside = slots if top <= ramp.floor_mm + EVEN else (_trough(ramp),)
        above = top > ramp.high_mm + EVEN  # the bay runs out at the high end
        region = Region(_walls(ramp), beside) if above else Region(outer, (*beside, _opening(ramp, top)))
        slabs.append(Slab(f"to {top:.2f}", z, top, region))
        z = top
    return Part("ramp", "focus ramp", "print", "", 1, tuple(slabs), grooves=_letters(ramp), role=Role.TEST)


def _trough(ramp: RampGeometry) -> Outline:
    """The space above the floor of the marks, closed at both ends so that the ramp stays one stiff piece."""
    track = ramp.track
    return rectangle(ramp.wall_mm, track.y0, ramp.length_mm - 2 * ramp.wall_mm, track.y1 - track.y0)


def _walls(ramp: RampGeometry) -> Outline:
    """The walls about the bay above the slope's high end: none at that end."""
    bay, length, width = ramp.bay, ramp.length_mm, ramp.width_mm
    corners = (
        (0.0, 0.0), (length, 0.0), (length, bay.y0), (bay.x0, bay.y0), (bay.x0, bay.y1), (length, bay.y1),
        (length, width), (0.0, width),
    )  # fmt: skip
    return Outline(tuple(Vertex(x, y) for x, y in corners))


def _opening(ramp: RampGeometry, top: float) -> Outline:
    """What is open of the bay below ``top``: the window, and all before the first tread that reaches so high."""
    bay, window = ramp.bay, ramp.window
    starts = [x for x, _, z in ramp.stairs() if z >= top - EVEN]
    first = min([*starts, bay.x1])
    if first >= window.x1:
        return rectangle(bay.x0, bay.y0, first - bay.x0, bay.y1 - bay.y0)
    if first <= bay.x0 + EVEN:
        return _outline(window)
    corners = (
        (bay.x0, bay.y0),
        (first, bay.y0),
        (first, window.y0),
        (window.x1, window.y0),
        (window.x1, window.y1),
        (first, window.y1),
        (first, bay.y1),
        (bay.x0, bay.y1),
    )
    return Outline(tuple(Vertex(x, y) for x, y in corners))


def _letters(ramp: RampGeometry) -> tuple[Groove, ...]:
    """Which end is high, on top of the high end's wall where there is room, else on the outer wall."""
    rail = Rect(0.0, ramp.track.y1, ramp.length_mm, ramp.wall_mm)
    strokes = strokes_in(f"low {ramp.low_mm:g}   focus ramp   {ramp.high_mm:g} high", rail, LETTER_MM, 1.0)
    if strokes is None:
        return ()
    return (Groove("focus ramp", strokes, GROOVE_MM, 0.3, ramp.wall_height_mm),)


def lid_frame(ramp: RampGeometry) -> Part:
    """A frame that lies on the target between the walls and holds film and rulers down along both ledges."""
    bay, window = ramp.bay, ramp.window
    x0, x1 = bay.x0 + LID_PLAY_MM, window.x1 + ramp.ledge_mm
    y0, y1 = bay.y0 + LID_PLAY_MM, bay.y1 - LID_PLAY_MM
    inner = rectangle(window.x0, window.y0, window.x1 - window.x0, window.y1 - window.y0)
    region = Region(rectangle(x0, y0, x1 - x0, y1 - y0, 1.0), (inner,))
    return Part("ramp-lid", "frame that holds the target down", "print", "", 1,
                (Slab("lid", 0.0, LID_MM, region),), role=Role.TEST)  # fmt: skip


def cut_ramp(ramp: RampGeometry, sheet_mm: float, route: Route = "laser") -> tuple[Part, ...]:
    """The ramp from sheet: a base with window and slots, two rails that stand on it on edge, and a frame on top.

    ``ramp`` is that of ``RampGeometry.from_sheet``. The base bears a line along either side of each rail.
    """
    rail = Outline(tuple(Vertex(x, z) for x, z in ramp.wedge_profile(sheet_mm)))
    base = Region(
        rectangle(0.0, 0.0, ramp.length_mm, ramp.width_mm),
        (*(_outline(mark.box) for mark in ramp.marks()), _light(ramp, sheet_mm)),
    )
    lid = lid_frame(ramp).slabs[0].region
    return (
        Part("rail", "rail, stand it on its long edge", route, "", 2, (Slab("rail", 0, sheet_mm, Region(rail)),),
             places=((0.0, 0.0), (0.0, 20.0))),
        Part("base", "base with the height marks", route, "", 1, (Slab("base", 0, sheet_mm, base),),
             grooves=(_rail_lines(ramp, sheet_mm),)),
        Part("frame", "frame that holds the target down", route, "", 1, (Slab("frame", 0, sheet_mm, lid),)),
    )  # fmt: skip


def _light(ramp: RampGeometry, sheet_mm: float) -> Outline:
    """The base's window: between the rails, and a rim short of them, so that they stand wholly on the base."""
    near, far = ramp.rail_places(sheet_mm)
    y0, y1 = near.y1 + RIM_MM, far.y0 - RIM_MM
    return rectangle(ramp.window.x0, y0, ramp.window.x1 - ramp.window.x0, y1 - y0)


def _rail_lines(ramp: RampGeometry, sheet_mm: float) -> Groove:
    """Lines on the base where the rails' sides stand."""
    strokes = tuple(
        ((place.x0, y), (place.x1 - RIM_MM, y))
        for place in ramp.rail_places(sheet_mm)
        for y in (place.y0, place.y1)
    )
    return Groove("rail places", strokes, GROOVE_MM, 0.1, sheet_mm)


def _outline(box: Box) -> Outline:
    return rectangle(box.x0, box.y0, box.x1 - box.x0, box.y1 - box.y0)
