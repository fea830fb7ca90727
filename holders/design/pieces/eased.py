"""Chamfers along a printed part's edges on the plate, where the first layers spread and a part would bind or rock.

They are for the printer alone, as the kerf is for the laser: heights, sections and drawings are those of the part
without them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.model import Cut, Part, Slab
from holders.design.parts.sections import area_of, groove_area, outline_at, polygon
from holders.design.pieces.pose import print_pose
from holders.facts.habits import habit
from holders.geometry.offset import grown
from holders.geometry.outline import Outline

LETTER_MM = 0.1  # between a chamfer and lettering on the plate
WALL_MM = 0.9  # left between two edges on the plate: two lines (shop rule, from memory)
EVEN_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Ease:
    """One edge: what is taken away between the plate and ``z_in``, widest on the plate.

    ``inner`` is the edge's outline at ``z_in``, ``plate`` the one on the plate with the same vertices; ``outside``
    says that material beyond them goes (a part's outer edge), else that within (a hole's).
    """

    plate: Outline
    inner: Outline
    z_plate: float
    z_in: float
    outside: bool


def eased(part: Part) -> tuple[Ease, ...]:
    """The chamfers of a printed part, its outer edges first; an edge whose wall is too thin for one has none."""
    if part.process != "print":
        return ()
    size, turned = habit("print-chamfer"), print_pose(part).turned
    z_plate = part.z1 if turned else part.z0
    low, high = (z_plate - size, z_plate) if turned else (z_plate, z_plate + size)
    lowest = [slab for slab in part.slabs if slab.z0 < high - EVEN_MM and slab.z1 > low + EVEN_MM]
    if any(slab.z1 - slab.z0 <= size for slab in lowest) or _touching(lowest):
        return ()
    cuts = [cut for cut in part.cuts if cut.z0 < high and cut.z1 > low]
    sloped = [polygon(outline_at(cut, max(cut.z0, low))) for cut in cuts if cut.flare_mm]
    written = [groove_area(g) for g in part.grooves if g.z_top > low and g.z_top - g.depth_mm < high]
    edges = [(slab.region.outer, True) for slab in lowest]
    edges += [(hole, False) for slab in lowest for hole in slab.region.holes]
    edges += [
        (cut.outline, False) for cut in cuts if any(_bites(cut, z_plate, size, slab) for slab in lowest)
    ]
    on_plate = [polygon(outline) for outline, _ in edges]
    found = []
    for number, (outline, outside) in enumerate(edges):
        if not outside and any(polygon(outline).intersects(shape) for shape in sloped):
            continue  # a window: its edge slopes already
        others = [shape.exterior for k, shape in enumerate(on_plate) if k != number]
        for wide, plate in _ways(outline, outside, size):
            if _clear(plate, outline, others, WALL_MM) and _clear(plate, outline, written, LETTER_MM):
                on_plate[number] = polygon(plate)
                z_in = z_plate - wide if turned else z_plate + wide
                found.append(Ease(plate, outline, z_plate, z_in, outside))
                break
    return tuple(found)


def _ways(outline: Outline, outside: bool, size: float) -> Iterator[tuple[float, Outline]]:
    """The edge on the plate with the whole chamfer, then with half of it; none smaller than a feature of the edge."""
    for wide in (size, size / 2):
        with suppress(ValueError):
            yield wide, grown(outline, -wide if outside else wide)


def _clear(plate: Outline, outline: Outline, others: Sequence[BaseGeometry], least: float) -> bool:
    """Whether what is taken keeps at least so far from each of the others."""
    gone = polygon(plate).symmetric_difference(polygon(outline))
    return bool((shapely.distance(gone, list(others)) >= least).all()) if others else True


def _bites(cut: Cut, z_plate: float, wide: float, slab: Slab) -> bool:
    """Whether a cut without slope opens on the plate, deeper than the chamfer, wholly in the slab's material."""
    open_there = cut.z0 <= z_plate + EVEN_MM and cut.z1 >= z_plate - EVEN_MM
    deep = min(cut.z1, slab.z1) - max(cut.z0, slab.z0) > wide
    return open_there and deep and not cut.flare_mm and area_of(slab.region).contains(polygon(cut.outline))


def _touching(slabs: Sequence[Slab]) -> bool:
    """Whether any two of the slabs meet, so that an edge of one is no edge of the part."""
    return any(
        shapely.distance(area_of(one.region), area_of(two.region)) < EVEN_MM
        for one, two in combinations(slabs, 2)
    )
