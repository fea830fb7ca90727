"""The focus ramp as parts: slabs like any holder, from the numbers that the analysis reads."""

from __future__ import annotations

import math

from holders.design.model import Groove, Part, Rect, Role, Slab
from holders.design.parts.lettering import strokes_in
from holders.facts.models import Route
from holders.geometry.outline import Outline, Region, Vertex, rectangle
from holders.measure.ramp import FIRST_MARK_MM, WIDE_MM, Box, RampGeometry

EVEN = 1e-9
GROOVE_MM = 0.5
LETTER_MM = 3.0
LID_PLAY_MM = 0.4  # of the frame between the walls
RIM_MM = 1.0
CLIMB_MM = 3.0  # of a band from the raised plate to the frame, at least: it then pulls down, not only across
# horns outside the walls that a rubber band is looped round: a neck, a head that widens a line's width at a time
HORN_MM, HORN_OUT_MM, HORN_FLARE_MM = 4.0, 3.0, 2.0
NECK_TOP_MM, HEAD_MM, FLARE_STEPS = 3.0, 1.5, 5
CUT_MM = 7.0  # x up to which the low end's walls are taken away above the horns' necks; no slot begins there


def printed_ramp(ramp: RampGeometry) -> Part:
    """The ramp in one printed piece: plates with slots on both sides, walls, two stairs of one layer a step, horns.

    The stairs' low-side corners lie on the slope, so a target laid on them has its known height at every mark. The bay
    runs out at both ends. The raised plate is a bridge over the far track. Both sides are slabs of their own beside
    the stairs' many thin ones: as one slab a step, all their walls and slots would be put together a step at a time.
    """
    slabs = (*_near_side(ramp), *_stairs(ramp), *_far_side(ramp), *_horns(ramp))
    return Part("ramp", "focus ramp", "print", "", 1, slabs, grooves=_letters(ramp), role=Role.TEST)


def _near_side(ramp: RampGeometry) -> tuple[Slab, ...]:
    return _side_slabs(ramp, (0.0, ramp.floor_mm), ramp.wall_height_mm, far=False)


def _far_side(ramp: RampGeometry) -> tuple[Slab, ...]:
    top = ramp.far_mm + ramp.floor_mm
    return _side_slabs(ramp, (ramp.far_mm, top), max(ramp.wall_height_mm, top), far=True)


def _side_slabs(
    ramp: RampGeometry, plate: tuple[float, float], highest: float, *, far: bool
) -> tuple[Slab, ...]:
    """The walls on one side of the bay up to ``highest``, and the plate between them from and to its two heights."""
    slabs, low, z = [], cut_mm(ramp), 0.0
    for top in sorted({round(z, 6) for z in (*plate, low, highest) if 0.0 < z <= highest + EVEN}):
        in_plate = plate[0] - EVEN <= z and top <= plate[1] + EVEN
        region = _side(
            ramp, CUT_MM if z >= low - EVEN else 0.0, _slots(ramp, far=far) if in_plate else None, far=far
        )
        slabs.append(Slab(f"{'far' if far else 'near'} side to {top:.2f}", z, top, region))
        z = top
    return tuple(slabs)


def _stairs(ramp: RampGeometry) -> tuple[Slab, ...]:
    """What stands in the bay: a slab for every tread, and below the sill's top what ties both sides at the low end."""
    slabs, z = [], 0.0
    tops = {round(z, 6) for z in (*(z for _, _, z in ramp.stairs()), ramp.sill_mm) if z > 0.0}
    for top in sorted(tops):
        slabs += [
            Slab(f"bay to {top:.2f}", z, top, region)
            for region in _in_bay(ramp, top, z >= cut_mm(ramp) - EVEN)
        ]
        z = top
    return tuple(slabs)


def _slots(ramp: RampGeometry, *, far: bool) -> tuple[Outline, ...]:
    return tuple(_outline(mark.box) for mark in ramp.marks(far=far))


def cut_mm(ramp: RampGeometry) -> float:
    """Height above which the low end's walls are taken away, so that a band runs free from horn to frame."""
    ends = [z for x, _, z in ramp.stairs() if x <= CUT_MM]
    return max([NECK_TOP_MM, *ends])


Corners = tuple[tuple[float, float], ...]
Holes = tuple[Outline, ...]


