"""The lid frame: drops in on the film, its tabs in the finger notches, magnets under the tabs where wished."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.design.filled import part_weight_n
from holders.design.height.levels import Levels
from holders.design.model import EDGES, Cut, Edges, Groove, Part, Rect, Role, Slab
from holders.design.plan.layout import Layout, Place
from holders.design.plan.lettering import strokes_in
from holders.design.plan.notches import Notch
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.models import Process
from holders.film.hold import MAGNET_DENSITY_KG_M3, Hold, MagnetPairs
from holders.geometry.outline import Bay, Point, Region, circle, moved, rectangle, walled
from holders.preset.resolve import Job

TAB_SHARE = 0.6  # of the notch's width; a fingertip takes the rest
TAB_RADIUS_MM = 3.0
SET_BACK_MM = 0.3  # the lid's opening stays behind the window's, so that it never shows in the scan
MAGNET_ROOM_MM = 0.8  # material beside a magnet
MAGNET_SLIP_MM = 0.1
LEAST_RING_MM = 1.0  # a lid frame narrower than this is refused outright; the wall check asks for more


@dataclass(frozen=True, slots=True)
class Magnets:
    """Middles of the magnet pockets and their size, shared by frame and lid."""

    spots: tuple[Point, ...]
    radius: float
    depth: float


def lid_lips(job: Job, lips: Edges) -> Edges:
    """How far the lid reaches over the film on each edge: as wished, but always behind the window's edge."""
    assert job.preset.lid is not None
    wish = job.preset.lid.lip_mm
    return Edges(**{e: max(0.0, min(wish, lips.of(e) - SET_BACK_MM)) for e in EDGES})


def tabs(job: Job, mine: tuple[Notch, ...]) -> tuple[Notch, ...]:
    """The notches that take a lift tab."""
    return mine[: job.preset.lid.tabs] if job.preset.lid is not None else ()


