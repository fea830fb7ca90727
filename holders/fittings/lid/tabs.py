"""What a finger takes hold of at a lid's tab: an undercut below a printed one, a grip on top of one cut from sheet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from holders.design.draft.levels import Levels
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout
from holders.design.model import Part, Rect, Role, Slab
from holders.facts.habits import habit
from holders.facts.models import Printer, Route
from holders.fittings.lid.table import Lid
from holders.geometry.outline import Region, rectangle

LEAST_TAB_MM = 1.2  # of a tab above its undercut: a finger's pull does not break it off
LEAST_UNDERCUT_MM = 0.8  # high: a fingernail goes in
HIGHEST_MM = 4.0
TAB_RADIUS_MM = 3.0
EVEN = 1e-6


def tab_undercut_mm(printer: Printer | None, thickness_mm: float) -> float:
    """How far a printed lid's tabs stand out over a finger on either side; 0 where the lid is too thin, or cut.

    It prints top down, where its underside then is stepped, so that nothing stands in the air.
    """
    high = thickness_mm - LEAST_TAB_MM
    return 0.0 if printer is None or high < LEAST_UNDERCUT_MM - EVEN else habit("tab-undercut")


def undercut_top_mm(printer: Printer | None, over: tuple[float, float]) -> float:
    """Up to which height the tabs of a lid between two heights stand back, whole layers above its underside, mm."""
    assert printer is not None  # only a printed lid has one
    low, high = over
    layers = math.floor(min(HIGHEST_MM, high - low - LEAST_TAB_MM) / printer.layer_mm + EVEN)
    return round(low + layers * printer.layer_mm, 6)


def under_side(notch: Notch) -> Notch:
    """The notch with its tab as narrow as it is below the undercut."""
    return replace(notch, tab_mm=notch.tab_mm - 2 * notch.undercut_mm, undercut_mm=0.0)


def tab_radius_mm(notch: Notch, gap: float) -> float:
    """Radius of a tab's corners: 3 mm, or more where the notch's rounding would else come nearer than ``gap``."""
    if notch.round_mm == 0.0:  # a blade cuts no arcs
        return 0.0
    half, around = notch.tab_mm / 2, notch.bay().radius_mm
    if notch.width_mm / 2 - around >= half - TAB_RADIUS_MM:
        return min(TAB_RADIUS_MM, notch.depth_mm)
    return min(half, notch.depth_mm, max(TAB_RADIUS_MM, around - gap))


def grip_sheet_mm(sheets_mm: Sequence[float], lid_room_mm: float, levels: Levels) -> float | None:
    """The sheet of which a grip on a tab stands high enough over the frame beside it, and under the scanner's lid.

    None where none of ``sheets_mm`` does; a printed lid has none.
    """
    if levels.over is None:
        return None
    low = levels.over[1] + levels.glue
    enough = [t for t in sheets_mm if low + t - levels.top >= habit("tab-proud")]
    return min((t for t in enough if low + t <= lid_room_mm), default=None)


def grips(
    thick: float,
    stuff: tuple[Route, str],
    lid: Lid,
    layout: Layout,
    notches: Sequence[tuple[Notch, ...]],
    levels: Levels,
) -> tuple[Part, ...]:
    """What is glued on the tabs of lids that are cut from sheet: one part for each size, with its places.

    Of a sheet ``thick`` mm; ``stuff`` is the route and the material's key.
    """
    assert levels.over is not None
    z = levels.over[1] + levels.glue
    spots = [
        _on_tab(notch, place.room, lid.clearance_mm)
        for place, mine in zip(layout.places, notches, strict=True)
        for notch in mine[: lid.tabs]
    ]
    found: dict[tuple[float, float], list[tuple[Rect, float]]] = {}
    for spot, radius in spots:
        found.setdefault((round(spot.width, 3), round(spot.height, 3)), []).append((spot, radius))
    parts = []
    for number, same in enumerate(found.values(), 1):
        first, radius = same[0]
        region = Region(rectangle(first.x, first.y, first.width, first.height, radius))
        name = "grip" if len(found) == 1 else f"grip-{number}"
        parts.append(
            Part(
                name, "grip on a lid's tab", *stuff, len(same),
                (Slab("grip", z, z + thick, region),),
                places=tuple((spot.x - first.x, spot.y - first.y) for spot, _ in same), role=Role.OTHER,
            )
        )  # fmt: skip
    return tuple(parts)


def _on_tab(notch: Notch, room: Rect, gap: float) -> tuple[Rect, float]:
    """A rectangle on the tab and the radius of its corners, a clearance within the tab so as not to touch the notch."""
    box, radius = notch.rect(room), tab_radius_mm(notch, gap)
    half, less = notch.tab_mm / 2 - gap, gap
    if radius > (notch.depth_mm - less) / 2:  # no room for such corners: it ends before them
        half, radius = half - radius, 0.0
    if notch.edge in ("left", "right"):
        x = box.x + 2 * less if notch.edge == "left" else box.x - less
        return Rect(x, notch.centre_mm - half, notch.depth_mm - less, 2 * half), radius
    y = box.y + 2 * less if notch.edge == "foot" else box.y - less
    return Rect(notch.centre_mm - half, y, 2 * half, notch.depth_mm - less), radius
