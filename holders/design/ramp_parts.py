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


def printed_ramp(ramp: RampGeometry) -> Part:
    """The ramp in one printed piece: floor with slots, walls, and two stairs of one layer a step.

    The stairs' low-side corners lie on the slope, so a target laid on them has its known height at every mark.
    """
    outer = rectangle(0.0, 0.0, ramp.length_mm, ramp.width_mm, 1.0)
    slots = tuple(_outline(mark.box) for mark in ramp.marks())
    tops = {round(z, 6) for _, _, z in ramp.stairs()} | {ramp.floor_mm, ramp.wall_height_mm}
    slabs, z = [], 0.0
    for top in sorted(tops):
        beside = slots if top <= ramp.floor_mm + EVEN else (_trough(ramp),)
        slabs.append(Slab(f"to {top:.2f}", z, top, Region(outer, (*beside, _opening(ramp, top)))))
        z = top
    return Part("ramp", "focus ramp", "print", "", 1, tuple(slabs), grooves=_letters(ramp), role=Role.TEST)


def _trough(ramp: RampGeometry) -> Outline:
    """The space above the floor of the marks, closed at both ends so that the ramp stays one stiff piece."""
    track = ramp.track
    return rectangle(ramp.wall_mm, track.y0, ramp.length_mm - 2 * ramp.wall_mm, track.y1 - track.y0)


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


def cut_ramp(ramp: RampGeometry, sheet_mm: float, route: Route = "laser") -> tuple[Part, ...]:
    """The ramp from sheet: two wedge rails that stand on edge, and the flat strip with the slots."""
    rail = Outline(tuple(Vertex(x, z) for x, z in ramp.wedge_profile()))
    track = ramp.track
    strip = Region(
        rectangle(0.0, 0.0, ramp.length_mm, track.y1 - track.y0),
        tuple(_outline(_down(mark.box, track.y0)) for mark in ramp.marks()),
    )
    return (
        Part("rail", "wedge rail, stand it on its long edge", route, "", 2, (Slab("rail", 0, sheet_mm, Region(rail)),),
             places=((0.0, 0.0), (0.0, 20.0))),
        Part("marks", "strip with the height marks", route, "", 1, (Slab("marks", 0, sheet_mm, strip),)),
    )  # fmt: skip


def _down(box: Box, by: float) -> Box:
    return Box(x0=box.x0, y0=box.y0 - by, x1=box.x1, y1=box.y1 - by)


def _outline(box: Box) -> Outline:
    return rectangle(box.x0, box.y0, box.x1 - box.x0, box.y1 - box.y0)
