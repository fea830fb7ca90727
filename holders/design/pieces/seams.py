"""Where a seam may run: straight across a part, through plain rails only, every rail with a joint of its own.

Everything here is in (u, v): u along the seam, v across it. For a seam that runs along the bed, u is y and v is x.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.model import JointKind, Part
from holders.design.parts.sections import breaks, section
from holders.design.pieces.joint import JointRules, Shape, lap, lap_reach_mm, tongue, tongue_reach_mm
from holders.geometry.outline import Point
from holders.geometry.strips import Span, Strips

CHORD_MM = 0.05
SKIN_MM = 1e-4
CORNER_MM = 10.0  # wished between a seam and any film corner
LEAST_CORNER_MM = 3.0
STEP_MM = 2.0  # between places that are tried
# what makes a place worse, counted as if it lay so much farther from where the seam should be
LAP_COST_MM = 30.0  # for each lap: it holds less than a tongue
SHORT_COST_MM = 10.0  # for each tongue that has no room for its whole length
CORNER_COST_MM = 100.0  # for each millimetre that a film corner is too near
EVEN_COST_MM = 1e-6  # places whose costs differ by less are compared in full
EVEN_MM2 = 0.3  # what chords and small radii may differ by
LEAST_HOLLOW_MM2 = 0.02  # smaller hollows come of chords
LONG_MM = 45.0  # a crossing longer than this takes several tongues
SPACING_MM = 40.0
WIDE_MM = 18.0  # a tongue in a wide crossing is drawn as if its rail were this wide


Box = tuple[float, float, float, float]  # least u and v, greatest u and v


@dataclass(frozen=True)
class Body:
    """What a seam needs to know of a part: all it covers at any height, and what is solid at every height."""

    full: BaseGeometry
    core: BaseGeometry
    corners: tuple[Point, ...]  # of the films
    sections: tuple[BaseGeometry, ...] = ()  # at every height

    @cached_property
    def full_strips(self) -> Strips:
        """To be asked where lines across meet all it covers."""
        return Strips(self.full)

    @cached_property
    def core_strips(self) -> Strips:
        """To be asked where lines across meet what is solid."""
        return Strips(self.core)

    @cached_property
    def hollows(self) -> tuple[BaseGeometry, ...]:
        """What is not solid at each height and is at others: pits, scoops, chamfers."""
        found = [self.full.difference(one) for one in self.sections]
        return tuple(one for one in found if one.area > LEAST_HOLLOW_MM2)

    def transposed(self) -> Body:
        """With the axes exchanged."""
        corners = tuple((y, x) for x, y in self.corners)
        return Body(swapped(self.full), swapped(self.core), corners, tuple(map(swapped, self.sections)))


@dataclass(frozen=True, slots=True)
class Place:
    """A joint before it is drawn: the rail's span that it stands in, and what lies beside it up to ``open_at``."""

    kind: JointKind
    low: float
    high: float
    open_at: float
    reach: float
    short: bool = False

    @property
    def cost(self) -> float:
        """How much worse than a whole tongue, mm."""
        return LAP_COST_MM if self.kind == "lap" else SHORT_COST_MM if self.short else 0.0

    def zone(self, v: float, beside: float) -> Box:
        """The box that it needs for itself on a seam at ``v``, with ``beside`` of plain rail beyond either end."""
        return self.low, v - beside, max(self.high, self.open_at), v + self.reach + beside

    def shape(self, v: float, rules: JointRules) -> Shape:
        """It as drawn on a seam at ``v``."""
        if self.kind == "lap":
            return lap(self.low, self.high, self.open_at, v, rules)
        return tongue((self.low + self.high) / 2, v, self.high - self.low, rules, self.short)


@dataclass(frozen=True, slots=True)
class Line:
    """A seam found: its place, what it crosses, its joints, and the boxes that no other seam may enter."""

    at: float
    crossings: tuple[Span, ...]
    places: tuple[Place, ...]
    rules: JointRules
    zones: tuple[Box, ...]
    corner_mm: float  # to the nearest film corner
    cost: float  # how much worse than the best possible, as millimetres away from where it should be

    def drawn(self) -> tuple[Shape, ...]:
        """The joints' shapes; of the many seams that are tried, few are drawn."""
        return tuple(place.shape(self.at, self.rules) for place in self.places)

    @property
    def reach_mm(self) -> float:
        """How far the longest tongue reaches past the seam."""
        return max(place.reach for place in self.places)


