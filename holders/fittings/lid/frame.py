"""The lid frame: drops in on the film, its tabs in the finger notches, magnets under the tabs where wished."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import TYPE_CHECKING

from holders.core.errors import InputError
from holders.design.draft.levels import EVEN, LEAST_WALL_LAYERS, Levels, thinnest_film_mm
from holders.design.draft.lips import SET_BACK_MM
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout, Place
from holders.design.height.printed import least_height, printed_height
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.design.model import EDGES, Cut, Edges, Groove, Part, Rect, Role, Slab
from holders.design.parts.lettering import strokes_in
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.models import FilmBase, FilmFormat, Material, Printer, Process
from holders.facts.tables import process
from holders.fittings.lid.bevel import bevel_cut, bevel_of, on_plate
from holders.fittings.lid.table import Lid
from holders.fittings.lid.tabs import LEAST_TAB_MM, tab_radius_mm, under_side, undercut_top_mm
from holders.geometry.outline import Bay, Outline, Point, Region, circle, moved, rectangle, walled
from holders.preset.resolve import Job

if TYPE_CHECKING:
    from holders.film.hold import Hold

ROOT_GAP_MM = 0.5  # between the rounding at a tab's root and the side of its notch
WEB_ROOM_MM = 0.05  # over a material's least web
MAGNET_ROOM_MM = 0.8  # material beside a magnet
MAGNET_SLIP_MM = 0.1
JOINT_MM = 0.3  # of a joint's walls, over two lines each, and the gap between them
LEAST_TONGUE_MM = 0.4  # of what lies on the film inside a printed shoulder; the wall check asks for more
LEAST_RING_MM = 1.0  # a lid frame narrower than this is refused outright; the wall check asks for more


@dataclass(frozen=True, slots=True)
class Magnets:
    """Middles of the magnet pockets and their size, shared by frame and lid; ``size`` is a magnet's: across, thick."""

    spots: tuple[Point, ...]
    radius: float
    depth: float
    size: tuple[float, float]


def lid_levels(
    job: Job, lid: Lid, plain: Levels, layout: Layout | None = None, *, on_shoulder: bool = False
) -> Levels:
    """The frame's heights with a lid over the film; ``on_shoulder`` lets it rest on its shoulder without play too.

    With a ``layout`` a lid that lies on the film has no rim where it must be printed in pieces and what lies on the
    film is too narrow for their joints.

    Raises ``InputError`` when it would be thinner than the route can make.
    """
    film, ledge = job.film.thickness_mm, plain.ledge
    if job.printer is None:
        thick = nearest_sheet(sheet_thicknesses(job.material, job.preset), lid.thickness_mm)
        return replace(plain, over=(ledge + film, ledge + film + thick), play=0.0)
    printer, layer = job.printer, job.printer.layer_mm
    thick, least = printed_height(printer, lid.thickness_mm), least_height(printer, LEAST_WALL_LAYERS)
    if thick < least:
        raise InputError("lid.thickness_mm", lid.thickness_mm, f"needs at least {least:g} mm (two layers)")
    if lid.play_mm > 0 or on_shoulder:
        rest, rim = max(1, math.ceil((film + lid.play_mm) / layer - EVEN)) * layer, 0.0
        low, play = ledge + rest, max(0.0, rest - film)
    else:
        rest = _beside_layers(job.film, job.base, printer) * layer
        rim = _rim_layers(thinnest_film_mm(job.film, job.base), printer, rest) * layer
        narrow = layout is not None and _too_narrow(lid, layout, printer)
        if (
            narrow or thick < least + rim - EVEN
        ):  # no room for a rim: a flat lid, and a shoulder as low as can be
            rest, rim = _low_layers(thinnest_film_mm(job.film, job.base), printer) * layer, 0.0
        # one layer is the lowest shoulder: where that is higher than the film, a lid without a rim rests on it
        over_film = max(0.0, rest - film) if rim == 0.0 else 0.0
        low, play = ledge + film + over_film, over_film
    top = ledge + math.ceil((low + thick - ledge) / layer - EVEN) * layer
    over = low, low + thick
    return replace(plain, shoulder=ledge + rest, top=top, over=over, play=play, rim=round(rim, 6))


