"""The holder's outside: rounded, the home corner hollowed or stepped back, the calibration zone left open."""

from __future__ import annotations

import math

from holders.core.errors import InputError
from holders.design.draft.bed import LEAST_BAR_MM
from holders.design.draft.places import Layout
from holders.design.model import Rect
from holders.facts.models import Process
from holders.geometry.outline import Bay, Outline, rectangle, walled

SLOT_SHARE = 0.6  # of the radius from which a round end would cover the calibration zone


def shell(layout: Layout, radius: float, rules: Process) -> tuple[Outline, tuple[Outline, ...]]:
    """The outer outline and the hole for the calibration zone; near the home edge that is opened to it, as a bite.

    Raises ``InputError`` when the rounded corners reach into a pocket, ``ValueError`` when the zone cannot be left
    open with a whole frame around it (the caller names the field).
    """
    _corners_clear(layout, radius)
    outer, zone = layout.outer, layout.keep_open
    cut, bar = rules.corner_cut_mm, max(layout.wall, LEAST_BAR_MM)
    if zone is None or not zone.overlaps(outer):
        return _outer(outer, radius, (), rules), ()
    inside = (
        zone.x - outer.x >= layout.wall
        and outer.right - zone.right >= layout.wall
        and zone.y - outer.y >= bar
        and outer.top - zone.top >= layout.wall
    )
    if inside:
        hole = rectangle(zone.x, zone.y, zone.width, zone.height, rules.window_radius_mm)
        return _outer(outer, radius, (), rules), (hole,)
    if zone.y - outer.y < bar:
        low, high = (
            max(zone.x, outer.x + cut + layout.wall),
            min(zone.right, outer.right - radius - layout.wall),
        )
        if low > zone.x or high < zone.right:
            raise ValueError("the calibration zone reaches a corner of the holder")
        bite = Bay("foot", (low + high) / 2, high - low, -(zone.top - outer.y), _slot_radius(rules))
        return _outer(outer, radius, (bite,), rules), ()
    raise ValueError("the calibration zone lies too near the side or head of the holder to be left open")


def _corners_clear(layout: Layout, radius: float) -> None:
    """Every corner of a pocket must lie inside the arc that rounds the holder's corner, by half a wall."""
    o, rooms = layout.outer, [place.room for place in layout.places]
    corners = [(o.right - r.right, r.y - o.y) for r in rooms] + [
        (x, o.top - r.top) for r in rooms for x in (r.x - o.x, o.right - r.right)
    ]
    most = min((_largest_radius(x, y, layout.wall / 2) for x, y in corners), default=math.inf)
    if radius > most + 1e-9:
        raise InputError(
            "layout.corner_radius_mm",
            radius,
            f"the rounded corner reaches into a pocket; at most {math.floor(10 * most) / 10:g} mm",
        )


def _largest_radius(x: float, y: float, keep: float) -> float:
    """Of an arc that rounds a corner and stays ``keep`` away from a point x and y inside the corner's two sides.

    The root of (R - x)² + (R - y)² = (R - keep)²; a point nearer to a side than ``keep`` must lie beside the arc.
    """
    a, b = x - keep, y - keep
    return a + b + keep + math.sqrt(2 * a * b) if min(a, b) > 0 else max(x, y)


def _slot_radius(rules: Process) -> float:
    """Of the bite's far corners: round where it is not cut by hand, but never over the zone within its clearance.

    A corner of radius r covers a point c inside both of its sides from r = c (2 + sqrt 2) on.
    """
    if rules.corner_form == "stepped":
        return rules.window_radius_mm
    return max(rules.window_radius_mm, rules.calibration_clear_mm * (2 + math.sqrt(2)) * SLOT_SHARE)


def _outer(outer: Rect, radius: float, bays: tuple[Bay, ...], rules: Process) -> Outline:
    cut, form = rules.corner_cut_mm, rules.corner_form
    return walled(outer.x, outer.y, outer.width, outer.height, radius, bays, cut, form)
