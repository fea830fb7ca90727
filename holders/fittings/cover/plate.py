"""A glass plate on the film: its place in the pocket, and the turn buttons beside it that keep it there.

A turn button is a short bar on a screw, as it holds the back of a picture frame. Here it stands on the frame at the
head and foot of the pocket (the sides where the lens sees no slant, so that it shades nothing) and reaches over the
glass without touching it.
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
from holders.facts.models import Printer, Route
from holders.fittings.cover.screws import SCREWS, Screw
from holders.fittings.cover.table import Cover
from holders.geometry.outline import Outline, Point, Region, circle, rectangle
from holders.preset.resolve import Job

BUTTONS = {"print": 4, "laser": 4, "knife": 0}
REACH_MM = (
    2.5  # wished over the glass; a nose that reached farther would hide more light from the film's border
)
SET_BACK_MM = 0.3  # a nose stays behind the window's edge, so that it never shows in the scan
LEAST_REACH_MM = 0.5  # over a plate that lies against the far wall
BESIDE_MM = 0.5  # between a button turned aside and the plate, and beside it
FLOOR_MM = 0.8  # below a screw hole, so that no point comes near the scanner's glass
LEAST_COVERED_MM = 0.5  # how far the plate reaches over each lip at least, pushed to the other side
STEP_MM = 1.0


@dataclass(frozen=True, slots=True)
class Button:
    """A turn button in bed coordinates: where it turns, the box it covers when closed, the pocket edge it stands at."""

    edge: Edge
    pivot: Point
    box: Rect


def buttons_each(table: Cover, route: Route) -> int:
    """How many turn buttons each plate has."""
    return BUTTONS[route] if table.buttons is None else table.buttons


def screw_of(table: Cover) -> Screw:
    """The screw of the buttons."""
    return SCREWS[table.screw]


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


@dataclass(frozen=True, slots=True)
class ButtonSize:
    """A button seen from above, mm: half its width, from its screw to the pocket wall, and over the pocket."""

    half: float
    out: float
    over: float

    @property
    def behind(self) -> float:
        """How far it stands back from the pocket wall in all."""
        return self.out + self.half


def button_size(table: Cover, layout: Layout, *, printed: bool, web_mm: float = 0.0) -> ButtonSize:
    """The button's size for this pocket; ``web_mm`` of the sheet stay between its screw and the pocket at least.

    Raises ``InputError`` when the lips leave no room for a nose over the plate.
    """
    screw = screw_of(table)
    thick = table.button_thickness_mm if printed else 0.0
    half = max(screw.head_mm / 2 + 1.0, screw.through_mm / 2 + max(thick, 2.0))
    lips = layout.lips
    margin = layout.places[0].film.x - layout.places[0].pocket.x
    behind = margin + min(lips.left, lips.right, lips.head, lips.foot) - SET_BACK_MM
    over = min(REACH_MM + table.clearance_mm, behind)
    if over - 2 * table.clearance_mm < LEAST_REACH_MM:
        raise InputError(
            "cover.clearance_mm",
            table.clearance_mm,
            f"a turn button may reach {over:.2f} mm over the pocket and would miss a plate that lies at its far wall; "
            "less clearance, wider lips, or cover.buttons = 0",
        )
    return ButtonSize(half, max(half + BESIDE_MM, web_mm + screw.pilot_mm / 2), over)


def buttons(
    table: Cover,
    route: Route,
    layout: Layout,
    bays: Sequence[Sequence[Notch]],
    corner: float,
    web_mm: float = 0.0,
) -> tuple[tuple[Button, ...], ...]:
    """The turn buttons of each place: half at the foot, half at the head, or at the sides if only those have room.

    Their screws stand ``web_mm`` of the sheet away from the pocket, or nearer where that finds no room.

    Raises ``InputError`` where neither pair of edges has room for them all, and on a route that cannot hold a screw.
    """
    count = buttons_each(table, route)
    if count == 0:
        return tuple(() for _ in layout.places)
    if route == "knife":
        raise InputError(
            "cover.buttons",
            count,
            "card holds no screw: set 0, the plate then lies in its pocket by its own weight",
        )
    sizes = [button_size(table, layout, printed=route == "print", web_mm=web) for web in (web_mm, 0.0)]
    pairs: tuple[tuple[Edge, Edge], ...] = (("foot", "head"), ("left", "right"))
    for size, pair in itertools.product(sizes, pairs):
        found = [
            _for_place(layout, place, mine, pair, count, size, corner)
            for place, mine in zip(layout.places, bays, strict=True)
        ]
        whole = [one for one in found if one is not None]
        if len(whole) == len(found):
            return tuple(whole)
    raise InputError(
        "cover.buttons",
        count,
        f"no room beside every pocket: each button needs {size.behind + BESIDE_MM:.1f} mm of frame; ask for fewer "
        "films, a smaller screw, or set 0",
    )


def _for_place(
    layout: Layout,
    place: Place,
    mine: Sequence[Notch],
    pair: tuple[Edge, Edge],
    count: int,
    size: ButtonSize,
    corner: float,
) -> tuple[Button, ...] | None:
    shares = (count + 1) // 2, count // 2
    blocked = [other.pocket.grown(BESIDE_MM) for other in layout.places if other is not place]
    blocked += [notch.rect(place.room).grown(BESIDE_MM) for notch in mine]
    if layout.keep_open is not None:
        blocked.append(layout.keep_open)
    o = layout.outer
    blocked.append(Rect(o.x, o.y, corner, corner))
    inside = o.inset(*(BESIDE_MM,) * 4)
    found: list[Button] = []
    for edge, share in zip(pair, shares, strict=True):
        for k in range(share):
            taken = blocked + [b.box.grown(BESIDE_MM) for b in found]
            wish = 0.5 if share == 1 else 0.12 + 0.76 * k / (share - 1)
            button = _nearest(place, edge, wish, size, inside, taken)
            if button is None:
                return None
            found.append(button)
    return tuple(found)


def _nearest(
    place: Place, edge: Edge, wish: float, size: ButtonSize, inside: Rect, blocked: Sequence[Rect]
) -> Button | None:
    """The button nearest to its wished share of the edge that stands on free frame."""
    p = place.pocket
    upright = edge in ("left", "right")
    low, high = (p.y, p.top) if upright else (p.x, p.right)
    low, high = low + size.half, high - size.half
    middle = low + wish * (high - low)
    steps = int(max(0.0, high - low) / STEP_MM) + 1
    for k in range(2 * steps + 1):
        along = middle + STEP_MM * ((k + 1) // 2) * (1 if k % 2 else -1)
        if not low <= along <= high:
            continue
        button = _at(p, edge, along, size)
        if inside.contains(button.box) and not any(button.box.overlaps(b) for b in blocked):
            return button
    return None


def _at(pocket: Rect, edge: Edge, along: float, size: ButtonSize) -> Button:
    length, wide = size.behind + size.over, 2 * size.half
    if edge == "foot":
        return Button(
            edge, (along, pocket.y - size.out), Rect(along - size.half, pocket.y - size.behind, wide, length)
        )
    if edge == "head":
        return Button(
            edge,
            (along, pocket.top + size.out),
            Rect(along - size.half, pocket.top - size.over, wide, length),
        )
    if edge == "left":
        return Button(
            edge, (pocket.x - size.out, along), Rect(pocket.x - size.behind, along - size.half, length, wide)
        )
    return Button(
        edge,
        (pocket.right + size.out, along),
        Rect(pocket.right - size.over, along - size.half, length, wide),
    )


def screw_floor(printer: Printer | None, levels: Levels, recess: float) -> float:
    """Height above the glass where a screw's hole ends: above a foot's recess, and in sheets above the lowest."""
    return max(levels.below[0] if printer is None else 0.0, levels.under + recess + FLOOR_MM)


def button_thickness(job: Job, table: Cover) -> float:
    """Thickness of a turn button: as asked when printed, else the nearest sheet, mm."""
    wish = table.button_thickness_mm
    if job.printer is not None:
        return max(printed_height(job.printer, wish), least_height(job.printer, 2))
    return nearest_sheet(sheet_thicknesses(job.material, job.preset), wish)


def button_parts(
    job: Job, table: Cover, made: Sequence[Sequence[Button]], levels: Levels
) -> tuple[Part, ...]:
    """The turn buttons as parts, those of one edge together: they differ in which way they point only."""
    found = []
    flat = [button for mine in made for button in mine]
    for edge in ("foot", "head", "left", "right"):
        mine = [button for button in flat if button.edge == edge]
        if not mine:
            continue
        first = mine[0]
        hole = circle(*first.pivot, screw_of(table).through_mm / 2)
        found.append(
            Part(
                name=f"button-{edge}",
                title=f"turn button at the {edge}",
                process=job.preset.route,
                material=job.material.key,
                quantity=len(mine),
                slabs=(
                    Slab(
                        "button",
                        levels.top,
                        levels.top + button_thickness(job, table),
                        Region(_bar(first.box), (hole,)),
                    ),
                ),
                places=tuple((b.box.x - first.box.x, b.box.y - first.box.y) for b in mine),
                role=Role.BUTTON,
            )
        )
    return tuple(found)


def _bar(box: Rect) -> Outline:
    return rectangle(box.x, box.y, box.width, box.height, min(box.width, box.height) / 4)
