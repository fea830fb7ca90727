"""A glass plate on the film: its place in the pocket, and the catches beside it that keep it there.

A catch is a hairpin spring cut from one sheet, fast on the frame by its pad: two legs joined by a half ring, the inner
one with a nose over the glass. A fingertip pushes the nose back, the plate goes straight down, the nose springs over
it. Catches stand on the frame at the head and foot of the pocket (the sides where the lens sees no slant, so that they
shade nothing) and reach over the glass without touching it.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout, Place
from holders.design.height.printed import least_height, printed_height
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.design.model import Edge, Part, Rect, Role, Slab
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.habits import habit
from holders.facts.models import Material, Printer, Route
from holders.facts.tables import film_base
from holders.fittings.cover.spring import Spring, long_enough
from holders.fittings.cover.table import Cover
from holders.geometry.outline import Outline, Point, Region, Vertex, circle
from holders.preset.resolve import Job

CATCHES = {"print": (4, 2, 0), "laser": (4, 2, 0), "knife": (0,)}  # for each plate, the most that find room
REACH_MM = (
    2.0  # wished over the glass; a nose that reached farther would hide more light from the film's border
)
SET_BACK_MM = 0.3  # a nose stays behind the window's edge, so that it never shows in the scan
LEAST_REACH_MM = 0.5  # over a plate that lies against the far wall
BESIDE_MM = 0.5  # between a catch and the plate, and beside it
FLOOR_MM = 0.8  # below a pin's hole, so that no pin comes near the scanner's glass
LEAST_COVERED_MM = 0.5  # how far the plate reaches over each lip at least, pushed to the other side
STEP_MM = 1.0
PIN_EDGE_MM = 1.5  # of a printed pad left round its two pins; of a cut one as much as of any sheet
NOSE_MM = 6.0  # along the edge: what a gloved fingertip finds
TIP_MM = 1.5  # radius of its corners
HELD_TIMES = 2.0  # the plate's weight: upside down, and jolted
THICKER_MM = 2.5  # than asked a catch may be cut, where only that holds the plate
GAP_MM = 0.6  # between pad and nose
TRAVEL_MM = 0.4  # that the nose goes farther back than it reaches over the pocket, until the slot stops it
LEGS_MM = (1.6, 1.2)  # printed, wider first: four or three lines of a 0.4 mm nozzle


@dataclass(frozen=True, slots=True)
class Catch:
    """A catch in bed coordinates: its pins, the box it covers at rest, the pocket edge it stands at."""

    edge: Edge
    pins: tuple[Point, Point]
    box: Rect


def catches_each(table: Cover, route: Route, material: Material) -> tuple[int, ...]:
    """How many catches each plate has: the numbers to try, the first that finds room is taken."""
    if table.catches is not None:
        return (table.catches,)
    return CATCHES[route] if material.spring_strain > 0 else (0,)


def pane_rect(table: Cover, layout: Layout, place: Place) -> Rect:
    """The plate in the middle of its pocket.

    Raises ``InputError`` when a measured plate does not go in, or would fall off a lip.
    """
    pocket, gap = place.pocket, table.clearance_mm
    most = (pocket.width - 2 * gap, pocket.height - 2 * gap)
    names = ("cover.width_mm", "cover.length_mm")
    given = (table.width_mm, table.length_mm)
    if layout.laid.turned:
        names, given = names[::-1], given[::-1]
    sizes = []
    for name, size, limit, room, window in zip(
        names,
        given,
        most,
        (pocket.width, pocket.height),
        (
            (place.opening.x - pocket.x, pocket.right - place.opening.right),
            (place.opening.y - pocket.y, pocket.top - place.opening.top),
        ),
        strict=True,
    ):
        if size is not None and size > limit + 1e-6:
            raise InputError(
                name,
                size,
                f"the pocket takes {limit:.1f} mm; have it cut to that, or make cover.clearance_mm smaller",
            )
        chosen = limit if size is None else size
        if min(window) - (room - chosen) < LEAST_COVERED_MM:
            least = room - min(window) + LEAST_COVERED_MM
            field = "cover.clearance_mm" if size is None else name
            raise InputError(
                field,
                gap if size is None else size,
                f"a plate pushed to one side would slip off the film's other edge; it must measure {least:.1f} mm at "
                "least: less clearance, wider lips or a larger plate",
            )
        sizes.append(chosen)
    return Rect(
        pocket.x + (pocket.width - sizes[0]) / 2,
        pocket.y + (pocket.height - sizes[1]) / 2,
        sizes[0],
        sizes[1],
    )


def glass_weight_n(plate: Rect, thick_mm: float) -> float:
    """Weight of a plate of glass, N."""
    mass = plate.width * plate.height * thick_mm * film_base("glass").density_kg_m3 * 1e-9
    return mass * GRAVITY_M_S2


@dataclass(frozen=True, slots=True)
class CatchSize:
    """A catch seen from above, mm: over the pocket, from the pocket's wall to its spring, its pins, the spring, and
    what is left round the pins.
    """

    over: float
    away: float
    pin: float
    spring: Spring
    edge: float = PIN_EDGE_MM

    @property
    def wide(self) -> float:
        """Across its spring."""
        return 2 * self.spring.leg + self.spring.slot

    @property
    def behind(self) -> float:
        """How far it stands back from the pocket wall in all."""
        return self.away + self.wide

    @property
    def pad(self) -> float:
        """Length of its pad along the edge."""
        return 2 * self.pin + 3 * self.edge

    @property
    def long(self) -> float:
        """Its whole length along the edge."""
        return self.pad + GAP_MM + NOSE_MM / 2 + self.spring.length + self.wide / 2


def catch_size(
    table: Cover,
    layout: Layout,
    material: Material,
    thick_mm: float,
    leg_mm: float,
    web_mm: float = 0.0,
    edge_mm: float = PIN_EDGE_MM,
) -> CatchSize:
    """The catch's size for this pocket; ``web_mm`` of the sheet stay between its pins and the pocket at least, and
    ``edge_mm`` round the pins.

    Raises ``InputError`` when the lips leave no room for a nose over the plate, or the material makes no such spring.
    """
    lips, pin = layout.lips, habit("dowel")
    margin = layout.places[0].film.x - layout.places[0].pocket.x
    behind = margin + min(lips.left, lips.right, lips.head, lips.foot) - SET_BACK_MM
    over = min(REACH_MM + table.clearance_mm, behind)
    if over - 2 * table.clearance_mm < LEAST_REACH_MM:
        raise InputError(
            "cover.clearance_mm",
            table.clearance_mm,
            f"a catch may reach {over:.2f} mm over the pocket and would miss a plate that lies at its far wall; "
            "less clearance, wider lips, or cover.catches = 0",
        )
    slot = over + TRAVEL_MM
    if edge_mm > PIN_EDGE_MM:  # a pad of sheet is as wide as its pins and two webs
        slot = max(slot, pin + 2 * (edge_mm - leg_mm))
    spring = long_enough(leg_mm, slot, NOSE_MM / 2 + GAP_MM, thick_mm, slot, material.spring_strain)
    if spring is None:
        raise InputError(
            "cover.catches",
            "(usual)" if table.catches is None else table.catches,
            f"{material.name} makes no spring that lasts: set 0, the plate then lies there by its own weight",
        )
    return CatchSize(over, max(BESIDE_MM, web_mm + pin / 2 - slot / 2 - leg_mm), pin, spring, edge_mm)


def catches(
    job: Job,
    table: Cover,
    layout: Layout,
    bays: Sequence[Sequence[Notch]],
    corner: float,
    web_mm: float = 0.0,
) -> tuple[tuple[tuple[Catch, ...], ...], CatchSize | None]:
    """The catches of each place and their size: half at the foot, half at the head, or at the sides if only those have
    room.

    Their pins stand ``web_mm`` of the sheet away from the pocket, or nearer where that finds no room. Of sizes that
    find room the first is taken that holds the plate upside down; catches that would let it go are worse than none.

    Raises ``InputError`` where neither pair of edges has room for them all, and on a route that makes no spring.
    """
    counts = catches_each(table, job.preset.route, job.material)
    if counts == (0,):
        return tuple(() for _ in layout.places), None
    if job.preset.route == "knife":
        raise InputError(
            "cover.catches",
            counts[0],
            "card makes no spring: set 0, the plate then lies in its pocket by its own weight",
        )
    try:
        sizes = _sizes(job, table, layout, web_mm)
    except InputError:
        if table.catches is None:
            return tuple(() for _ in layout.places), None
        raise
    pairs: tuple[tuple[Edge, Edge], ...] = (("foot", "head"), ("left", "right"))
    heavy = max(
        glass_weight_n(pane_rect(table, layout, place), table.thickness_mm) for place in layout.places
    )
    tries = list(itertools.product(counts, sizes, pairs))
    tries.sort(key=lambda one: _worse(job.material, table.thickness_mm, heavy, one[0], one[1].spring))
    for count, size, pair in tries:
        whole: list[tuple[Catch, ...]] = []
        for place, mine in zip(layout.places, bays, strict=True):
            found = _for_place(layout, place, mine, pair, count, size, corner)
            if found is None:
                break
            whole.append(found)
        else:
            return tuple(whole), size if count else None
    least = min(sizes, key=lambda one: one.long)
    raise InputError(
        "cover.catches",
        counts[-1],
        f"no room beside every pocket: each catch needs {least.long + 2 * BESIDE_MM:.1f} x "
        f"{least.behind + BESIDE_MM:.1f} mm of frame along an edge; ask for fewer films, less clearance, or set 0",
    )


def _sizes(job: Job, table: Cover, layout: Layout, web_mm: float) -> list[CatchSize]:
    """The catches that could be made, as they are wished first.

    Raises ``InputError`` as :func:`catch_size`, where it does so for all.
    """
    found, refused = list[CatchSize](), None
    sheets = () if job.printer is not None else sheet_thicknesses(job.material, job.preset)
    for web in (web_mm, 0.0):
        for thick in catch_thicknesses(job.printer, sheets, table.catch_thickness_mm):
            edge = PIN_EDGE_MM if job.printer is not None else max(thick, web_mm)
            for leg in _legs(job.material, thick, printed=job.printer is not None):
                try:
                    found.append(catch_size(table, layout, job.material, thick, leg, web, edge))
                except InputError as error:
                    refused = error
    if refused is not None and not found:
        raise refused
    return found


def _legs(material: Material, thick_mm: float, *, printed: bool) -> tuple[float, ...]:
    """Widths of a catch's legs, the first as wide as its sheet is thick."""
    if printed:
        return LEGS_MM
    web = material.min_web_mm
    return tuple(dict.fromkeys((max(thick_mm, web), web)))


