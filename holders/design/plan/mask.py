"""What keeps bare lamp light from the lens: a mask on the glass around a small holder, and cards in empty pockets.

The mask reaches from the rim of the glass, less the slide-in gap, to the holder and its stops, less the same gap. It is
straight-edged, so that a knife cuts it, and stays off the calibration zone and off all glass between that and the home
rim. It is of black card, or of the thinnest sheet that the holder itself is cut from where that sheet is opaque. A
pocket card is as large as the film and lies in a pocket that stays empty; it is always of card, as a thicker sheet
would lift the lid.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

from holders.core.errors import InputError
from holders.design.draft.bed import outer_radius_mm
from holders.design.draft.places import Layout
from holders.design.model import CARD, Part, Rect, Role, Slab, Window
from holders.facts.habits import habit
from holders.facts.models import Material, Route
from holders.facts.tables import process
from holders.geometry.outline import Outline, Region, Vertex, bounds, rectangle
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

if TYPE_CHECKING:
    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

FIELD, FROM = "layout.mask_card_mm", "layout.mask_from"
LEAST_WIDE_MM = 8.0  # a narrower strip of card does not lie flat: common practice, no source
LEAST_LIT_MM2 = 50.0  # a piece over less lit glass is not worth cutting: common practice, no source
LEAST_CORNER_MM = 3.0  # a rounded corner that a slanted cut takes less of each edge from is left square
GRID_MM = 0.001  # corners are kept to a micrometre
SLANT = 2 - math.sqrt(
    2
)  # of a 45 degree line that moves outward by 1: how much longer the leg that it cuts off gets


def cards(
    job: Job, layout: Layout, whole: Sequence[Part], windows: Sequence[Window], pocket_depth_mm: float
) -> tuple[Part, ...]:
    """The mask's pieces, then the pocket cards; none where the preset asks for none.

    Raises ``InputError`` where the holder moves on the glass that the mask would lie on, where there is nothing
    that they could cover, and where the holder's own sheet lets light through or is too small for the mask.
    """
    thick, own = job.preset.layout.mask_card_mm, job.preset.layout.mask_from == "sheet"
    if thick is None and not own:
        return ()
    key, value = (FROM, "sheet") if own else (FIELD, thick)
    moved = layout.moves.count > 1
    if moved or job.preset.layout.shift_room_mm is not None:
        other = "[passes]" if moved else "layout.shift_room_mm"
        raise InputError(key, value, f"the holder moves over that glass ({other}): leave one of the two out")
    if own:
        found = _of_sheet(job.preset.route, job.material, job.preset, layout, whole)
    else:
        found = _mask(job.preset, layout, whole, _Stuff("knife", CARD, CARD, thick or 0.0))
    if thick is not None and can_stay_empty(whole, windows, pocket_depth_mm):
        found += _pocket_cards(job, windows, thick)
    if not found:
        raise InputError(
            key, value, "the holder leaves no strip of lit glass bare that is wide enough for card, and no pocket "
            "can stay empty: leave it out",
        )  # fmt: skip
    return tuple(found)


def lets_light_through(material: Material, finish: str) -> bool:
    """Whether a sheet of that colour lets the lamp's light through.

    Wood and board are opaque in all colours, plastic and foam where they are black (common practice, no source).
    """
    return finish == "clear" or (material.opaque == "black" and finish not in ("black", "matt-black"))


@dataclass(frozen=True, slots=True)
class _Stuff:
    """What a mask is cut from: by which route, the material's key and name, its thickness in mm."""

    route: Route
    key: str
    name: str
    thick_mm: float


def _of_sheet(
    route: Route, material: Material, preset: PlainPreset, layout: Layout, whole: Sequence[Part]
) -> list[Part]:
    """The mask from the thinnest sheet that the holder is cut from."""
    card = f"take black card: leave {FROM} out, with {FIELD} = 0.4"
    if route == "print":
        raise InputError(FROM, "sheet", f"a printed holder is cut from no sheet; {card}")
    if lets_light_through(material, preset.material.finish):
        raise InputError(
            FROM, "sheet", f"{material.name} lets the lamp's light through unless it is black (material.finish is "
            f'"{preset.material.finish}"); {card}',
        )  # fmt: skip
    thick = min(part.z1 - part.z0 for part in whole)
    found = _mask(preset, layout, whole, _Stuff(route, material.key, material.name, thick))
    wide, long = material.sheet_width_mm, material.sheet_height_mm
    if wide is not None and long is not None:
        rim, kerf = habit("sheet-margin"), material.kerf_mm if route == "laser" else 0.0
        room = sorted((wide - 2 * rim - kerf, long - 2 * rim - kerf))
        for piece in found:
            size = sorted(size_of(piece))
            if size[0] > room[0] or size[1] > room[1]:
                raise InputError(
                    FROM, "sheet", f"the {piece.title} is {size[0]:.0f} x {size[1]:.0f} mm and fits no sheet of "
                    f"{wide:g} x {long:g} mm; {card}",
                )  # fmt: skip
    return found