def magnets(job: Job, place: Place, mine: tuple[Notch, ...], levels: Levels) -> Magnets:
    """Where magnets sit: under the tabs, one or two each.

    Raises ``InputError`` when the route, the tabs or the material under the ledge leave no room for them.
    """
    lid = job.preset.lid
    if lid is None or lid.magnets == 0:
        return Magnets((), 0.0, 0.0)
    if job.preset.route != "print":
        raise InputError("lid.magnets", lid.magnets, "only a printed holder has magnet pockets; set 0")
    found = tabs(job, mine)
    radius = lid.magnet_diameter_mm / 2 + MAGNET_SLIP_MM
    depth = lid.magnet_thickness_mm + MAGNET_SLIP_MM
    need = 2 * (radius + MAGNET_ROOM_MM)
    for what, have in (("lid", levels.top - levels.ledge), ("ledge", levels.ledge - levels.under)):
        if have - depth < MAGNET_ROOM_MM:
            raise InputError(
                "lid.magnet_thickness_mm",
                lid.magnet_thickness_mm,
                f"too thick for the {what} ({have:.2f} mm)",
            )
    per_tab = -(-lid.magnets // max(1, len(found)))
    fits = [
        n for n in found if n.depth_mm - lid.clearance_mm >= need and n.width_mm * TAB_SHARE >= per_tab * need
    ]
    if len(fits) * 2 < lid.magnets or per_tab > 2:
        raise InputError(
            "lid.magnets",
            lid.magnets,
            f"no room under the lid's tabs; each tab needs {need:.1f} mm beside the film",
        )
    spots: list[Point] = []
    for k in range(lid.magnets):
        notch = fits[k % len(fits)]
        on_tab = len(range(k % len(fits), lid.magnets, len(fits)))
        shift = 0.0 if on_tab == 1 else (need / 2 if k // len(fits) else -need / 2)
        spots.append(_spot(notch, place.room, shift, radius))
    return Magnets(tuple(spots), radius, depth)


def _spot(notch: Notch, room: Rect, shift: float, radius: float) -> Point:
    box = notch.rect(room)
    along, out = notch.centre_mm + shift, radius + MAGNET_ROOM_MM
    if notch.edge in ("left", "right"):
        return (box.right - out if notch.edge == "left" else box.x + out), along
    return along, (box.top - out if notch.edge == "foot" else box.y + out)


def lid_hold(job: Job, parts: Sequence[Part], count: int, depth_mm: float) -> Hold | None:
    """What keeps one of ``count`` lids down; None without lids.

    The weight is the mean of them, from their own geometry and the printer's fill or the sheet's density. ``depth_mm``
    is how far above the ledge their underside lies: with the slip of both pockets it is the gap between magnets.
    """
    table = job.preset.lid
    mine = [part for part in parts if part.role is Role.LID]
    if table is None or not mine:
        return None
    weight = sum(part_weight_n(job, part) * part.quantity for part in mine) / count
    pairs = None
    if table.magnets:
        across, thick = table.magnet_diameter_mm, table.magnet_thickness_mm
        pairs = MagnetPairs(
            pairs=table.magnets,
            diameter_mm=across,
            thickness_mm=thick,
            gap_mm=round(max(0.0, depth_mm) + 2 * MAGNET_SLIP_MM, 6),
        )
        volume = table.magnets * math.pi / 4 * across**2 * thick
        weight += volume * 1e-9 * MAGNET_DENSITY_KG_M3 * GRAVITY_M_S2
    return Hold(weight_n=round(weight, 6), extra_n=table.extra_weight_n, magnets=pairs)


def lids(
    job: Job, layout: Layout, notches: tuple[tuple[Notch, ...], ...], levels: Levels, rules: Process
) -> tuple[Part, ...]:
    """One part per different lid, each with its quantity and places."""
    if job.preset.lid is None or levels.lid is None:
        return ()
    made: list[tuple[Part, Place]] = []
    for place, mine in zip(layout.places, notches, strict=True):
        part = _lid(job, layout, place, mine, levels, rules, number=len(made) + 1)
        for k, (known, first) in enumerate(made):
            dx, dy = place.film.x - first.film.x, place.film.y - first.film.y
            if _same(known.slabs[0].region, part.slabs[0].region, dx, dy):
                made[k] = (_again(known, (dx, dy)), first)
                break
        else:
            made.append((part, place))
    if len(made) == 1:
        return (replace(made[0][0], name="lid", title="lid frame"),)
    return tuple(part for part, _ in made)


def _lid(
    job: Job,
    layout: Layout,
    place: Place,
    mine: tuple[Notch, ...],
    levels: Levels,
    rules: Process,
    number: int,
) -> Part:
    assert job.preset.lid is not None
    assert levels.lid is not None
    gap = job.preset.lid.clearance_mm
    body = place.room.inset(gap, gap, gap, gap)
    reach = lid_lips(job, layout.lips)
    hole = place.film.inset(reach.left, reach.right, reach.head, reach.foot)
    if not body.inset(*(LEAST_RING_MM,) * 4).contains(hole):
        raise InputError(
            "lid.clearance_mm",
            gap,
            f"leaves the lid frame narrower than {LEAST_RING_MM} mm; make it smaller or the lips wider",
        )
    bays = []
    for notch in tabs(job, mine):
        depth = notch.depth_mm  # the tab stays a clearance short of the notch's end
        wide, radius = notch.width_mm * TAB_SHARE, _tab_radius(notch, gap)
        bays.append(Bay(notch.edge, notch.centre_mm, wide, depth, radius))
    outer = walled(body.x, body.y, body.width, body.height, rules.pocket_radius_mm, bays)
    z0, z1 = levels.lid
    pits = magnets(job, place, mine, levels)
    return Part(
        name=f"lid-{number}",
        title=f"lid frame {number}",
        process=job.preset.route,
        material=job.material.key,
        quantity=1,
        slabs=(
            Slab(
                "lid",
                z0,
                z1,
                Region(outer, (rectangle(hole.x, hole.y, hole.width, hole.height, rules.window_radius_mm),)),
            ),
        ),
        cuts=tuple(
            Cut("magnet", circle(x, y, pits.radius), z0, z0 + pits.depth, magnet=True) for x, y in pits.spots
        ),
        grooves=_lettering(job, body, hole, z1, rules),
        role=Role.LID,
    )


def _tab_radius(notch: Notch, gap: float) -> float:
    """Radius of a tab's corners: 3 mm, or more where the notch's own rounding would else come nearer than ``gap``."""
    half, around = notch.width_mm * TAB_SHARE / 2, notch.bay().radius_mm
    if notch.width_mm / 2 - around >= half - TAB_RADIUS_MM:
        return min(TAB_RADIUS_MM, notch.depth_mm)
    return min(half, notch.depth_mm, max(TAB_RADIUS_MM, around - gap))


def _lettering(job: Job, body: Rect, hole: Rect, z_top: float, rules: Process) -> tuple[Groove, ...]:
    if not job.preset.layout.label:
        return ()
    text = f"{job.film.key} lid - this side up"
    strips = (
        Rect(body.x + 2, body.y, body.width - 4, hole.y - body.y),
        Rect(body.x, body.y + 2, hole.x - body.x, body.height - 4),
    )
    for strip in strips:
        strokes = strokes_in(text, strip, rules.letter_least_mm, rules.letter_least_mm)
        if strokes:
            return (Groove(text, strokes, rules.groove_width_mm, rules.groove_depth_mm, z_top),)
    return ()


def _same(one: Region, two: Region, dx: float, dy: float) -> bool:
    shifted = moved(one.outer, dx, dy)
    if len(shifted.vertices) != len(two.outer.vertices):
        return False
    return all(
        abs(a.x - b.x) < 1e-6 and abs(a.y - b.y) < 1e-6
        for a, b in zip(shifted.vertices, two.outer.vertices, strict=True)
    )


def _again(part: Part, place: Point) -> Part:
    """The part once more, at another place."""
    return replace(part, quantity=part.quantity + 1, places=(*part.places, place))
