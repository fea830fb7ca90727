"""Places with rings put together: tiles that overlap show the same rings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holders.measure.finished.rings.rings import RingPlace


@dataclass(frozen=True)
class RingRegion:
    """One area with rings; lengths in mm from the scan's first column and row.

    ``x_mm``, ``y_mm`` its middle, weighed by contrast, and ``radius_mm`` of the disc that spreads as far about it;
    ``contrast`` and ``spacing_mm`` of its strongest tile.
    """

    x_mm: float
    y_mm: float
    radius_mm: float
    contrast: float
    spacing_mm: float


def regions(places: Sequence[RingPlace]) -> tuple[RingRegion, ...]:
    """Tiles that overlap, directly or through others, as one area; the strongest contrast first."""
    groups: list[list[RingPlace]] = []
    for place in places:
        near = [group for group in groups if any(_overlap(place, other) for other in group)]
        groups = [group for group in groups if not any(group is one for one in near)]
        groups.append([place, *(other for group in near for other in group)])
    return tuple(sorted((_region(group) for group in groups), key=lambda r: (-r.contrast, r.x_mm, r.y_mm)))


def _overlap(a: RingPlace, b: RingPlace) -> bool:
    return (
        a.x_mm < b.x_mm + b.width_mm
        and b.x_mm < a.x_mm + a.width_mm
        and a.y_mm < b.y_mm + b.height_mm
        and b.y_mm < a.y_mm + a.height_mm
    )


def _region(group: Sequence[RingPlace]) -> RingRegion:
    strongest = max(group, key=lambda p: p.contrast)
    weights = [max(p.contrast, 1e-6) for p in group]
    middles = [(p.x_mm + p.width_mm / 2, p.y_mm + p.height_mm / 2) for p in group]
    total = sum(weights)
    x = sum(w * m[0] for w, m in zip(weights, middles, strict=True)) / total
    y = sum(w * m[1] for w, m in zip(weights, middles, strict=True)) / total
    square = sum(w * math.dist(m, (x, y)) ** 2 for w, m in zip(weights, middles, strict=True)) / total
    # a disc of radius R has a mean square distance of R²/2 from its middle; a tile sees no finer than its half
    radius = max(math.sqrt(2 * square), min(p.width_mm for p in group) / 2)
    return RingRegion(x, y, radius, strongest.contrast, strongest.spacing_mm)