def _too_narrow(lid: Lid, layout: Layout, printer: Printer) -> bool:
    """Whether a lid larger than the plate would be too narrow below its rim for a joint: two walls of two lines."""
    place, reach = layout.places[0], lid_lips(lid, layout.lips)
    below = min(reach.of(edge) for edge in EDGES) + place.film.x - place.pocket.x - lid.clearance_mm
    return not on_plate(place, printer) and below < 4 * printer.nozzle_mm + JOINT_MM


def _beside_layers(film: FilmFormat, base: FilmBase, printer: Printer) -> int:
    """How many layers high the shoulder is that keeps the film from sliding aside under a lid that lies on the film.

    It is higher than film of any usual thickness, even where it comes out low.
    """
    thickest = film.thickness_mm + max(0.0, base.thickness_high_mm - base.thickness_mm)
    return max(1, math.ceil((thickest + printer.z_tolerance_mm) / printer.layer_mm - EVEN))


def _rim_layers(thin_mm: float, printer: Printer, rest: float) -> int:
    """How many layers a lid that lies on the film stands back over the shoulder, so as never to rest on that instead.

    Even the thinnest film must carry it where the shoulder comes out high.
    """
    over = rest + printer.z_tolerance_mm - thin_mm
    return max(0, math.ceil(over / printer.layer_mm - EVEN))


def _low_layers(thin_mm: float, printer: Printer) -> int:
    """The layers of a shoulder below the thinnest film, as far as one layer is; what a flat lid on the film gets."""
    return max(1, math.floor((thin_mm - printer.z_tolerance_mm) / printer.layer_mm + EVEN))


def lid_lips(lid: Lid, lips: Edges) -> Edges:
    """How far the lid reaches over the film on each edge: as wished, but always behind the window's edge."""
    return Edges(**{e: max(0.0, min(lid.lip_mm, lips.of(e) - SET_BACK_MM)) for e in EDGES})


def needed_lip_mm(web_mm: float, lid: Lid, gap_mm: float) -> float:
    """The lip over which a lid of cut sheet, ``gap_mm`` being round the film, is as wide as its least web, mm."""
    web = min(web_mm + WEB_ROOM_MM, lid.lip_mm + gap_mm - lid.clearance_mm)
    return web + SET_BACK_MM + lid.clearance_mm - gap_mm


