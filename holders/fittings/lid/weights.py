"""What a weight that the preset lays on each lid can be made of: two steel bars, one along each long rail."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from holders.core.lengths import measure
from holders.design.model import Part
from holders.facts.constants import GRAVITY_M_S2, constant
from holders.facts.models import Bar
from holders.facts.tables import table
from holders.geometry.outline import points

if TYPE_CHECKING:
    import shapely

BEHIND_MM = 0.5  # a bar stays so far behind the lid's inner edge
CHORD_MM = 0.01  # how far a chord may miss an arc
LEAST_SHARE = 0.4  # of the window's length: shorter bars press in the middle only


@dataclass(frozen=True, slots=True)
class PairOfBars:
    """Two bars of one section and length, mm, that lie wholly on a lid's long rails and weigh what they should."""

    bar: Bar
    length_mm: float

    @property
    def weight_n(self) -> float:
        """What both weigh, N."""
        return 2 * self.length_mm * newtons_per_mm(self.bar)

    @property
    def called(self) -> str:
        """One of them in words."""
        return f"steel bar {measure(self.bar.width_mm)} x {measure(self.bar.height_mm)} mm, {self.length_mm:g} mm long"


def newtons_per_mm(bar: Bar) -> float:
    """What a millimetre of a steel bar weighs, N."""
    return bar.area_mm2 * 1e-9 * constant("steel-density") * GRAVITY_M_S2


def pair_of_bars(weight_n: float, lids: Sequence[Part], room_mm: float) -> PairOfBars | None:
    """The longest two bars of the trade table that weigh so much together and lie on the long rails of every lid.

    Each begins half a millimetre behind the window and lies beside its middle. ``room_mm`` is how high they may be.
    None where no bar is narrow, low and short enough, or a lid has no window.
    """
    bodies = [_body(lid) for lid in lids]
    if not bodies or any(not body.interiors for body in bodies):
        return None
    found = []
    for row in table("bars"):
        if isinstance(row, Bar) and row.height_mm <= room_mm:
            pair = PairOfBars(row, float(round(weight_n / 2 / newtons_per_mm(row))))
            if all(_carries(body, pair) for body in bodies):
                found.append(pair)
    return max(found, key=lambda pair: pair.length_mm, default=None)


def _body(lid: Part) -> shapely.Polygon:
    """What bars lie on: a lid's top from above."""
    import shapely  # noqa: PLC0415 - only where a weight was asked for

    top = max(lid.slabs, key=lambda slab: slab.z1).region
    return shapely.Polygon(points(top.outer, CHORD_MM), [points(hole, CHORD_MM) for hole in top.holes])


def _carries(body: shapely.Polygon, pair: PairOfBars) -> bool:
    """Whether both bars lie wholly on a lid, beside its window and neither too short nor longer than that."""
    import shapely  # noqa: PLC0415

    x0, y0, x1, y1 = body.interiors[0].bounds
    wide, upright = pair.bar.width_mm, y1 - y0 >= x1 - x0
    (near, far), (low, high) = ((x0, x1), (y0, y1)) if upright else ((y0, y1), (x0, x1))
    if not LEAST_SHARE * (high - low) <= pair.length_mm <= high - low:
        return False
    first, last = (low + high - pair.length_mm) / 2, (low + high + pair.length_mm) / 2
    for start in (near - BEHIND_MM - wide, far + BEHIND_MM):
        box = (start, first, start + wide, last) if upright else (first, start, last, start + wide)
        if not body.contains(shapely.box(*box)):
            return False
    return True