def _trough(ramp: RampGeometry, track: Box, start: float) -> tuple[Corners, Holes]:
    """The space of a track beside its plate: corners of the outline (to be walked with y falling), and holes.

    It is closed at both ends so that the ramp stays one stiff piece; where the low end is taken away up to ``start``,
    at the high end only.
    """
    end = ramp.length_mm - ramp.wall_mm
    if start > 0.0:
        return ((start, track.y1), (end, track.y1), (end, track.y0), (start, track.y0)), ()
    return (), (rectangle(ramp.wall_mm, track.y0, end - ramp.wall_mm, track.y1 - track.y0),)


def _side(ramp: RampGeometry, start: float, slots: Holes | None, *, far: bool) -> Region:
    """The walls on one side of the bay, above the slope's high end; ``slots``: of its plate, None above a plate."""
    y0, y1 = (ramp.bay.y1, ramp.width_mm) if far else (0.0, ramp.bay.y0)
    track = ramp.far_track if far else ramp.track
    inner, holes = _trough(ramp, track, start) if slots is None else ((), slots)
    corners = ((start, y0), (ramp.length_mm, y0), (ramp.length_mm, y1), (start, y1), *inner)
    return Region(_polygon(corners), holes)


def _in_bay(ramp: RampGeometry, top: float, cut: bool) -> tuple[Region, ...]:
    """What stands in the bay in the slab that ends at ``top``; ``cut``: above where the low end's walls end.

    Open are the window and all before the first tread that reaches so high, but for the sill that ties both sides at
    the low end.
    """
    bay, window = ramp.bay, ramp.window
    first = min([*(x for x, _, z in ramp.stairs() if z >= top - EVEN), bay.x1])
    if cut:
        first = max(CUT_MM, first)
    sill = top <= ramp.sill_mm + EVEN
    whole = rectangle(bay.x0, bay.y0, bay.x1 - bay.x0, bay.y1 - bay.y0)
    if sill and first <= window.x0:
        return (Region(whole, (_outline(window),)),)
    stairs = Region(_polygon(((bay.x1, bay.y0), (bay.x1, bay.y1), *_open_bay(ramp, first))))
    tie = Region(rectangle(bay.x0, bay.y0, window.x0 - bay.x0, bay.y1 - bay.y0))
    return (tie, stairs) if sill else (stairs,)


def _open_bay(ramp: RampGeometry, first: float) -> Corners:
    """Corners of the bay's open part behind ``first``, x of the first tread, from its far side to its near one."""
    bay, window = ramp.bay, ramp.window
    if first >= window.x1:
        return (first, bay.y1), (first, bay.y0)
    return (
        (first, bay.y1), (first, window.y1), (window.x1, window.y1), (window.x1, window.y0), (first, window.y0),
        (first, bay.y0),
    )  # fmt: skip


def _polygon(corners: tuple[tuple[float, float], ...]) -> Outline:
    return Outline(tuple(Vertex(x, y) for x, y in corners))


def _horns(ramp: RampGeometry) -> tuple[Slab, ...]:
    """Four horns outside the walls, where the bars across the lid's ends lie."""
    slabs = []
    for number, (x, far) in enumerate((x, far) for x in horn_places(ramp) for far in (False, True)):
        step = HORN_FLARE_MM / FLARE_STEPS
        z = 0.0
        for k in range(FLARE_STEPS + 1):
            grown = k * step
            top = NECK_TOP_MM + grown if k < FLARE_STEPS else NECK_TOP_MM + grown + HEAD_MM
            y0 = ramp.width_mm - RIM_MM if far else -HORN_OUT_MM - grown
            box = rectangle(x - HORN_MM / 2 - grown, y0, HORN_MM + 2 * grown, HORN_OUT_MM + grown + RIM_MM)
            slabs.append(Slab(f"horn {number + 1} to {top:.1f}", z, top, Region(box)))
            z = top
    return tuple(slabs)


def horn_places(ramp: RampGeometry) -> tuple[float, float]:
    """X of the horns' middles: over the bars across the lid's ends, and clear of the ramp's own ends."""
    reach = HORN_MM / 2 + HORN_FLARE_MM
    return reach, ramp.length_mm - reach


def _letters(ramp: RampGeometry) -> tuple[Groove, ...]:
    """Which end is high, on top of the high end's wall where there is room, else on the outer wall."""
    rail = Rect(0.0, ramp.track.y1, ramp.length_mm, ramp.wall_mm)
    strokes = strokes_in(f"low {ramp.low_mm:g}   focus ramp   {ramp.high_mm:g} high", rail, LETTER_MM, 1.0)
    if strokes is None:
        return ()
    return (Groove("focus ramp", strokes, GROOVE_MM, 0.3, ramp.wall_height_mm),)