def magnets(lid: Lid, place: Place, mine: tuple[Notch, ...], levels: Levels, *, printed: bool) -> Magnets:
    """Where magnets sit: under the tabs, one or two each.

    Raises ``InputError`` when the route, the tabs or the material under the ledge leave no room for them.
    """
    if lid.magnets == 0:
        return Magnets((), 0.0, 0.0, (0.0, 0.0))
    if not printed:
        raise InputError("lid.magnets", lid.magnets, "only a printed holder has magnet pockets; set 0")
    found = mine[: lid.tabs]
    radius = lid.magnet_diameter_mm / 2 + MAGNET_SLIP_MM
    depth = lid.magnet_thickness_mm + MAGNET_SLIP_MM
    need = magnet_room_mm(lid)
    for what, have in (("lid", levels.top - levels.ledge), ("ledge", levels.ledge - levels.under)):
        if have - depth < MAGNET_ROOM_MM:
            raise InputError(
                "lid.magnet_thickness_mm",
                lid.magnet_thickness_mm,
                f"too thick for the {what} ({have:.2f} mm)",
            )
    per_tab = -(-lid.magnets // max(1, len(found)))
    fits = [
        n
        for n in found
        if n.depth_mm - lid.clearance_mm >= need
        and n.tab_mm - 2 * n.undercut_mm - n.through_mm >= per_tab * need - EVEN
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
        side = (need + notch.through_mm) / 2
        shift = (side if notch.through_mm else 0.0) if on_tab == 1 else side if k // len(fits) else -side
        spots.append(_spot(notch, place.room, shift, radius))
    return Magnets(tuple(spots), radius, depth, (lid.magnet_diameter_mm, lid.magnet_thickness_mm))


def magnet_room_mm(lid: Lid) -> float:
    """What one magnet takes of a tab's width, with the material around it, mm; 0 without magnets."""
    return 2 * (lid.magnet_diameter_mm / 2 + MAGNET_SLIP_MM + MAGNET_ROOM_MM) if lid.magnets else 0.0


def _spot(notch: Notch, room: Rect, shift: float, radius: float) -> Point:
    box = notch.rect(room)
    along, out = notch.centre_mm + shift, radius + MAGNET_ROOM_MM
    if notch.edge in ("left", "right"):
        return (box.right - out if notch.edge == "left" else box.x + out), along
    return along, (box.top - out if notch.edge == "foot" else box.y + out)


def lid_hold(
    material: Material,
    printer: Printer | None,
    table: Lid,
    parts: Sequence[Part],
    count: int,
    depth_mm: float,
    steel_n: float = 0.0,
) -> Hold | None:
    """What keeps one of ``count`` lids down; None without lids.

    The weight is the mean of them, from their own geometry and the printer's fill or the sheet's density. ``depth_mm``
    is how far above the ledge their underside lies: with the slip of both pockets it is the gap between magnets.
    ``steel_n`` is the weight of the steel bars of all of them together.
    """
    from holders.design.parts.filled import part_weight_n  # noqa: PLC0415 - shapely
    from holders.film.hold import MAGNET_DENSITY_KG_M3, Hold, MagnetPairs  # noqa: PLC0415 - numpy

    mine = [part for part in parts if part.role is Role.LID]
    if not mine:
        return None
    weight = sum(part_weight_n(material, printer, part) * part.quantity for part in mine) / count
    weight += steel_n / count
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
    job: Job,
    lid: Lid,
    layout: Layout,
    notches: tuple[tuple[Notch, ...], ...],
    levels: Levels,
) -> tuple[Part, ...]:
    """One part per different lid, each with its quantity and places."""
    made: list[tuple[Part, Place]] = []
    for place, mine in zip(layout.places, notches, strict=True):
        part = _lid(job, lid, layout, place, mine, levels, number=len(made) + 1)
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
    lid: Lid,
    layout: Layout,
    place: Place,
    mine: tuple[Notch, ...],
    levels: Levels,
    number: int,
) -> Part:
    assert levels.over is not None
    gap, rules = lid.clearance_mm, process(job.preset.route)
    body = place.room.inset(gap, gap, gap, gap)
    reach = lid_lips(lid, layout.lips)
    hole = place.film.inset(reach.left, reach.right, reach.head, reach.foot)
    if not body.inset(*(LEAST_RING_MM,) * 4).contains(hole):
        raise InputError(
            "lid.clearance_mm",
            gap,
            f"leaves the lid frame narrower than {LEAST_RING_MM} mm; make it smaller or the lips wider",
        )
    z0, z1 = levels.over
    tabs = mine[: lid.tabs]
    pits = magnets(lid, place, mine, levels, printed=job.preset.route == "print")
    lean = bevel_of(job.printer, lid, layout, [reach.of(edge) for edge in EDGES], levels)
    return Part(
        name=f"lid-{number}",
        title=f"lid frame {number}",
        process=job.preset.route,
        material=job.material.key,
        quantity=1,
        slabs=_slabs(job, lid, layout, place, tabs, levels, body, hole),
        cuts=(
            *bevel_cut(lean, hole, rules.window_radius_mm, z1),
            *(
                Cut("magnet", circle(x, y, pits.radius), z0, z0 + pits.depth, magnet=pits.size)
                for x, y in pits.spots
            ),
        ),
        grooves=_lettering(
            job,
            body,
            hole if lean is None else hole.grown(lean.back),
            z1,
            [
                _tab_top(notch, place.room, lid.clearance_mm)
                for notch in tabs
                if job.printer is not None and z1 - z0 - pits.depth >= LEAST_TAB_MM
            ],
        ),
        role=Role.LID,
    )


