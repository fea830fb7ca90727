"""A channel for strips: terraced rails hold both long edges on a gentle arc, so that a curled strip has a known height.

The strip arches over the window (its emulsion, which it curls toward, faces down). Below each long edge rise terraces
of whole printer layers whose outer corners lie on an arc of radius R; above it the lid's rails come down in the same
way. Nothing touches the film over the picture. Heights are told from the ledge: the top of the rails beside the
window, on whose outer corners the film lies.
"""

from __future__ import annotations

import math
from dataclasses import replace

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout, Place
from holders.design.height.heights import LEAST_LAYERS
from holders.design.height.printed import least_height
from holders.design.model import Part, Rect, Role, Slab
from holders.fittings.channel.arc import Channel, drop_mm, where_mm
from holders.fittings.channel.table import ChannelTable
from holders.fittings.lid.frame import lid_levels, lid_lips
from holders.fittings.lid.table import Lid
from holders.geometry.outline import Outline, Region, rectangle
from holders.preset.resolve import Job
from holders.preset.tables.plain import table_of

END_MM = 1.0  # rails of the lid end so far from its pocket's ends


def channel(job: Job, table: ChannelTable, layout: Layout, levels: Levels) -> Channel:
    """The channel's arc and rails.

    Raises
    ------
    InputError
        For a route, film or way of lying that has none, and where the arc is too flat or too steep for its rails.
    """
    lid = _lid_of(job, layout)
    assert job.printer is not None
    assert levels.shoulder is not None
    layer, wall = job.printer.layer_mm, 2 * job.printer.nozzle_mm
    place = layout.places[0]
    half = place.film.width / 2
    largest = half + job.film.tolerance_mm / 2
    inner = half - min(layout.lips.left, layout.lips.right) + table.rail_mm
    if largest >= table.radius_mm / 2 or inner >= half - wall:
        field, value = (
            ("channel.radius_mm", table.radius_mm)
            if largest >= table.radius_mm / 2
            else ("channel.rail_mm", table.rail_mm)
        )
        raise InputError(
            field, value, "leaves no room for terraces under the film's edge; wider lips, or other rails"
        )
    reach = lid_lips(lid, layout.lips)
    edge = half - max(reach.left, reach.right)
    low = _terraces(table.radius_mm, inner, largest, layer)
    room = levels.shoulder - levels.ledge - job.film.thickness_mm - lid.play_mm
    farthest = min(half, place.pocket.width / 2 - lid.clearance_mm) - wall
    high = tuple(max(x, edge) for x in _hangers(table.radius_mm, inner, farthest, layer, room))
    if len(low) < 2 or not high:
        raise InputError(
            "channel.radius_mm",
            table.radius_mm,
            f"over the lips the arc falls {drop_mm(table.radius_mm, inner, half):.2f} mm, less than the rails need in "
            f"steps of {layer:g} mm; a smaller radius, wider lips or thinner layers",
        )
    start = lid.clearance_mm + END_MM
    floor = levels.ledge - levels.under - (len(low) - 1) * layer
    if floor < least_height(job.printer, LEAST_LAYERS) - 1e-9:
        raise InputError(
            "channel.radius_mm",
            table.radius_mm,
            "the terraces leave no floor under the film; a larger radius",
        )
    return Channel(
        radius=table.radius_mm,
        middle=place.film.x + half,
        inner=inner,
        window=place.opening.width / 2,
        half=half,
        layer=layer,
        low=low,
        high=high,
        roof=levels.shoulder - levels.ledge,
        lid_edge=edge,
        play=lid.play_mm,
        length=place.film.height,
        lips=(place.film.top - place.opening.top, place.opening.y - place.film.y),
        lid_lips=(reach.head, reach.foot),
        rail_ends=(
            place.film.top - place.pocket.top + start,
            place.pocket.y + start - place.film.y,
        ),
    )


def raised(job: Job, table: ChannelTable, layout: Layout, plain: Levels) -> Levels:
    """The levels with a lid on its shoulder, so many layers higher that the arc, which rises toward the window, passes
    under it; as they are where there is no printed lid (:func:`channel` refuses that).
    """
    lid = table_of(job.preset, Lid)
    if lid is None or job.printer is None:
        return plain
    plain = lid_levels(job, lid, plain, on_shoulder=True)
    assert plain.shoulder is not None
    assert plain.over is not None
    half, lips = layout.places[0].film.width / 2, layout.lips
    inner = half - min(lips.left, lips.right) + table.rail_mm
    reach = lid_lips(lid, lips)
    edge = half - max(reach.left, reach.right)
    if max(inner, edge) >= table.radius_mm:
        return plain  # refused by :func:`channel`
    need = job.film.thickness_mm + lid.play_mm - drop_mm(table.radius_mm, inner, edge)
    layer = job.printer.layer_mm
    more = max(0, math.ceil((need - (plain.shoulder - plain.ledge)) / layer - 1e-9)) * layer
    low, high = plain.over
    return replace(
        plain,
        shoulder=plain.shoulder + more,
        top=plain.top + more,
        over=(low + more, high + more),
        play=lid.play_mm,
    )