def lid_frame(ramp: RampGeometry) -> Part:
    """A frame that lies on the target between the walls and holds film and rulers down along both ledges."""
    region = Region(*_lid(ramp))
    return Part("ramp-lid", "frame that holds the target down", "print", "", 1,
                (Slab("lid", 0.0, ramp.frame_mm, region),), role=Role.TEST)  # fmt: skip


def _lid(ramp: RampGeometry) -> tuple[Outline, tuple[Outline, ...]]:
    """The frame's outline and its opening: bars over the ledges and across both ends."""
    bay, window = ramp.bay, ramp.window
    x0, x1 = RIM_MM, ramp.length_mm - RIM_MM
    y0, y1 = bay.y0 + LID_PLAY_MM, bay.y1 - LID_PLAY_MM
    inner = rectangle(window.x0, window.y0, window.x1 - window.x0, window.y1 - window.y0)
    return rectangle(x0, y0, x1 - x0, y1 - y0, 1.0), (inner,)


def cut_ramp(ramp: RampGeometry, sheet_mm: float, route: Route = "laser") -> tuple[Part, ...]:
    """The ramp from sheet: a base with window and slots, two rails that stand on it on edge, a raised plate with slots
    on spacers, hooks for rubber bands, and the layers of a frame on top.

    ``ramp`` is that of ``RampGeometry.from_sheet``. The base bears lines where rails, spacers and hooks stand.
    """
    rail = Outline(tuple(Vertex(x, z) for x, z in ramp.wedge_profile(sheet_mm)))
    base = Region(
        rectangle(0.0, 0.0, ramp.length_mm, ramp.width_mm),
        (*_slots(ramp, far=False), _light(ramp, sheet_mm), _trough_of_base(ramp)),
    )
    spacer, count, layers = spacer_places(ramp)[0], 2 * ramp.spacers(sheet_mm), frame_layers(ramp, sheet_mm)
    strip = Region(_strip(ramp), _slots(ramp, far=True))
    hook = Region(_hook(ramp, sheet_mm))
    far = _outline(spacer)
    return (
        Part("rail", "rail, stand it on its long edge", route, "", 2, (Slab("rail", 0, sheet_mm, Region(rail)),),
             places=((0.0, 0.0), (0.0, 20.0))),
        Part("base", "base with the height marks", route, "", 1, (Slab("base", 0, sheet_mm, base),),
             grooves=(_lines(ramp, sheet_mm),)),
        Part("spacer", "spacer under the raised plate", route, "", count,
             (Slab("spacer", 0, sheet_mm, Region(far)),), places=tuple((0.0, 0.0) for _ in range(count))),
        Part("plate", "raised plate with the far marks", route, "", 1, (Slab("plate", 0, sheet_mm, strip),)),
        Part("hook", "hook for a rubber band, stand it on its long edge", route, "", 2,
             (Slab("hook", 0, sheet_mm, hook),), places=((0.0, 0.0), (0.0, 20.0))),
        Part("frame", "layer of the frame that holds the target down", route, "", layers,
             (Slab("frame", 0, sheet_mm, Region(*_lid(ramp))),), places=tuple((0.0, 0.0) for _ in range(layers))),
    )  # fmt: skip


def frame_layers(ramp: RampGeometry, sheet_mm: float) -> int:
    """How many layers make the frame as high as the printed one and lift it above the plate that bands come over."""
    over = ramp.far_mm + ramp.floor_mm + CLIMB_MM - ramp.low_mm
    return math.ceil(max(ramp.frame_mm, over) / sheet_mm - EVEN)


def frame_top_mm(ramp: RampGeometry, sheet_mm: float | None = None) -> float:
    """Height of the frame's top above the glass, mm, but for the target's own thickness below it.

    ``sheet_mm``: of the sheet that the ramp is cut from (``ramp`` is that of ``from_sheet``); None: printed.
    """
    thick = ramp.frame_mm if sheet_mm is None else frame_layers(ramp, sheet_mm) * sheet_mm
    return ramp.height_of_line(ramp.length_mm) + thick