def swapped(shape: BaseGeometry) -> BaseGeometry:
    """A shape with x and y exchanged."""
    return shapely.transform(shape, lambda xy: xy[:, ::-1])


def body_of(part: Part, corners: Sequence[Point]) -> Body:
    """The part's full and core areas from its sections just inside every break; lettering does not count."""
    bare = replace(part, grooves=())
    edges = breaks(bare)
    found = []
    for low, high in pairwise(edges):
        inside = SKIN_MM * (high - low)
        found.append(section(bare, low + inside, CHORD_MM))
        flared = any(cut.flare_mm and cut.z0 < high and cut.z1 > low for cut in bare.cuts)
        if flared:  # else it is the same all the way up
            found.append(section(bare, high - inside, CHORD_MM))
    core = found[0]
    for shape in found[1:]:
        core = core.intersection(shape)
    full = shapely.union_all(found)
    shapely.prepare(core)
    shapely.prepare(full)
    return Body(full, core, tuple(corners), tuple(found))


def find(
    body: Body,
    target: float,
    window: Span,
    across: Span,
    rules: JointRules,
    blocked: Sequence[Box] = (),
) -> Line | None:
    """The best seam within ``window`` (v) over ``across`` (u); None where none can run.

    Best is near ``target``, away from film corners, and of whole tongues rather than short ones and laps.
    """
    best: tuple[float, Line] | None = None
    for v in _places(target, window):
        away = abs(v - target)
        if best is not None and away >= best[0]:
            break
        line = line_at(body, v, across, rules, blocked, None if best is None else best[0] - away)
        if line is not None and (best is None or away + line.cost < best[0]):
            best = away + line.cost, line
    return None if best is None else best[1]


def _places(target: float, window: Span) -> Iterator[float]:
    """Places from the target outward."""
    low, high = window
    if high < low:
        return
    start = round(min(max(target, low), high), 3)
    reach = math.ceil((high - low) / STEP_MM)
    found = {start} | {start + k * STEP_MM for k in range(-reach, reach + 1)}
    yield from sorted((v for v in found if low <= v <= high), key=lambda v: (abs(v - target), v))


def line_at(
    body: Body,
    v: float,
    across: Span,
    rules: JointRules,
    blocked: Sequence[Box] = (),
    below: float | None = None,
) -> Line | None:
    """The seam at exactly ``v``, or None when a rail takes no joint there or something is in the way.

    One that would surely cost ``below`` or more is not looked at further, and None as well.
    """
    crossings = body.full_strips.spans(v, across)
    corner = _to_corner(body, v, crossings)
    if not crossings or corner < LEAST_CORNER_MM:
        return None
    near = CORNER_COST_MM * max(0.0, CORNER_MM - corner)
    if below is not None and near + _laps_cost(body, v, crossings, rules) >= below + EVEN_COST_MM:
        return None
    if any(_meet(zone, (a, v, b, v)) for zone in blocked for a, b in crossings):
        return None
    found: list[Place] = []
    for crossing in crossings:
        places = _places_for(body, v, crossing, across, rules)
        if not places or _grazes(body, v, crossing, rules.wall_mm):
            return None
        found += places
    zones = tuple(place.zone(v, rules.beside_mm) for place in found)
    if any(_meet(zone, other) for zone in zones for other in blocked):
        return None
    cost = near + sum(place.cost for place in found)
    return Line(v, crossings, tuple(found), rules, zones, corner, cost)


def _meet(a: Box, b: Box) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


def _laps_cost(body: Body, v: float, crossings: Sequence[Span], rules: JointRules) -> float:
    """What the rails that are too narrow for tongues cost at least."""
    solid = body.core_strips.spans(v, (crossings[0][0], crossings[-1][1]))
    wide = sum(
        any(b - a >= rules.least_tongue_mm and low <= (a + b) / 2 <= high for a, b in solid)
        for low, high in crossings
    )
    return LAP_COST_MM * (len(crossings) - wide)