def _worse(material: Material, glass_mm: float, weight_n: float, count: int, spring: Spring) -> int:
    """How ill so many catches hold a plate: 0 well, 1 by more than half its thickness, 2 not at all (none), 3 worse."""
    if not count:
        return 2
    lift = spring.lift_mm(HELD_TIMES * weight_n / count, material.modulus_mpa, material.poisson)
    return 0 if lift <= glass_mm / 2 else 1 if lift <= glass_mm else 3


def _for_place(
    layout: Layout,
    place: Place,
    mine: Sequence[Notch],
    pair: tuple[Edge, Edge],
    count: int,
    size: CatchSize,
    corner: float,
) -> tuple[Catch, ...] | None:
    shares = (count + 1) // 2, count // 2
    blocked = [other.pocket.grown(BESIDE_MM) for other in layout.places if other is not place]
    blocked += [notch.rect(place.room).grown(BESIDE_MM) for notch in mine]
    if layout.keep_open is not None:
        blocked.append(layout.keep_open)
    o = layout.outer
    blocked.append(Rect(o.x, o.y, corner, corner))
    inside = o.inset(*(BESIDE_MM,) * 4)
    found: list[Catch] = []
    for edge, share in zip(pair, shares, strict=True):
        for k in range(share):
            taken = blocked + [b.box.grown(BESIDE_MM) for b in found]
            wish = 0.5 if share == 1 else 0.12 + 0.76 * k / (share - 1)
            catch = _nearest(place, edge, wish, size, inside, taken)
            if catch is None:
                return None
            found.append(catch)
    return tuple(found)


