"""What a design's outlines are as a workshop measures them: openings with their bays, corner radii, the home corner."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import shapely

from holders.design.model import Design, Part, Rect, Slab, Window
from holders.design.parts.opened import opened
from holders.design.parts.sections import polygon
from holders.geometry.outline import Outline, Vertex, arc_of, bounds

NEAR_MM = 0.02
BAY_MM = 0.5  # less is no bay
SLANT_MM = 0.5
CORNER_MM = 0.05
QUARTER_RAD = 0.02


@dataclass(frozen=True, slots=True)
class Opening:
    """An opening in the frame: its main rectangle, and the bays (finger notches) that widen it."""

    rect: Rect
    bays: tuple[Rect, ...]
    outline: Outline


def frame_slabs(design: Design) -> list[Slab]:
    """The frame's slabs from the underside up."""
    return sorted((s for part in frame_of(design) for s in part.slabs), key=lambda slab: slab.z0)


def seen_slabs(design: Design) -> list[Slab]:
    """The same with its open ends cut out of them."""
    return sorted((s for part in frame_of(design) for s in opened(part)), key=lambda slab: slab.z0)


def frame_of(design: Design) -> list[Part]:
    """The parts that carry the film."""
    return [part for part in design.parts if part.in_frame]


def has_pocket(design: Design) -> bool:
    """Whether walls stand around the film; without them it lies on top of the frame."""
    top = max(slab.z1 for slab in frame_slabs(design))
    return top - design.heights.drawn_ledge > NEAR_MM


def openings(slab: Slab) -> list[Opening]:
    """Every hole of a slab."""
    return [opening(hole) for hole in slab.region.holes]


def opening(hole: Outline) -> Opening:
    """A hole's main rectangle and its bays."""
    rect = main_rect(hole)
    rest = polygon(hole).difference(
        shapely.box(rect.x, rect.y, rect.right, rect.top).buffer(NEAR_MM, join_style="mitre")
    )
    bays = [piece.bounds for piece in shapely.get_parts(rest)]
    return Opening(rect, tuple(_rect(b) for b in bays if min(b[2] - b[0], b[3] - b[1]) > BAY_MM), hole)


def main_rect(outline: Outline) -> Rect:
    """The rectangle of the longest walls on each side; bays and rounded corners do not count."""
    x0, y0, x1, y1 = bounds(outline)
    xs, ys = _walls(outline, upright=True), _walls(outline, upright=False)
    left = _longest(xs, lambda x: x < (x0 + x1) / 2, x0)
    right = _longest(xs, lambda x: x >= (x0 + x1) / 2, x1)
    foot = _longest(ys, lambda y: y < (y0 + y1) / 2, y0)
    head = _longest(ys, lambda y: y >= (y0 + y1) / 2, y1)
    return Rect(left, foot, right - left, head - foot)


def _longest(walls: dict[float, float], mine, otherwise: float) -> float:  # type: ignore[no-untyped-def]
    found = {at: long for at, long in walls.items() if mine(at)}
    return max(found, key=lambda at: (found[at], at)) if found else otherwise


def _walls(outline: Outline, upright: bool) -> dict[float, float]:
    """Total length of the straight walls at each coordinate across them."""
    found: dict[float, float] = {}
    for a, b in outline.segments():
        across, along = (b.x - a.x, b.y - a.y) if upright else (b.y - a.y, b.x - a.x)
        if not a.bulge and abs(across) < NEAR_MM < abs(along):
            at = round(a.x if upright else a.y, 4)
            found[at] = found.get(at, 0.0) + abs(along)
    return found


def over_window(window: Window, found: Iterable[Opening]) -> Opening | None:
    """The opening that a window's middle lies in."""
    x, y = window.opening.x + window.opening.width / 2, window.opening.y + window.opening.height / 2
    for one in found:
        if one.rect.x < x < one.rect.right and one.rect.y < y < one.rect.top:
            return one
    return None