def _lid_of(job: Job, layout: Layout) -> Lid:
    """The lid that carries the upper rails. Raises ``InputError`` where a channel cannot be."""
    film, lid = job.film, table_of(job.preset, Lid)
    if job.printer is None:
        raise InputError(
            "channel",
            "(set)",
            "is printed only: its rails are terraces a tenth or two of a millimetre high, which no sheet is; set "
            'route = "print", or leave the table out and hold the strip with a [lid]',
        )
    if film.kind not in ("35mm", "roll"):
        raise InputError(
            "channel", "(set)", f"is for strips of 35 mm and roll film, not for {film.name}; leave it out"
        )
    if job.preset.film.emulsion != "down":
        raise InputError(
            "film.emulsion",
            "up",
            "film curls toward its emulsion, so that laid emulsion up it would press against the rails' arch from the "
            "other side; set it down, and mirror the scan if need be",
        )
    if lid is None:
        raise InputError(
            "lid", "(left out)", "the channel's upper rails are part of a lid frame; add a [lid] table"
        )
    if layout.laid.turned:
        raise InputError(
            "layout.turn", job.preset.layout.turn, 'strips lie along the bed here: set it to "never"'
        )
    if abs(layout.lips.left - layout.lips.right) > 1e-9:
        raise InputError("lip.left_mm", layout.lips.left, "both long edges of a channel need the same lip")
    return lid


def _terraces(radius: float, inner: float, largest: float, layer: float) -> tuple[float, ...]:
    """Outer corners of the terraces from the top one down, as distances from the middle; the last is the floor's.

    The floor lies below the edge of the largest film.
    """
    steps = max(1, math.ceil(drop_mm(radius, inner, largest) / layer - 1e-9))
    return tuple(where_mm(radius, inner, k * layer) for k in range(steps + 1))


def _hangers(radius: float, inner: float, farthest: float, layer: float, room: float) -> tuple[float, ...]:
    """Inner corners of the lid's rails, from the highest down; as many as begin before ``farthest``."""
    found = []
    k = 1
    while (drop := k * layer - room) < drop_mm(radius, inner, farthest):
        found.append(where_mm(radius, inner, max(drop, drop_mm(radius, inner, inner))))
        k += 1
    return tuple(found)


def lower_rails(
    made: Channel, places: tuple[Place, ...], ledge: float, window_radius: float
) -> tuple[Slab, ...]:
    """The terraces as slabs: rings round each window, from the floor up."""
    found = []
    for place in places:
        o = place.opening
        window = rectangle(o.x, o.y, o.width, o.height, window_radius)
        middle = place.film.x + place.film.width / 2
        for k in range(len(made.low) - 1, 0, -1):
            x = made.low[k - 1]
            ring = rectangle(middle - x, place.film.y, 2 * x, place.film.height)
            z = ledge - k * made.layer
            found.append(Slab("rail", round(z, 6), round(z + made.layer, 6), Region(ring, (window,))))
    return tuple(found)


def upper_rails(made: Channel, place: Place, gap: float, underside: float) -> tuple[Slab, ...]:
    """The lid's rails as slabs: a bar along each long edge for every step down."""
    found = []
    pocket = place.pocket.inset(*(gap,) * 4)
    middle = place.film.x + place.film.width / 2
    y, length = pocket.y + END_MM, pocket.height - 2 * END_MM
    for k, x in enumerate(made.high, 1):
        z = underside - k * made.layer
        left = Rect(pocket.x, y, middle - x - pocket.x, length)
        right = Rect(middle + x, y, pocket.right - middle - x, length)
        for bar in (left, right):
            found.append(Slab("rail", round(z, 6), round(z + made.layer, 6), Region(_plain(bar))))
    return tuple(found)


def railed(lids: tuple[Part, ...], made: Channel, layout: Layout, gap: float) -> tuple[Part, ...]:
    """The lids with their rails, ``gap`` clear of the pocket. They carry no lettering, as they print top down."""
    found = []
    for lid in lids:
        if lid.role is not Role.LID:
            found.append(lid)
            continue
        box = Rect(lid.box[0], lid.box[1], lid.box[2] - lid.box[0], lid.box[3] - lid.box[1])
        place = next(p for p in layout.places if box.contains(p.opening))
        rails = upper_rails(made, place, gap, lid.z0)
        found.append(replace(lid, slabs=(*lid.slabs, *rails), grooves=()))
    return tuple(found)


def _plain(bar: Rect) -> Outline:
    return rectangle(bar.x, bar.y, bar.width, bar.height)