def _nearest(
    place: Place, edge: Edge, wish: float, size: CatchSize, inside: Rect, blocked: Sequence[Rect]
) -> Catch | None:
    """The catch nearest to its wished share of the edge that stands on free frame, its nose over its own plate."""
    p, half = place.pocket, size.long / 2
    upright = edge in ("left", "right")
    low, high = (p.y, p.top) if upright else (p.x, p.right)
    # the nose stays over the pocket; pad and ring may stand beside it
    nose = half - size.pad - GAP_MM  # from the middle to the nose's near end
    rest = half - size.pad - GAP_MM - NOSE_MM
    ahead, back = (nose, rest) if edge in ("foot", "right") else (-rest, -nose)
    low, high = low + ahead, high + back
    middle = min(max(p.y + wish * p.height if upright else p.x + wish * p.width, low), high)
    steps = int(max(0.0, high - low) / STEP_MM) + 1
    start = _box(p, edge, middle, size)
    by_x, by_y = (0.0, STEP_MM * steps) if upright else (STEP_MM * steps, 0.0)
    beside = start.inset(-by_x, -by_x, -by_y, -by_y).grown(STEP_MM)  # all that any try covers
    near = [b for b in blocked if beside.overlaps(b)]
    for k in range(2 * steps + 1):
        along = middle + STEP_MM * ((k + 1) // 2) * (1 if k % 2 else -1)
        if not low <= along <= high:
            continue
        box = _box(p, edge, along, size)
        if inside.contains(box) and not any(box.overlaps(b) for b in near):
            return _at(p, edge, along, size, box)
    return None


def _turned(pocket: Rect, edge: Edge, along: float, size: CatchSize, u: float, w: float) -> Point:
    """A point of a catch from its own coordinates: along the edge from its pad's end, and into the pocket."""
    mid = u - size.long / 2
    if edge == "foot":
        return along + mid, pocket.y + w
    if edge == "head":
        return along - mid, pocket.top - w
    if edge == "left":
        return pocket.x + w, along - mid
    return pocket.right - w, along + mid


def _box(pocket: Rect, edge: Edge, along: float, size: CatchSize) -> Rect:
    x0, y0 = _turned(pocket, edge, along, size, 0.0, -size.behind)
    x1, y1 = _turned(pocket, edge, along, size, size.long, size.over)
    return Rect(min(x0, x1), min(y0, y1), abs(x1 - x0), abs(y1 - y0))


def _at(pocket: Rect, edge: Edge, along: float, size: CatchSize, box: Rect) -> Catch:
    near = size.edge + size.pin / 2
    middle = -size.away - size.wide / 2
    one, two = (_turned(pocket, edge, along, size, u, middle) for u in (near, size.pad - near))
    return Catch(edge, (one, two), box)


def _hairpin(edge: Edge, box: Rect, size: CatchSize) -> Outline:
    """The catch's outline in its box: pad, nose, inner leg, ring and outer leg, anticlockwise."""
    away, leg, wide, over = size.away, size.spring.leg, size.wide, size.over
    end = size.long - wide / 2  # where the ring begins
    near, far = size.pad + GAP_MM, size.pad + GAP_MM + NOSE_MM
    tip, quarter = min(TIP_MM, over + away), 0.41421356237309503
    path = (
        (0.0, -away - wide, 0.0), (end, -away - wide, 1.0), (end, -away, 0.0), (far, -away, 0.0),
        (far, over - tip, quarter), (far - tip, over, 0.0), (near + tip, over, quarter), (near, over - tip, 0.0),
        (near, -away - leg, 0.0), (end, -away - leg, -1.0), (end, -away - wide + leg, 0.0),
        (size.pad, -away - wide + leg, 0.0), (size.pad, -away, 0.0), (0.0, -away, 0.0),
    )  # fmt: skip
    edges = {  # the pocket edge that this box stands at
        "foot": Rect(0.0, box.y + size.behind, 0.0, 0.0),
        "head": Rect(0.0, box.y + over, 0.0, 0.0),
        "left": Rect(box.x + size.behind, 0.0, 0.0, 0.0),
        "right": Rect(box.x + over, 0.0, 0.0, 0.0),
    }
    along = box.x + size.long / 2 if edge in ("foot", "head") else box.y + size.long / 2
    turned = [(*_turned(edges[edge], edge, along, size, u, w), bulge) for u, w, bulge in path]
    return Outline(tuple(Vertex(x, y, bulge) for x, y, bulge in turned))


def pin_floor(printer: Printer | None, levels: Levels, recess: float) -> float:
    """Height above the glass where a pin's hole ends: above a foot's recess, and in sheets above the lowest."""
    return max(levels.below[0] if printer is None else 0.0, levels.under + recess + FLOOR_MM)


def catch_thicknesses(printer: Printer | None, sheets: Sequence[float], wish: float) -> tuple[float, ...]:
    """Thicknesses of a catch to try: as asked and up to 2 mm more when printed, else the nearest sheet and the next
    thicker ones, mm.
    """
    if printer is not None:
        least = least_height(printer, 2)
        each = (max(printed_height(printer, wish + more), least) for more in (0.0, 1.0, 2.0))
        return tuple(dict.fromkeys(each))
    near = nearest_sheet(sheets, wish)
    return (near, *sorted({t for t in sheets if near < t <= near + THICKER_MM}))


def catch_parts(
    route: Route, material: Material, made: Sequence[Sequence[Catch]], size: CatchSize | None, levels: Levels
) -> tuple[Part, ...]:
    """The catches as parts, those of one edge together: they differ in which way they point only."""
    found = []
    flat = [catch for mine in made for catch in mine]
    for edge in ("foot", "head", "left", "right"):
        mine = [catch for catch in flat if catch.edge == edge]
        if not mine or size is None:
            continue
        first = mine[0]
        holes = tuple(circle(*pin, size.pin / 2) for pin in first.pins)
        region = Region(_hairpin(first.edge, first.box, size), holes)
        found.append(
            Part(
                name=f"catch-{edge}",
                title=f"catch at the {edge}",
                process=route,
                material=material.key,
                quantity=len(mine),
                slabs=(Slab("catch", levels.top, levels.top + size.spring.thick, region),),
                places=tuple((b.box.x - first.box.x, b.box.y - first.box.y) for b in mine),
                role=Role.CATCH,
            )
        )
    return tuple(found)
