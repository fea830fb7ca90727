"""Finger notches: where the pocket wall opens so that a fingernail reaches the film's edge (and a lid's tab sits)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.design.draft.places import Layout, Place
from holders.design.model import EDGES, Edge, Rect
from holders.facts.habits import habit
from holders.facts.models import Process
from holders.geometry.outline import Bay

OPPOSITE: dict[Edge, Edge] = {"left": "right", "right": "left", "head": "foot", "foot": "head"}
LONGEST_SHARE = 0.4  # of the edge
LONGEST_TABBED_SHARE = 0.6  # of the edge, where fingers go in beside a tab
TAB_SHARE = 0.6  # of a notch of usual width: what a lid's tab takes


@dataclass(frozen=True, slots=True)
class Notch:
    """A notch on one edge of a place; depth is counted from the outside of ``room``."""

    edge: Edge
    centre_mm: float
    width_mm: float
    depth_mm: float
    tab_mm: float = 0.0  # width of a lid's tab in its middle

    @property
    def beside_mm(self) -> float:
        """Room for a finger on either side of the tab, or the whole notch where it has none."""
        return (self.width_mm - self.tab_mm) / 2 if self.tab_mm > 0 else self.width_mm

    def bay(self, extra_mm: float = 0.0) -> Bay:
        """The notch as a bay of an outline that lies ``extra_mm`` inside the room."""
        depth = self.depth_mm + extra_mm
        return Bay(self.edge, self.centre_mm, self.width_mm, depth, min(depth, self.width_mm / 2, 6.0))

    def rect(self, room: Rect) -> Rect:
        """The notch's own rectangle beside ``room``."""
        half = self.width_mm / 2
        along = self.centre_mm - half
        if self.edge == "left":
            return Rect(room.x - self.depth_mm, along, self.depth_mm, self.width_mm)
        if self.edge == "right":
            return Rect(room.right, along, self.depth_mm, self.width_mm)
        if self.edge == "foot":
            return Rect(along, room.y - self.depth_mm, self.width_mm, self.depth_mm)
        return Rect(along, room.top, self.width_mm, self.depth_mm)


def notches(layout: Layout, rules: Process, wanted: bool, tabs: int = 0) -> tuple[tuple[Notch, ...], ...]:
    """For each place its notches: the deepest that fits, and the opposite one if that fits too.

    The first ``tabs`` of them take a lid's tab in their middle and are so wide that a finger goes in on either side of
    it, as far as the film's edge is long enough.
    """
    if not wanted:
        return tuple(() for _ in layout.places)
    return tuple(
        tuple(
            _tabbed(notch, place) if number < tabs else notch
            for number, notch in enumerate(_for_place(place, layout, rules))
        )
        for place in layout.places
    )


def _tabbed(notch: Notch, place: Place) -> Notch:
    """The notch with a tab, wider by the fingers."""
    length = place.film.height if notch.edge in ("left", "right") else place.film.width
    tab = TAB_SHARE * notch.width_mm
    wide = max(notch.width_mm, min(tab + 2 * habit("gloved-finger"), LONGEST_TABBED_SHARE * length))
    return replace(notch, width_mm=round(wide, 3), tab_mm=round(tab, 3))


def _for_place(place: Place, layout: Layout, rules: Process) -> tuple[Notch, ...]:
    found: dict[Edge, Notch] = {}
    for edge in EDGES:
        depth = min(rules.notch_depth_mm, _free(place, edge, layout) - layout.wall)
        length = place.film.height if edge in ("left", "right") else place.film.width
        width = min(rules.notch_width_mm, LONGEST_SHARE * length)
        if depth < rules.notch_least_mm or width < 2 * rules.notch_least_mm:
            continue
        middle = place.film.y + length / 2 if edge in ("left", "right") else place.film.x + length / 2
        found[edge] = Notch(edge, middle, width, round(depth, 3))
    if not found:
        return ()
    best = max(found.values(), key=lambda notch: notch.depth_mm)
    other = found.get(OPPOSITE[best.edge])
    return (best,) if other is None else (best, other)


def _free(place: Place, edge: Edge, layout: Layout) -> float:
    """Room beyond one edge of the place's room up to the next pocket, hole or the outside, mm."""
    room, outer = place.room, layout.outer
    blocks: Sequence[Rect] = [p.room for p in layout.places if p is not place]
    if layout.keep_open is not None:
        blocks = [*blocks, layout.keep_open]
    wide = layout.wall
    if edge in ("left", "right"):
        near = [b for b in blocks if b.y < room.top + wide and b.top > room.y - wide]
        if edge == "left":
            return room.x - max([outer.x, *(b.right for b in near if b.right <= room.x)])
        return min([outer.right, *(b.x for b in near if b.x >= room.right)]) - room.right
    near = [b for b in blocks if b.x < room.right + wide and b.right > room.x - wide]
    if edge == "foot":
        return room.y - max([outer.y, *(b.top for b in near if b.top <= room.y)])
    return min([outer.top, *(b.y for b in near if b.y >= room.top)]) - room.top