def can_stay_empty(whole: Sequence[Part], windows: Sequence[Window], pocket_depth_mm: float) -> bool:
    """Whether there are pockets that may be empty in a scan and would hold a card."""
    slotted = any(cut.open_end for part in whole for cut in part.cuts)
    return len(windows) > 1 and not slotted and pocket_depth_mm > 0


def _mask(preset: PlainPreset, layout: Layout, whole: Sequence[Part], stuff: _Stuff) -> list[Part]:
    regions = [_region(piece) for piece in _pieces(preset, layout, [p for p in whole if p.role is Role.STOP])]
    found = []
    for number, region in enumerate(regions, 1):
        several = len(regions) > 1
        found.append(
            Part(
                name=f"mask-{number}" if several else "mask",
                title=f"mask of {stuff.name}, piece {number}" if several else f"mask of {stuff.name}",
                process=stuff.route,
                material=stuff.key,
                quantity=1,
                slabs=(Slab("card", 0.0, stuff.thick_mm, region),),
                role=Role.MASK,
            )
        )
    return found


def _pieces(preset: PlainPreset, layout: Layout, stops: Sequence[Part]) -> list[Polygon]:
    """The mask's pieces, from the home corner outward."""
    import shapely  # noqa: PLC0415 - only where a mask is asked for

    gap, glass = preset.layout.slide_gap_mm, layout.glass
    away: list[BaseGeometry] = [shapely.Polygon(_around(preset, layout.outer, gap))]
    if (zone := layout.keep_open) is not None:
        away.append(shapely.box(zone.x, min(zone.y, glass.y), zone.right, zone.top))
    for part in stops:
        x0, y0, x1, y1 = part.box
        away.append(shapely.box(x0 - gap, y0 - gap, x1 + gap, y1 + gap))
    bare = _box(glass.grown(-gap)).difference(shapely.union_all(away))
    half = LEAST_WIDE_MM / 2
    wide = bare.buffer(-half, join_style="mitre").buffer(half, join_style="mitre").intersection(bare)
    tidy = shapely.set_precision(wide, GRID_MM).simplify(0)
    lit = _box(layout.lamp)
    kept = [
        one
        for one in shapely.get_parts(tidy)
        if one.geom_type == "Polygon" and one.intersection(lit).area > LEAST_LIT_MM2
    ]
    return sorted(kept, key=lambda one: (one.bounds[1], one.bounds[0]))


def _around(preset: PlainPreset, outer: Rect, gap: float) -> list[tuple[float, float]]:
    """The holder's outside grown by a gap, its corners slanted off no deeper than the holder's own are."""
    cut, round_mm = process(preset.route).corner_cut_mm, outer_radius_mm(preset)
    cord = round_mm * SLANT  # the leg of the line that touches a rounded corner's arc
    plain = cord if cord >= LEAST_CORNER_MM else 0.0
    r = outer.grown(gap)
    home, other = (leg + gap * SLANT if leg else 0.0 for leg in (cut or plain, plain))
    ring = [
        (r.x + home, r.y), (r.right - other, r.y), (r.right, r.y + other), (r.right, r.top - other),
        (r.right - other, r.top), (r.x + other, r.top), (r.x, r.top - other), (r.x, r.y + home),
    ]  # fmt: skip
    return [a for a, b in pairwise([*ring, ring[0]]) if math.dist(a, b) > GRID_MM]


def _box(rect: Rect) -> BaseGeometry:
    import shapely  # noqa: PLC0415

    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def _region(shape: Polygon) -> Region:
    """A shape of straight edges as a region, all outlines anticlockwise."""
    from shapely.geometry.polygon import orient  # noqa: PLC0415

    turned = orient(shape)
    rings = [turned.exterior.coords[:-1], *(ring.coords[:-1][::-1] for ring in turned.interiors)]
    outer, *holes = (Outline(tuple(Vertex(float(x), float(y)) for x, y in ring)) for ring in rings)
    return Region(outer, tuple(holes))


def _pocket_cards(job: Job, windows: Sequence[Window], thick: float) -> list[Part]:
    """A card for every pocket that may stay empty: all of each kind of film, but one of a holder's only kind."""
    found = []
    for one in job.each:
        mine = [window for window in windows if window.kind == one.kind] if job.kinds else list(windows)
        spare = mine if job.kinds else mine[1:]
        first = spare[0].film
        found.append(
            Part(
                name=f"pocket-card-{one.film_tag}" if job.kinds else "pocket-card",
                title=f"card for an empty pocket, {one.film_tag}"
                if job.kinds
                else "card for an empty pocket",
                process="knife",
                material=CARD,
                quantity=len(spare),
                slabs=(
                    Slab("card", 0.0, thick, Region(rectangle(first.x, first.y, first.width, first.height))),
                ),
                places=tuple((window.film.x - first.x, window.film.y - first.y) for window in spare),
                role=Role.POCKET_CARD,
            )
        )
    return found


def size_of(part: Part) -> tuple[float, float]:
    """Width and length of a card, mm."""
    x0, y0, x1, y1 = bounds(part.slabs[0].region.outer)
    return x1 - x0, y1 - y0
