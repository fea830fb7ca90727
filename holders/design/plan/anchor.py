"""Where a holder lies on the glass, and the loose stops that bring a small one there.

A holder as large as the glass lies between its rims. A smaller one lies in a corner (two rims hold it) or over the
middle of the glass; there a stop beside it, as wide as the glass that is left, bridges the way to a rim.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import assert_never

from holders.design.draft.bed import corner_mm
from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout
from holders.design.draft.stops import (
    LEAST_DEEP_MM,
    LEAST_LONG_MM,
    LONG_MM,
    OVERLAP_MM,
    stop_height_mm,
)
from holders.design.model import EDGES, Design, Edge, Groove, Part, Rect, Role, Slab
from holders.design.parts.lettering import strokes_in
from holders.facts.models import Process, Route
from holders.facts.tables import process
from holders.geometry.outline import Region, rectangle
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

LOOSE_GAPS = (
    4.0  # gaps beyond so many slide-in gaps (of at least half a millimetre) let a holder lie anywhere
)
LEAST_GAP_MM = 0.5
TOUCH_MM = 0.05
SIDES: tuple[tuple[Edge, Edge], ...] = (("left", "right"), ("foot", "head"))  # the first is preferred
RIM = {"left": "left rim", "right": "right rim", "foot": "home rim", "head": "rim at the head"}
ALONG_WORDS = ("across the bed", "along the bed")


def rim_gap_mm(glass: Rect, outer: Rect, edge: Edge) -> float:
    """How far the holder lies from the rim of the glass on one edge, mm."""
    return {
        "left": outer.x - glass.x,
        "right": glass.right - outer.right,
        "foot": outer.y - glass.y,
        "head": glass.top - outer.top,
    }[edge]


def holding(design: Design) -> tuple[Edge | None, Edge | None]:
    """Against which edge the holder is pushed, across and along the bed: a rim or a stop. None: nothing holds it."""
    across, along = (_held(design, pair) for pair in SIDES)
    return across, along


def shift_mm(design: Design) -> tuple[float, float]:
    """How far the holder can shift from its place across and along the bed, mm; where it is held, by the rim's gap."""
    found = []
    for pair, edge in zip(SIDES, holding(design), strict=True):
        gaps = [rim_gap_mm(design.glass, design.outer, e) for e in pair]
        held = 0.0 if edge is None else rim_gap_mm(design.glass, design.outer, edge)
        # against a rim it comes nearer by the gap there; against a stop it lies where it belongs
        found.append(max(gaps) if edge is None else 0.0 if _stopped(design, edge) else held)
    return found[0], found[1]


def _held(design: Design, pair: tuple[Edge, Edge]) -> Edge | None:
    near = [
        edge for edge in pair if rim_gap_mm(design.glass, design.outer, edge) <= loose_from(design.slide_gap)
    ]
    stopped = [edge for edge in pair if _stopped(design, edge)]
    return next(iter([*near, *stopped]), None)


def _stopped(design: Design, edge: Edge) -> bool:
    """Whether a stop bridges the way from the holder to the rim, high enough and along enough of it."""
    return any(_bridges(part, design, edge) for part in design.parts if part.role is Role.STOP)


def _bridges(part: Part, design: Design, edge: Edge) -> bool:
    x0, y0, x1, y1 = part.box
    g, o = design.glass, design.outer
    frame = [p for p in design.parts if p.in_frame]
    under, top = min(p.z0 for p in frame), max(p.z1 for p in frame)
    if min(part.z1, top) - max(part.z0, under) < OVERLAP_MM - 1e-6:
        return False
    ways = {
        "left": (x0 - g.x, x1 - o.x),
        "right": (x1 - g.right, x0 - o.right),
        "foot": (y0 - g.y, y1 - o.y),
        "head": (y1 - g.top, y0 - o.top),
    }[edge]
    side = edge in ("left", "right")
    along = min(y1, o.top) - max(y0, o.y) if side else min(x1, o.right) - max(x0, o.x)
    return max(map(abs, ways)) <= TOUCH_MM and along >= LEAST_LONG_MM - 1e-6


def loose_from(slide_gap_mm: float) -> float:
    """The gap to a rim beyond which a holder does not lie in its place by itself, mm."""
    return LOOSE_GAPS * max(slide_gap_mm, LEAST_GAP_MM)


def stops(job: Job, layout: Layout, levels: Levels) -> tuple[Part, ...]:
    """The loose stops of a holder that no rim holds: one across and one along the bed where there is room.

    A stop keeps off the calibration zone. It is as high as brings it beside the holder's wall; where nothing is high
    enough or wide enough there is none, and a check says so.
    """
    found = []
    for pair in SIDES:
        gaps = {edge: rim_gap_mm(layout.glass, layout.outer, edge) for edge in pair}
        if min(gaps.values()) <= loose_from(job.preset.layout.slide_gap_mm):
            continue
        places = [(edge, place) for edge in pair if (place := _place(job.preset, layout, edge)) is not None]
        if places:
            found.append(_stop(job, *places[0], levels))
    return tuple(found)


