"""The volume of a part in closed form, from the exact areas of its outlines; the solid is checked against it."""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations, pairwise

import shapely

from holders.design.model import Cut, Part, Slab
from holders.design.parts.sections import area_of, breaks, groove_area, outline_at, polygon, section
from holders.geometry.outline import Outline, area, region_area

TOUCH_MM = 0.02  # chords stray this little from arcs; outlines that cross by less only touch


def volume(part: Part) -> float | None:
    """Volume in mm³ from areas of lines and arcs; None where cuts cross a wall and no closed form exists.

    A flared cut's area is quadratic in height wherever its corners are sharp or tangent, so Simpson's rule over its
    height is exact.
    """
    if _overlap([_span(slab) for slab in part.slabs]) or _cuts_overlap(part.cuts):
        return None
    total = sum(region_area(slab.region) * (slab.z1 - slab.z0) for slab in part.slabs)
    for cut in part.cuts:
        for slab in part.slabs:
            taken = _taken(cut, slab)
            if taken is None:
                return None
            total -= taken
    for groove in part.grooves:
        total -= groove_area(groove).area * groove.depth_mm
    return total


@lru_cache(maxsize=64)  # grams, price, load and answers all ask for it
def part_volume(part: Part) -> float:
    """Volume in mm³: the closed form where there is one, else from the sections."""
    found = volume(part)
    return volume_by_sections(part) if found is None else found


def volume_by_sections(part: Part, chord_error_mm: float = 0.0005) -> float:
    """Volume in mm³ by Simpson's rule over the polygon sections between jumps: always there, good to the chords."""
    total, edges = 0.0, breaks(part)
    for low, high in pairwise(edges):
        middle = (low + high) / 2
        m = section(part, middle, chord_error_mm).area
        if any(cut.flare_mm and cut.z0 < middle < cut.z1 for cut in part.cuts):
            inside = 1e-7 * (high - low)
            a, b = (section(part, z, chord_error_mm).area for z in (low + inside, high - inside))
            m = (a + 4 * m + b) / 6
        total += (high - low) * m  # without a flare it is the same all the way up
    return total


def _span(slab: Slab) -> tuple[float, float]:
    return slab.z0, slab.z1


def _overlap(spans: list[tuple[float, float]]) -> bool:
    return any(min(a[1], b[1]) - max(a[0], b[0]) > 1e-9 for a, b in combinations(spans, 2))


def _cuts_overlap(cuts: tuple[Cut, ...]) -> bool:
    shapes = [polygon(outline_at(cut, cut.z0)) for cut in cuts]
    return any(
        _overlap([(a.z0, a.z1), (b.z0, b.z1)]) and shapes[i].intersection(shapes[j]).area > TOUCH_MM**2
        for (i, a), (j, b) in combinations(enumerate(cuts), 2)
    )


def _taken(cut: Cut, slab: Slab) -> float | None:
    """What one cut takes from one slab (mm³)."""
    low, high = max(cut.z0, slab.z0), min(cut.z1, slab.z1)
    if high - low <= 1e-9:
        return 0.0
    areas = []
    for z in (low, (low + high) / 2, high):
        taken = _taken_area(outline_at(cut, z), slab)
        if taken is None:
            return None
        areas.append(taken)
    return (high - low) * (areas[0] + 4 * areas[1] + areas[2]) / 6


def _taken_area(outline: Outline, slab: Slab) -> float | None:
    shape = polygon(outline)
    stays = area_of(slab.region)
    if shape.intersection(stays).area <= TOUCH_MM**2:
        return 0.0
    if not polygon(slab.region.outer).buffer(TOUCH_MM).contains(shape):
        return None
    total = abs(area(outline))
    roomy = shape.buffer(TOUCH_MM)
    for hole in slab.region.holes:
        opening = polygon(hole)
        if roomy.contains(opening):
            total -= abs(area(hole))
        elif shapely.intersection(shape, opening).area > TOUCH_MM * opening.length:
            return None
    return total