def _to_corner(body: Body, v: float, crossings: Sequence[Span]) -> float:
    """From the seam, where it runs through material, to the nearest film corner."""
    nearest = math.inf
    for x, y in body.corners:
        if abs(y - v) < nearest:
            for a, b in crossings:
                nearest = min(nearest, math.hypot(y - v, max(0.0, a - x, x - b)))
    return nearest


def _places_for(body: Body, v: float, crossing: Span, across: Span, rules: JointRules) -> list[Place]:
    """Where joints stand in one crossing; empty where none can."""
    solid = body.core_strips.spans(v, crossing)
    if not solid or _runs_along(solid, crossing):
        return []
    low, high = max(solid, key=lambda span: span[1] - span[0])
    width = high - low
    if width > LONG_MM:
        return _row(body, v, (low, high), rules)
    tries: list[Place] = []
    if width >= rules.least_tongue_mm:
        reaches = [tongue_reach_mm(width, rules, short) for short in (False, True)]
        tries = [Place("tongue", low, high, high, reach, reach < reaches[0]) for reach in reaches]
    elif width >= rules.least_lap_mm and crossing[1] < across[1] - 1e-6:
        tries = [Place("lap", low, high, crossing[1], lap_reach_mm(width))]
    for place in tries:
        ends = v - rules.beside_mm, v + place.reach + rules.beside_mm
        if all(
            _straight(shape, span, ends, across, rules.beside_mm)
            for shape, span in ((body.core, (low, high)), (body.full, crossing))
        ):
            return [place]
    return []


def _runs_along(solid: Sequence[Span], crossing: Span) -> bool:
    """Whether a crossing follows something hollow for so long that it would leave a sliver beside it."""
    ends = [crossing[0], *(end for span in solid for end in span), crossing[1]]
    return any(high - low > LONG_MM for low, high in zip(ends[::2], ends[1::2], strict=True))


def _grazes(body: Body, v: float, crossing: Span, wall_mm: float) -> bool:
    """Whether something hollow, as a magnet's pit, ends so close to the seam that less than a wall stays between."""
    low, high = v - wall_mm, v + wall_mm
    for hollow in body.hollows:
        near = shapely.clip_by_rect(hollow, crossing[0], low, crossing[1], high)
        for piece in shapely.get_parts(near):
            _, bottom, _, top = piece.bounds
            if piece.area > LEAST_HOLLOW_MM2 and (bottom > low + 1e-6 or top < high - 1e-6):
                return True
    return False


def _straight(shape: BaseGeometry, span: Span, ends: Span, across: Span, aside: float) -> bool:
    """Whether a rail keeps its two sides, and what lies beside them, from one end to the other."""
    beside = [aside if abs(a - b) > 1e-6 else 0.0 for a, b in zip(span, across, strict=True)]
    room = shapely.clip_by_rect(shape, span[0] - beside[0], ends[0], span[1] + beside[1], ends[1]).area
    inside = shapely.clip_by_rect(shape, span[0], ends[0], span[1], ends[1]).area
    missing = (span[1] - span[0]) * (ends[1] - ends[0]) - inside
    return bool(room - inside + missing <= EVEN_MM2)


def _row(body: Body, v: float, span: Span, rules: JointRules) -> list[Place]:
    """Tongues along a wide crossing; where one meets an edge it is left out, but two must stay."""
    low, high = span
    if not _covered(body.core, (low + 1, high - 1), (v - rules.beside_mm, v + rules.beside_mm)):
        return []
    wide = max(WIDE_MM, rules.least_tongue_mm)
    count = max(2, round((high - low) / max(SPACING_MM, wide)))
    if (high - low) / count < wide:
        return []
    reach = tongue_reach_mm(wide, rules)
    found = []
    for k in range(count):
        middle = low + (k + 0.5) * (high - low) / count
        place = Place("tongue", middle - wide / 2, middle + wide / 2, middle, reach)
        if _covered(body.core, (place.low, place.high), (v - rules.beside_mm, v + reach + rules.beside_mm)):
            found.append(place)
    return found if len(found) > 1 else []


def _covered(shape: BaseGeometry, across: Span, along: Span) -> bool:
    return bool(shape.covers(shapely.box(across[0], along[0], across[1], along[1])))