def calibration_openings(design: Design) -> list[Rect]:
    """Openings of the frame over the calibration zone."""
    if design.calibration is None:
        return []
    found: dict[tuple[float, ...], Rect] = {}
    for slab in frame_slabs(design):
        for one in openings(slab):
            if one.rect.overlaps(design.calibration) and not any(
                over_window(w, [one]) for w in design.windows
            ):
                found[tuple(round(v, 2) for v in (one.rect.x, one.rect.y, one.rect.right))] = one.rect
        for bay in bites(slab.region.outer, design.outer):
            if bay.overlaps(design.calibration):
                found[tuple(round(v, 2) for v in (bay.x, bay.y, bay.right))] = bay
    return list(found.values())


def bites(outline: Outline, outer: Rect) -> list[Rect]:
    """Where an outline stands back from its rectangle, without its corners."""
    away = shapely.box(outer.x, outer.y, outer.right, outer.top).difference(
        polygon(outline).buffer(NEAR_MM, join_style="mitre")
    )
    corners = shapely.MultiPoint(
        [(outer.x, outer.y), (outer.right, outer.y), (outer.right, outer.top), (outer.x, outer.top)]
    )
    boxes = [p.bounds for p in shapely.get_parts(away) if p.distance(corners) > NEAR_MM]
    return [_rect(b) for b in boxes if min(b[2] - b[0], b[3] - b[1]) > BAY_MM]


def corner_radius(outlines: Iterable[Outline], rect: Rect) -> float | None:
    """Radius of the rounded corners of a rectangle that outlines follow; None where they are sharp or elsewhere."""
    found = []
    for outline in outlines:
        for a, b in outline.segments():
            if not a.bulge:
                continue
            arc = arc_of(a, b)
            across = min(abs(arc.cx - rect.x), abs(rect.right - arc.cx))
            along = min(abs(arc.cy - rect.y), abs(rect.top - arc.cy))
            quarter = abs(abs(arc.sweep) - math.pi / 2) < QUARTER_RAD
            if quarter and max(abs(across - arc.radius), abs(along - arc.radius)) < CORNER_MM:
                found.append(round(arc.radius, 2))
    return max(found) if found else None


def hollowed(outlines: Iterable[Outline], rect: Rect) -> float | None:
    """Radius of the quarter circle round a rectangle's home corner that outlines leave out; None where none does."""
    for outline in outlines:
        for a, b in outline.segments():
            if a.bulge < 0:
                arc = arc_of(a, b)
                if max(abs(arc.cx - rect.x), abs(arc.cy - rect.y)) < CORNER_MM:
                    return round(arc.radius, 2)
    return None


def stepped(outlines: Iterable[Outline], rect: Rect) -> float | None:
    """Side of the square by which outlines step back from a rectangle's home corner; None where none does."""
    for outline in outlines:
        ends = [(vertex.x - rect.x, vertex.y - rect.y) for vertex in outline.vertices]
        for (ax, ay), (bx, by), (cx, cy) in zip(ends, ends[1:] + ends[:1], ends[2:] + ends[:2], strict=True):
            away = abs(ax), abs(ay - by), abs(bx - by), abs(cx - bx), abs(cy)
            if bx > SLANT_MM and max(away) < CORNER_MM:
                return round(bx, 2)
    return None


def slants(outlines: Iterable[Outline]) -> list[tuple[float, float]]:
    """Legs of slanted corners, each once; they are alike, unlike the sides of a joint's tongue."""
    found = set()
    for outline in outlines:
        for a, b in outline.segments():
            legs = _legs(a, b)
            if legs is not None:
                found.add(legs)
    return sorted(found)


def _legs(a: Vertex, b: Vertex) -> tuple[float, float] | None:
    across, along = abs(b.x - a.x), abs(b.y - a.y)
    if a.bulge or min(across, along) < SLANT_MM or abs(across - along) > SLANT_MM:
        return None
    return round(across, 2), round(along, 2)


def _rect(box: tuple[float, float, float, float]) -> Rect:
    return Rect(box[0], box[1], box[2] - box[0], box[3] - box[1])