def _slabs(
    job: Job,
    lid: Lid,
    layout: Layout,
    place: Place,
    tabs: Sequence[Notch],
    levels: Levels,
    body: Rect,
    hole: Rect,
) -> tuple[Slab, ...]:
    """The lid from the top down: with its tabs, below their undercut, and what lies on the film within the shoulder.

    Raises ``InputError`` where too little of it would lie on the film.
    """
    assert levels.over is not None
    z0, z1 = levels.over
    rules, narrow = process(job.preset.route), tuple(under_side(notch) for notch in tabs)
    rim = z0 + levels.rim
    window = rectangle(hole.x, hole.y, hole.width, hole.height, rules.window_radius_mm)
    low = rim if tabs == narrow else max(rim, undercut_top_mm(job.printer, levels.over))
    slabs = [Slab("lid", low, z1, Region(_outline(lid, body, tabs, rules), (window,)))]
    if low > rim:  # its tabs' sides stand out over what is below
        slabs.append(
            Slab("lid below its tabs", rim, low, Region(_outline(lid, body, narrow, rules), (window,)))
        )
    if levels.rim > 0:  # what lies on the film, within the shoulder
        tongue = _both(body.grown(-layout.shoulder), hole.grown(LEAST_TONGUE_MM))
        if not place.pocket.contains(tongue):
            beside = place.film.x - place.pocket.x
            raise InputError(
                "lid.lip_mm",
                lid.lip_mm,
                f"what of the lid lies on the film must be {LEAST_TONGUE_MM} mm wide, and the pocket is only "
                f"{beside:.2f} mm wider than the film there: at least {LEAST_TONGUE_MM - beside + 0.01:.2f} mm",
            )
        inner = _outline(lid, tongue, narrow, rules, layout.shoulder)
        slabs.append(Slab("tongue", z0, rim, Region(inner, (window,))))
    return tuple(slabs)


def _both(a: Rect, b: Rect) -> Rect:
    """The smallest rectangle round two."""
    x, y = min(a.x, b.x), min(a.y, b.y)
    return Rect(x, y, max(a.right, b.right) - x, max(a.top, b.top) - y)


def _outline(lid: Lid, body: Rect, tabs: Sequence[Notch], rules: Process, inside: float = 0.0) -> Outline:
    """The lid's outside with its tabs; ``inside`` is how far ``body`` lies inward of the lid's own, mm."""
    bays = []
    for notch in tabs:
        root = _root_radius(notch, rules)
        depth = notch.depth_mm + inside  # the tab stays a clearance short of the notch's end
        bays.append(
            Bay(
                notch.edge,
                notch.centre_mm,
                notch.tab_mm,
                depth,
                min(tab_radius_mm(notch, lid.clearance_mm), depth - root),
                root,
            )
        )
    return walled(body.x, body.y, body.width, body.height, rules.pocket_radius_mm, bays)


def _root_radius(notch: Notch, rules: Process) -> float:
    """Radius in the corners between tab and lid where the notch is wider: cut sheet cracks from sharp ones."""
    if rules.key != "laser":
        return 0.0
    return max(0.0, min(rules.pocket_radius_mm, notch.beside_mm - ROOT_GAP_MM, notch.depth_mm / 2))


def _tab_top(notch: Notch, room: Rect, gap: float) -> Rect:
    """The plain part of a tab's top, short of its rounded corners."""
    box, half = notch.rect(room), notch.tab_mm / 2 - tab_radius_mm(notch, gap)
    along, deep = notch.centre_mm - half, notch.depth_mm - gap
    if notch.edge in ("left", "right"):
        return Rect(box.right - deep if notch.edge == "left" else box.x, along, deep, 2 * half)
    return Rect(along, box.top - deep if notch.edge == "foot" else box.y, 2 * half, deep)


def _lettering(job: Job, body: Rect, hole: Rect, z_top: float, tabs: Sequence[Rect]) -> tuple[Groove, ...]:
    """What it is and which side is up, on a rail or a tab; only which side is up where no more finds room."""
    if not job.preset.layout.label:
        return ()
    rules, up = process(job.preset.route), "this side up"
    strips = (
        Rect(body.x + 2, body.y, body.width - 4, hole.y - body.y),
        Rect(body.x, body.y + 2, hole.x - body.x, body.height - 4),
        *tabs,
    )
    for text, strip in product((f"{job.film.key} lid - {up}", up), strips):
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
