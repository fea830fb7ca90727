"""Finger notches: where the pocket wall opens so that fingers reach the film's edge (and a lid's tab sits)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.design.draft.places import Layout, Place
from holders.design.model import EDGES, Edge, Rect
from holders.facts.habits import habit
from holders.facts.models import Process
from holders.geometry.grip import Grip
from holders.geometry.outline import Bay

OPPOSITE: dict[str, Edge] = {"left": "right", "right": "left", "head": "foot", "foot": "head"}
LONGEST_SHARE = 0.4  # of the edge
LONGEST_TABBED_SHARE = 0.6  # of the edge, where fingers go in beside a tab
LEAST_TAB_SHARE = 0.9  # of that: how much narrower below an undercut that finds no room else
TAB_SHARE = 0.8  # of a notch of usual width: what a lid's tab takes
LONGEST_FINGER_SHARE = 0.6  # of a short edge, where a finger needs more than the usual share
EVEN = 1e-6
CLOSED_MM = 1.5  # how far a lid's tab reaches over the thumb opening below it, on three sides


@dataclass(frozen=True, slots=True)
class Notch:
    """A notch on one edge of a place; depth is counted from the outside of ``room``."""

    edge: Edge
    centre_mm: float
    width_mm: float
    depth_mm: float
    tab_mm: float = 0.0  # width of a lid's tab in its middle
    undercut_mm: float = 0.0  # how far that tab stands out over a finger, on either side
    round_mm: float = 6.0  # of its far corners, at most
    through_mm: float = 0.0  # width of an opening through ledge and floor below that tab; 0: none

    @property
    def beside_mm(self) -> float:
        """Room for a finger on either side of the tab, or the whole notch where it has none."""
        return round((self.width_mm - self.tab_mm) / 2, 6) if self.tab_mm > 0 else self.width_mm

    def bay(self, extra_mm: float = 0.0) -> Bay:
        """The notch as a bay of an outline that lies ``extra_mm`` inside the room."""
        depth = self.depth_mm + extra_mm
        return Bay(
            self.edge, self.centre_mm, self.width_mm, depth, min(depth, self.width_mm / 2, self.round_mm)
        )

    def through(self, step_mm: float, place: Place) -> Bay:
        """The opening below the tab as a bay of the window, which is ``step_mm`` larger than that of the place."""
        o, r = place.opening, place.room
        lip = {"left": o.x - r.x, "right": r.right - o.right, "foot": o.y - r.y, "head": r.top - o.top}[
            self.edge
        ]
        depth = lip + self.depth_mm - CLOSED_MM - step_mm
        return Bay(self.edge, self.centre_mm, self.through_mm, depth, min(3.0, depth, self.round_mm))

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


def openings(notches: Sequence[Notch] | Sequence[Grip]) -> int:
    """How many of a place's notches let a gloved fingertip in: 2 where two lie at opposite edges, else 1 or 0."""
    edges = {
        one.edge for one in notches if one.width_mm >= habit("gloved-finger") - EVEN and deep_enough(one)
    }
    return 2 if any(OPPOSITE[edge] in edges for edge in edges) else min(1, len(edges))


def deep_enough(notch: Notch | Grip) -> bool:
    """Whether a fingertip goes in far enough to take hold."""
    return notch.depth_mm >= habit("finger-deep") - EVEN


def notches(
    layout: Layout,
    rules: Process,
    wanted: bool,
    tabs: int = 0,
    beside_mm: float | None = None,
    without: frozenset[Edge] = frozenset(),
    undercut_mm: float = 0.0,
) -> tuple[tuple[Notch, ...], ...]:
    """For each place its notches: on the two opposite edges, or the one, that give fingers most room.

    Of edges with the same room for fingers those with the deepest notch are taken, then, for tabs, the shorter ones.

    Parameters
    ----------
    layout, rules, wanted:
        Where the films lie, how it is made, and whether there are notches at all.
    tabs:
        So many of a place's notches take a lid's tab in their middle and are so wide that a finger goes in on either
        side of it, as far as the film's edge is long enough.
    beside_mm:
        The first tab closes a thumb opening in the floor and needs so much on either side of it; None: it does not.
    without:
        Edges that have none.
    undercut_mm:
        How far a tab stands out over a finger on either side, where the notch can be as much wider.
    """
    if not wanted:
        return tuple(() for _ in layout.places)
    return tuple(
        _opened(_for_place(place, layout, rules, tabs, beside_mm or 0.0, without, undercut_mm), beside_mm)
        for place in layout.places
    )


def _opened(found: tuple[Notch, ...], beside_mm: float | None) -> tuple[Notch, ...]:
    """The notches, the first with a thumb opening below its tab where that is wide and deep enough."""
    if beside_mm is None or not found:
        return found
    first = found[0]
    wide = first.tab_mm - 2 * first.undercut_mm - 2 * max(CLOSED_MM, beside_mm)
    if wide < habit("gloved-finger") - EVEN or first.depth_mm <= 2 * CLOSED_MM:
        return found
    return (replace(first, through_mm=round(wide, 3)), *found[1:])