def _place(preset: PlainPreset, layout: Layout, edge: Edge) -> Rect | None:
    """The longest stretch of the glass beside the holder, off the calibration zone, cut to a stop's length."""
    g, o, zone = layout.glass, layout.outer, layout.keep_open
    side = edge in ("left", "right")
    # beside a holder that is moved: what it lies beside in all its places
    o = o.inset(layout.moves.across.travel, 0.0, 0.0, layout.moves.along.travel)
    strip = {
        "left": Rect(g.x, o.y, o.x - g.x, o.height),
        "right": Rect(o.right, o.y, g.right - o.right, o.height),
        "foot": Rect(o.x, g.y, o.width, o.y - g.y),
        "head": Rect(o.x, o.top, o.width, g.top - o.top),
    }[edge]
    if (strip.width if side else strip.height) < LEAST_DEEP_MM[preset.route]:
        return None
    corner = corner_mm(preset)
    low, high = (strip.y, strip.top) if side else (strip.x, strip.right)
    spans = [(low + corner, high - corner)]
    if zone is not None and zone.overlaps(strip):
        near, far = (zone.y, zone.top) if side else (zone.x, zone.right)
        spans = [(spans[0][0], min(near, spans[0][1])), (max(far, spans[0][0]), spans[0][1])]
    start, end = max(spans, key=lambda span: span[1] - span[0])
    long = min(LONG_MM, end - start)
    if long < LEAST_LONG_MM:
        return None
    at = (start + end - long) / 2
    return Rect(strip.x, at, strip.width, long) if side else Rect(at, strip.y, long, strip.height)


def _stop(job: Job, edge: Edge, place: Rect, levels: Levels) -> Part:
    rules = process(job.preset.route)
    high = stop_height_mm(job.material, job.printer, job.preset, levels.under)
    outline = rectangle(
        place.x, place.y, place.width, place.height, min(1.0, min(place.width, place.height) / 4)
    )
    return Part(
        name=f"stop-{edge}",
        title=f"{_kind(job.preset, edge)}, between the holder and the {RIM[edge]}",
        process=job.preset.route,
        material=job.material.key,
        quantity=1,
        slabs=(Slab("stop", 0.0, high, Region(outline)),),
        grooves=_lettering(job.preset, edge, place, high, rules),
        role=Role.STOP,
    )


def _kind(preset: PlainPreset, edge: Edge) -> str:
    slides = preset.layout.shift_room_mm is not None and edge in ("left", "right")
    return "spacer (taken out, the holder slides)" if slides else "stop"


def slide_words(preset: PlainPreset, design: Design) -> str:
    """How to slide a holder that has room for it, so that two scans show how the film lies; "" for one without."""
    g, o = design.glass, design.outer
    room = g.width - o.width
    if preset.layout.shift_room_mm is None:
        return ""
    spacer = [e for e in ("left", "right") if _stopped(design, e)]
    out = f'Take "stop {spacer[0]}" out. ' if spacer else ""
    return (
        f"To measure how the film lies: wait ten minutes with the lamp on. {out}Push the holder against the left rim "
        "and the home rim and scan the window with its edges. Slide it along the home rim to the right rim, without "
        f"lifting it: {room:.0f} mm. Scan the same area with the same settings; slide it back and scan again. Then: "
        "holders surface FIRST SECOND THIRD --preset this holder."
    )


def _lettering(
    preset: PlainPreset, edge: Edge, place: Rect, high: float, rules: Process
) -> tuple[Groove, ...]:
    if not preset.layout.label:
        return ()
    text = f"stop {edge if edge != 'foot' else 'home'}"
    strokes = strokes_in(text, place, rules.letter_least_mm, rules.letter_least_mm)
    return (
        ()
        if strokes is None
        else (Groove(text, strokes, rules.groove_width_mm, rules.groove_depth_mm, high),)
    )


def home_corner(route: Route) -> str:
    """What tells the corner of a holder that goes to the home corner of the glass."""
    return "hollowed corner" if process(route).corner_form == "hollow" else "stepped corner"


def placing_words(design: Design) -> str:
    """How to bring the holder to its place on the glass, in a sentence or two for the job sheet."""
    glass, outer, edges = design.glass, design.outer, holding(design)
    corner = home_corner(design.route)
    stopped = [edge for edge in edges if edge is not None and _stopped(design, edge)]
    gaps = [rim_gap_mm(glass, outer, edge) for edge in EDGES]
    if max(gaps) <= loose_from(design.slide_gap):
        return (
            f"Lay the holder on the glass with its {corner} at the home corner (where the carriage rests), film "
            "side up; do not slide it. The calibration zone stays uncovered."
        )
    words = []
    if stopped:
        each = " and ".join(f'"stop {e if e != "foot" else "home"}" against the {RIM[e]}' for e in stopped)
        words.append(f"Lay {each}, flat on the glass")
    against = [
        f"the stop at the {_end(e)}" if e in stopped else f"the {RIM[e]}" for e in edges if e is not None
    ]
    lay = f"lay the holder on the glass, its {corner} toward the home corner, film side up"
    push = f", a few millimetres off, and push it gently against {' and '.join(against)}"
    words.append(lay + (push if against else ""))
    text = "; ".join(words)
    text = f"{text[0].upper()}{text[1:]}. The calibration zone stays uncovered."
    for k, edge in enumerate(edges):
        if edge is None:
            text += f" Nothing holds it {ALONG_WORDS[k]}: set it {_by_ruler(design, k)} with a ruler."
    return text


def by_ruler(design: Design) -> str:
    """Where to set the holder with a ruler, in the directions in which nothing holds it."""
    return " and ".join(_by_ruler(design, k) for k, edge in enumerate(holding(design)) if edge is None)


def _by_ruler(design: Design, k: int) -> str:
    edge = SIDES[k][0]
    return f"{rim_gap_mm(design.glass, design.outer, edge):.1f} mm from the {RIM[edge]}"


def _end(edge: Edge) -> str:
    match edge:
        case "left" | "right":
            return edge
        case "foot":
            return "home end"
        case "head":
            return "head"
    assert_never(edge)


def loose_ways(edges: Sequence[Edge | None]) -> str:
    """The directions in which nothing holds the holder, in words."""
    return " and ".join(ALONG_WORDS[k] for k, edge in enumerate(edges) if edge is None)
