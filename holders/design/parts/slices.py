"""Horizontal slices of the real parts, and what stands on what: shared by the rules that measure geometry."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from holders.design.model import Foot, Part, Rect
from holders.design.parts.sections import section, united
from holders.geometry.outline import Point

HAIR_MM = 1e-6  # heights nearer than this are one
FLARED_AT = (0.02, 0.5, 0.98)  # where a slice with slanted walls is looked at, as shares of its height


@dataclass(frozen=True, slots=True)
class Slice:
    """What a part covers at ``z``, which stands for a height ``thick`` (mm, ``z`` above the glass)."""

    z: float
    thick: float
    shape: BaseGeometry


def plain(part: Part) -> Part:
    """The part without its lettering, which is shallow and carries nothing."""
    return replace(part, grooves=()) if part.grooves else part


def breaks(parts: Iterable[Part]) -> tuple[float, ...]:
    """Heights at which a section of the parts may change, rising, without near doubles."""
    heights: set[float] = set()
    for part in parts:
        ends = [(slab.z0, slab.z1) for slab in part.slabs] + [(cut.z0, cut.z1) for cut in part.cuts]
        low, high = part.z0, part.z1
        heights.update(min(max(z, low), high) for pair in ends for z in pair)
    found: list[float] = []
    for z in sorted(heights):
        if not found or z - found[-1] > HAIR_MM:
            found.append(z)
    return tuple(found)


@lru_cache(maxsize=64)
def slices(part: Part) -> tuple[Slice, ...]:
    """The part cut half way between every two breaks (slanted walls: near both ends too), no lettering."""
    bare = plain(part)
    found = []
    for low, high in pairwise(breaks((bare,))):
        flared = any(
            cut.flare_mm != 0 and cut.z0 < high - HAIR_MM and cut.z1 > low + HAIR_MM for cut in bare.cuts
        )
        shares = FLARED_AT if flared else (0.5,)
        for share in shares:
            z = low + share * (high - low)
            found.append(Slice(z, (high - low) / len(shares), section(bare, z)))
    return tuple(found)


def placed(part: Part, shape: BaseGeometry) -> BaseGeometry:
    """A shape of the part at every place where the part stands in the holder."""
    if part.places == ((0.0, 0.0),):
        return shape
    return shapely.union_all([translate(shape, dx, dy) for dx, dy in part.places])


def covered_at(parts: Iterable[Part], z: float) -> BaseGeometry:
    """What the parts, where they stand, cover at height ``z``."""
    here = [placed(part, section(plain(part), z)) for part in parts if part.z0 < z < part.z1]
    return united(here)


def footprint(part: Part) -> BaseGeometry:
    """All that a part covers at any height, at all its places (seen from above)."""
    return placed(part, shapely.union_all([item.shape for item in slices(part)]))


def box(rect: Rect) -> BaseGeometry:
    """A rectangle as a shape."""
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def solid_below(parts: Sequence[Part], z_top: float, points: Sequence[Point]) -> list[float]:
    """Unbroken thickness of material directly below ``z_top`` under each point, mm.

    A slice with slanted walls counts where its mid-height is solid.
    """
    heights = [z for z in breaks(parts) if z < z_top - HAIR_MM] + [z_top]
    return _unbroken(parts, list(reversed(list(pairwise(heights)))), points)


def _unbroken(
    parts: Sequence[Part], steps: Sequence[tuple[float, float]], points: Sequence[Point]
) -> list[float]:
    """Height over which the parts stay solid at each point, step after step."""
    found, alive = [0.0] * len(points), [True] * len(points)
    for low, high in steps:
        shape = covered_at(parts, (low + high) / 2)
        shapely.prepare(shape)
        for k, (x, y) in enumerate(points):
            if alive[k]:
                alive[k] = bool(shapely.contains_xy(shape, x, y))
                found[k] += (high - low) if alive[k] else 0.0
        if not any(alive):
            break
    return found


def shared_heights(one: Part, two: Part) -> list[float]:
    """Heights at which both parts have material to offer: the middle between every two breaks they share."""
    low, high = max(one.z0, two.z0), min(one.z1, two.z1)
    inner = [z for z in breaks((one, two)) if low - HAIR_MM <= z <= high + HAIR_MM]
    return [(a + b) / 2 for a, b in pairwise(inner)]


def placed_once(part: Part, place: Point) -> BaseGeometry:
    """The part's footprint at one of its places."""
    return translate(shapely.union_all([item.shape for item in slices(part)]), *place)


def union(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """The union of shapes."""
    return shapely.union_all(list(shapes))


def disc(foot: Foot, grow_mm: float = 0.0) -> BaseGeometry:
    """A foot as seen from above."""
    if foot.length_mm:
        return box(foot.box.grown(grow_mm))
    return shapely.Point(foot.x, foot.y).buffer(foot.diameter_mm / 2 + grow_mm, quad_segs=32)


def solid_above(parts: Sequence[Part], z_low: float, points: Sequence[Point]) -> list[float]:
    """Unbroken thickness of material directly above ``z_low`` over each point, mm."""
    heights = [z_low] + [z for z in breaks(parts) if z > z_low + HAIR_MM]
    return _unbroken(parts, list(pairwise(heights)), points)


def masses(part: Part) -> Iterator[tuple[float, float, float]]:
    """Volume (mm³) and centre (x, y) of each slice of a part, at all its places."""
    for item in slices(part):
        shape = placed(part, item.shape)
        if not shape.is_empty:
            yield shape.area * item.thick, shape.centroid.x, shape.centroid.y


def facing(ones: Sequence[Part], others: Sequence[Part]) -> Iterator[tuple[BaseGeometry, BaseGeometry, str]]:
    """Sections of two groups of parts at every height that a part of each reaches, and where that is, in words."""
    for one in ones:
        for two in others:
            for z in shared_heights(one, two):
                where = f"{one.name} in {two.name}, {z:.2f} mm above the glass"
                yield covered_at((one,), z), covered_at((two,), z), where