def _tabbed(notch: Notch, length: float, beside_mm: float, undercut_mm: float) -> Notch:
    """The notch with a tab, wider by the fingers, on an edge of that length; what has no room there is left out."""
    plain, longest = TAB_SHARE * notch.width_mm, LONGEST_TABBED_SHARE * length
    fingers, opened = 2 * habit("gloved-finger"), 2 * max(0.0, beside_mm - CLOSED_MM)
    for more, under in ((opened, undercut_mm), (opened, 0.0), (0.0, undercut_mm), (0.0, 0.0)):
        tab = plain + more + 2 * under
        if tab + fingers <= longest:
            break
    if (
        under < undercut_mm
        and tab <= plain
        and longest - fingers - 2 * undercut_mm >= LEAST_TAB_SHARE * plain
    ):
        tab, under = longest - fingers, undercut_mm  # a little narrower, and fingers take hold below it
    wide = max(notch.width_mm, min(tab + fingers, longest))
    return replace(notch, width_mm=round(wide, 3), tab_mm=round(tab, 3), undercut_mm=under)


def _for_place(
    place: Place,
    layout: Layout,
    rules: Process,
    tabs: int,
    beside_mm: float,
    without: frozenset[Edge],
    undercut_mm: float,
) -> tuple[Notch, ...]:
    found: dict[Edge, Notch] = {}
    plain: dict[Edge, Notch] = {}
    for edge in (edge for edge in EDGES if edge not in without):
        depth = min(rules.notch_depth_mm, _spare(place, edge, layout, min(layout.wall, rules.wall_mm)))
        length = place.film.height if edge in ("left", "right") else place.film.width
        least = min(habit("gloved-finger"), LONGEST_FINGER_SHARE * length)
        width = min(rules.notch_width_mm, max(LONGEST_SHARE * length, least))
        if depth < rules.notch_least_mm or width < 2 * rules.notch_least_mm:
            continue
        middle = place.film.y + length / 2 if edge in ("left", "right") else place.film.x + length / 2
        plain[edge] = Notch(edge, middle, round(width, 3), round(depth, 3), round_mm=rules.notch_radius_mm)
        found[edge] = _tabbed(plain[edge], length, beside_mm, undercut_mm) if tabs else plain[edge]
    if not tabs:
        found = plain = _aside(plain, place, layout, rules)
    if not found:
        return ()

    def worth(edge: Edge) -> tuple[int, float, float]:
        pair = [one for one in (found[edge], found.get(OPPOSITE[edge])) if one is not None]
        fits = sum(one.beside_mm >= habit("gloved-finger") - EVEN for one in pair)
        length = place.film.height if edge in ("left", "right") else place.film.width
        return fits, found[edge].depth_mm, -length if tabs else 0.0

    best = max(found, key=worth)
    both = [edge for edge in (best, OPPOSITE[best]) if edge in found]
    return tuple(found[edge] if number < tabs else plain[edge] for number, edge in enumerate(both))


def _aside(found: dict[Edge, Notch], place: Place, layout: Layout, rules: Process) -> dict[Edge, Notch]:
    """The notches, one that the opening over the calibration zone keeps too shallow for a finger moved past it.

    What it is opposite to then goes as far to the other side, so that a plate is lifted through its middle.
    """
    hole, moved = layout.keep_open, dict(found)
    if hole is None:
        return found
    wall = min(layout.wall, rules.wall_mm)
    for edge, notch in found.items():
        across = edge in ("head", "foot")
        low, high = (hole.x, hole.right) if across else (hole.y, hole.top)
        first, last = (place.film.x, place.film.right) if across else (place.film.y, place.film.top)
        depth = min(rules.notch_depth_mm, _spare(place, edge, replace(layout, keep_open=None), wall))
        if notch.depth_mm >= habit("finger-deep") or depth < habit("finger-deep"):
            continue
        half = notch.width_mm / 2
        for centre in (first + rules.pocket_radius_mm + half, last - rules.pocket_radius_mm - half):
            if centre + half + wall > low + EVEN and centre - half - wall < high - EVEN:
                continue
            moved[edge] = replace(notch, centre_mm=round(centre, 6), depth_mm=round(depth, 3))
            other = found.get(OPPOSITE[edge])
            if other is not None and other.depth_mm >= habit("finger-deep"):
                moved[OPPOSITE[edge]] = replace(other, centre_mm=round(first + last - centre, 6))
            break
    return moved


def _spare(place: Place, edge: Edge, layout: Layout, wall: float) -> float:
    """How deep a notch may be beyond one edge of the place's room: up to the outside or a hole, less a wall, mm.

    Toward another pocket it is half of what is left between them, as that may have a notch there too.
    """
    pockets = [p.room for p in layout.places if p is not place]
    holes = [] if layout.keep_open is None else [layout.keep_open]
    beyond, between = _free(place, edge, layout, holes), _free(place, edge, layout, pockets)
    return (between - wall) / 2 if between < beyond else beyond - wall


def _free(place: Place, edge: Edge, layout: Layout, blocks: Sequence[Rect]) -> float:
    """Room beyond one edge of the place's room up to the next of the blocks or the outside, mm."""
    room, outer = place.room, layout.outer
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
