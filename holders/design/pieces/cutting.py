"""What a beam or a knife follows: outlines set off by half the kerf, in the order in which to cut them.

A beam of width k burns k/2 on either side of its path. A hole drawn at its wanted size comes out k larger and a part
k smaller; so holes are drawn smaller and the outer outline larger, each by k/2. A knife has no kerf.
"""

from __future__ import annotations

from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.model import Part
from holders.facts.models import MOST_KERF_MM
from holders.geometry.offset import grown
from holders.geometry.outline import Bounds, Outline, Point, bounds


@dataclass(frozen=True, slots=True)
class Lettering:
    """One text as centre lines to engrave or mark."""

    text: str
    strokes: tuple[tuple[Point, ...], ...]


@dataclass(frozen=True, slots=True)
class CutPart:
    """One piece of sheet: paths for the cutter in bed coordinates, mm.

    ``inner`` come first in cutting order, ``outer`` last, so that the piece stays held until all else is done.
    """

    name: str
    title: str
    material: str
    thickness_mm: float
    quantity: int
    outer: Outline
    inner: tuple[Outline, ...]
    lettering: tuple[Lettering, ...]
    kerf_mm: float

    @property
    def box(self) -> Bounds:
        """(least x, least y, greatest x, greatest y) of the outer path."""
        return bounds(self.outer)


def cut_part(part: Part, kerf_mm: float) -> CutPart:
    """The paths that cut ``part`` out of a sheet to its nominal size with a beam ``kerf_mm`` wide.

    Raises
    ------
    InputError
        When the kerf is absurd, or an opening is smaller than the kerf lets a beam follow.
    ValueError
        When the part is not a single plain plate: a bug of the design room.
    """
    if len(part.slabs) != 1 or part.cuts:
        raise ValueError(f"{part.name} is no plain plate: it cannot be cut from one sheet")
    if not 0 <= kerf_mm <= MOST_KERF_MM:
        raise InputError(
            "material.kerf_mm", kerf_mm, f"measure it on a coupon; it lies between 0 and {MOST_KERF_MM:g} mm"
        )
    slab = part.slabs[0]
    try:
        outer = grown(slab.region.outer, kerf_mm / 2)
        inner = tuple(grown(hole, -kerf_mm / 2) for hole in _in_order(slab.region.holes))
    except ValueError as error:
        raise InputError(
            "material.kerf_mm", kerf_mm, f"a feature of {part.title} is too small for this kerf ({error})"
        ) from None
    return CutPart(
        name=part.name,
        title=part.title,
        material=part.material,
        thickness_mm=slab.z1 - slab.z0,
        quantity=part.quantity,
        outer=outer,
        inner=inner,
        lettering=tuple(Lettering(groove.text, groove.strokes) for groove in part.grooves),
        kerf_mm=kerf_mm,
    )


def _in_order(holes: tuple[Outline, ...]) -> list[Outline]:
    """From the home corner outward, each next hole the nearest one left: short ways between cuts."""
    left = {index: bounds(hole) for index, hole in enumerate(holes)}
    here, found = (0.0, 0.0), []
    while left:
        index = min(
            left, key=lambda i: (round((left[i][0] - here[0]) ** 2 + (left[i][1] - here[1]) ** 2, 6), i)
        )
        here = left.pop(index)[:2]
        found.append(holes[index])
    return found
