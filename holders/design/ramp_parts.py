"""The focus ramp as parts: slabs like any holder, from the numbers that the analysis reads."""

from __future__ import annotations

from holders.design.model import Groove, Part, Rect, Role, Slab
from holders.design.parts.lettering import strokes_in
from holders.facts.models import Route
from holders.geometry.outline import Outline, Region, Vertex, rectangle
from holders.measure.ramp import FIRST_MARK_MM, WIDE_MM, Box, RampGeometry

EVEN = 1e-9
GROOVE_MM = 0.5
LETTER_MM = 3.0
# a bar stiff enough to press film flat along its edges, pulled down at both ends; slides between the walls
LID_MM, LID_PLAY_MM = 8.0, 0.4
RIM_MM = 1.0
# horns outside the walls that a rubber band is looped round: a neck, a head that widens a line's width at a time
HORN_MM, HORN_OUT_MM, HORN_FLARE_MM = 4.0, 3.0, 2.0
NECK_TOP_MM, HEAD_MM, FLARE_STEPS = 3.0, 1.5, 5


def printed_ramp(ramp: RampGeometry) -> Part:
    """The ramp in one printed piece: plates with slots on both sides, walls, two stairs of one layer a step, horns.

    The stairs' low-side corners lie on the slope, so a target laid on them has its known height at every mark. The bay
    runs out at both ends. The raised plate is a bridge over the far track.
    """
    far_top = ramp.far_mm + ramp.floor_mm
    tops = {round(z, 6) for _, _, z in ramp.stairs()} | {
        ramp.floor_mm, ramp.wall_height_mm, ramp.far_mm, far_top, *((ramp.sill_mm,) if ramp.sill_mm else ()),
    }  # fmt: skip
    slabs, z = [], 0.0
    for top in sorted(tops):
        near = _slots(ramp, far=False) if top <= ramp.floor_mm + EVEN else (_trough(ramp, ramp.track),)
        plate = ramp.far_mm - EVEN <= z and top <= far_top + EVEN
        far = _slots(ramp, far=True) if plate else (_trough(ramp, ramp.far_track),)
        name = f"to {top:.2f}"
        if top > ramp.high_mm + EVEN:  # the bay runs out: a side stands alone, as high as it must be
            if top <= ramp.wall_height_mm + EVEN:
                slabs.append(Slab(f"near side {name}", z, top, Region(_side(ramp, far=False), near)))
            slabs.append(Slab(f"far side {name}", z, top, Region(_side(ramp, far=True), far)))
        else:
            outer, hole = _with_bay(ramp, top)
            slabs.append(Slab(name, z, top, Region(outer, (*near, *far, *hole))))
        z = top
    return Part(
        "ramp", "focus ramp", "print", "", 1, (*slabs, *_horns(ramp)), grooves=_letters(ramp), role=Role.TEST
    )


def _slots(ramp: RampGeometry, *, far: bool) -> tuple[Outline, ...]:
    return tuple(_outline(mark.box) for mark in ramp.marks(far=far))


def _trough(ramp: RampGeometry, track: Box) -> Outline:
    """The space of a track beside its plate, closed at both ends so that the ramp stays one stiff piece."""
    return rectangle(ramp.wall_mm, track.y0, ramp.length_mm - 2 * ramp.wall_mm, track.y1 - track.y0)


def _side(ramp: RampGeometry, *, far: bool) -> Outline:
    """The walls on one side of the bay, above the slope's high end."""
    y0, y1 = (ramp.bay.y1, ramp.width_mm) if far else (0.0, ramp.bay.y0)
    return rectangle(0.0, y0, ramp.length_mm, y1 - y0)


