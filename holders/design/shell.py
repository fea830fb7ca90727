"""The holder's outside: rounded, the home corner slanted off, the calibration zone left open."""

from __future__ import annotations

from holders.design.layout import Layout
from holders.design.model import Rect
from holders.design.outline import Bay, Outline, rectangle, walled
from holders.facts.models import Process


def shell(layout: Layout, radius: float, rules: Process) -> tuple[Outline, tuple[Outline, ...]]:
    """The outer outline and the hole for the calibration zone (none where the zone reaches the edge: then a bite).

    Raises ``ValueError`` when the zone cannot be left open with a whole frame around it (the caller names the field).
    """
    outer, zone = layout.outer, layout.keep_open
    cut = rules.corner_cut_mm
    if zone is None or not zone.overlaps(outer):
        return _outer(outer, radius, (), cut), ()
    inside = (
        zone.x - outer.x >= layout.wall
        and outer.right - zone.right >= layout.wall
        and zone.y - outer.y >= layout.wall
        and outer.top - zone.top >= layout.wall
    )
    if inside:
        hole = rectangle(zone.x, zone.y, zone.width, zone.height, rules.window_radius_mm)
        return _outer(outer, radius, (), cut), (hole,)
    if zone.y - outer.y < layout.wall:
        low, high = (
            max(zone.x, outer.x + cut + layout.wall),
            min(zone.right, outer.right - radius - layout.wall),
        )
        if low > zone.x or high < zone.right:
            raise ValueError("the calibration zone reaches a corner of the holder")
        bite = Bay("foot", (low + high) / 2, high - low, -(zone.top - outer.y), rules.window_radius_mm)
        return _outer(outer, radius, (bite,), cut), ()
    raise ValueError("the calibration zone lies too near the side or head of the holder to be left open")


def _outer(outer: Rect, radius: float, bays: tuple[Bay, ...], cut: float) -> Outline:
    return walled(outer.x, outer.y, outer.width, outer.height, radius, bays, cut)