def _trough_of_base(ramp: RampGeometry) -> Outline:
    """The base's opening under the raised plate, between the spacers."""
    a, b = spacer_places(ramp)
    track = ramp.far_track
    return rectangle(a.x1 + RIM_MM, track.y0, b.x0 - a.x1 - 2 * RIM_MM, track.y1 - track.y0)


def spacer_places(ramp: RampGeometry) -> tuple[Box, Box]:
    """Where the spacers lie on the base, at the low and the high end of the far track."""
    wide = FIRST_MARK_MM - WIDE_MM / 2 - 2 * RIM_MM
    y0, y1 = ramp.bay.y1, ramp.width_mm - TAB_OUT_MM - RIM_MM  # a band passes under the tab above
    return (
        Box(x0=0.0, y0=y0, x1=wide, y1=y1),
        Box(x0=ramp.length_mm - wide, y0=y0, x1=ramp.length_mm, y1=y1),
    )


TAB_MM, NOTCH_MM = 3.0, 3.0
# of the raised plate's tabs, from its ends: where a tab begins and ends, and its far notch; none reaches a slot
TAB_FROM_MM, TAB_TO_MM, TAB_NOTCH_MM, TAB_OUT_MM = 2.0, 5.0, 7.0, 2.0


def _strip(ramp: RampGeometry) -> Outline:
    """The raised plate: its outer edge is set back but for a tab at either end for the rubber bands."""
    y0, y1, length = ramp.bay.y1, ramp.width_mm, ramp.length_mm
    back = y1 - TAB_OUT_MM
    low = (
        (TAB_NOTCH_MM, y1), (TAB_NOTCH_MM, back), (TAB_TO_MM, back), (TAB_TO_MM, y1), (TAB_FROM_MM, y1),
        (TAB_FROM_MM, back), (0.0, back),
    )  # fmt: skip
    high = tuple((length - x, y) for x, y in reversed(low))
    return _polygon(((0.0, y0), (length, y0), *high, *low))


def hook_places(ramp: RampGeometry, sheet_mm: float) -> tuple[Box, Box]:
    """Where the hooks stand on the base: on its near edge at both ends."""
    wide = FIRST_MARK_MM - WIDE_MM / 2 - RIM_MM
    return (
        Box(x0=0.0, y0=0.0, x1=wide, y1=sheet_mm),
        Box(x0=ramp.length_mm - wide, y0=0.0, x1=ramp.length_mm, y1=sheet_mm),
    )


def _hook(ramp: RampGeometry, sheet_mm: float) -> Outline:
    """A hook as it is cut: foot, waist that the band lies in, head; x along the base, y up from it."""
    box = hook_places(ramp, sheet_mm)[0]
    wide, waist, foot = box.x1 - box.x0, NOTCH_MM - RIM_MM, TAB_MM
    low, high, top = foot, foot + NOTCH_MM, foot + 2 * NOTCH_MM
    return _polygon((
        (0.0, 0.0), (wide, 0.0), (wide, low), (wide - waist, low), (wide - waist, high), (wide, high), (wide, top),
        (0.0, top), (0.0, high), (waist, high), (waist, low), (0.0, low),
    ))  # fmt: skip


def _light(ramp: RampGeometry, sheet_mm: float) -> Outline:
    """The base's window: between the rails, and a rim short of them, so that they stand wholly on the base."""
    near, far = ramp.rail_places(sheet_mm)
    y0, y1 = near.y1 + RIM_MM, far.y0 - RIM_MM
    return rectangle(ramp.window.x0, y0, ramp.window.x1 - ramp.window.x0, y1 - y0)


def _lines(ramp: RampGeometry, sheet_mm: float) -> Groove:
    """Lines on the base where rails, spacers and hooks stand."""
    rails = tuple(
        ((place.x0, y), (place.x1 - RIM_MM, y))
        for place in ramp.rail_places(sheet_mm)
        for y in (place.y0, place.y1)
    )
    blocks = tuple(
        ((x, box.y0 + RIM_MM), (x, box.y1 - RIM_MM))
        for pair in (spacer_places(ramp), hook_places(ramp, sheet_mm))
        for box, x in ((pair[0], pair[0].x1), (pair[1], pair[1].x0))
    )
    return Groove("places", (*rails, *blocks), GROOVE_MM, 0.1, sheet_mm)


def _outline(box: Box) -> Outline:
    return rectangle(box.x0, box.y0, box.x1 - box.x0, box.y1 - box.y0)