def _with_bay(ramp: RampGeometry, top: float) -> tuple[Outline, tuple[Outline, ...]]:
    """The plan of the slab that ends at ``top``, and what is open of the bay there.

    Open are the window and all before the first tread that reaches so high: a hole where the sill ties both sides at
    the low end, else a bay of the outline.
    """
    bay, window, length, width = ramp.bay, ramp.window, ramp.length_mm, ramp.width_mm
    start = ramp.window.x0 if top <= ramp.sill_mm + EVEN else 0.0
    first = min([*(x for x, _, z in ramp.stairs() if z >= top - EVEN), bay.x1])
    inside: tuple[tuple[float, float], ...]
    if first >= window.x1:
        inside = ((first, bay.y1), (first, bay.y0))
    else:
        inside = (
            (first, bay.y1), (first, window.y1), (window.x1, window.y1), (window.x1, window.y0), (first, window.y0),
            (first, bay.y0),
        )  # fmt: skip
    if start > 0.0:
        return rectangle(0.0, 0.0, length, width), (_polygon(((start, bay.y0), (start, bay.y1), *inside)),)
    corners = (
        (0.0, 0.0),
        (length, 0.0),
        (length, width),
        (0.0, width),
        (0.0, bay.y1),
        *inside,
        (0.0, bay.y0),
    )
    return _polygon(corners), ()


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
                (Slab("lid", 0.0, LID_MM, region),), role=Role.TEST)  # fmt: skip


def _lid(ramp: RampGeometry) -> tuple[Outline, tuple[Outline, ...]]:
    """The frame's outline and its opening: bars over the ledges and across both ends."""
    bay, window = ramp.bay, ramp.window
    x0, x1 = RIM_MM, ramp.length_mm - RIM_MM
    y0, y1 = bay.y0 + LID_PLAY_MM, bay.y1 - LID_PLAY_MM
    inner = rectangle(window.x0, window.y0, window.x1 - window.x0, window.y1 - window.y0)
    return rectangle(x0, y0, x1 - x0, y1 - y0, 1.0), (inner,)


def cut_ramp(ramp: RampGeometry, sheet_mm: float, route: Route = "laser") -> tuple[Part, ...]:
    """The ramp from sheet: a base with window and slots, two rails that stand on it on edge, a raised plate with slots
    on spacers, hooks for rubber bands, and a frame on top.

    ``ramp`` is that of ``RampGeometry.from_sheet``. The base bears lines where rails, spacers and hooks stand.
    """
    rail = Outline(tuple(Vertex(x, z) for x, z in ramp.wedge_profile(sheet_mm)))
    base = Region(
        rectangle(0.0, 0.0, ramp.length_mm, ramp.width_mm),
        (*_slots(ramp, far=False), _light(ramp, sheet_mm), _trough_of_base(ramp)),
    )
    spacer, count = spacer_places(ramp)[0], 2 * ramp.spacers(sheet_mm)
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
        Part("frame", "frame that holds the target down", route, "", 1,
             (Slab("frame", 0, sheet_mm, Region(*_lid(ramp))),)),
    )  # fmt: skip


def _trough_of_base(ramp: RampGeometry) -> Outline:
    """The base's opening under the raised plate, between the spacers."""
    a, b = spacer_places(ramp)
    track = ramp.far_track
    return rectangle(a.x1 + RIM_MM, track.y0, b.x0 - a.x1 - 2 * RIM_MM, track.y1 - track.y0)


def spacer_places(ramp: RampGeometry) -> tuple[Box, Box]:
    """Where the spacers lie on the base, at the low and the high end of the far track."""
    wide = FIRST_MARK_MM - WIDE_MM / 2 - 2 * RIM_MM
    y0, y1 = ramp.bay.y1, ramp.width_mm
    return (
        Box(x0=0.0, y0=y0, x1=wide, y1=y1),
        Box(x0=ramp.length_mm - wide, y0=y0, x1=ramp.length_mm, y1=y1),
    )


TAB_MM, NOTCH_MM = 3.0, 3.0


def _strip(ramp: RampGeometry) -> Outline:
    """The raised plate: two notches in its outer edge leave tabs at its ends for the rubber bands."""
    y0, y1, length = ramp.bay.y1, ramp.width_mm, ramp.length_mm
    ends = ((length - TAB_MM, length - TAB_MM - NOTCH_MM), (TAB_MM + NOTCH_MM, TAB_MM))
    notches = [(x, y) for a, b in ends for x, y in ((a, y1), (a, y1 - NOTCH_MM), (b, y1 - NOTCH_MM), (b, y1))]
    return _polygon(((0.0, y0), (length, y0), (length, y1), *notches, (0.0, y1)))


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
