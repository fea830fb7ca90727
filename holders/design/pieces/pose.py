"""How a printed part lies on the printer: which way up, and how far to move it so that it starts at the origin."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from holders.design.model import Part, Role
from holders.geometry.outline import Bounds, Region, region_area

OVERHANG_MM2 = 1.0  # less is arithmetic
BRIDGED_MM2 = 200.0  # of a ceiling that is printed over nothing; magnets' pockets are far smaller


@dataclass(frozen=True, slots=True)
class Pose:
    """First turned over about an axis along x if ``turned``, then shifted by (dx, dy, dz) mm."""

    turned: bool
    dx: float
    dy: float
    dz: float


def print_pose(part: Part) -> Pose:
    """Flat side down: the face with more contact lies on the printer's bed; a frame always lies on its underside.

    The turned part shows its other side up; its box then starts at the origin. A lid whose rim stands back, or that has
    wide pockets in its underside, lies on its top, so that nothing of it is printed in the air; its lettering is then
    in the first layers, narrow enough to span.
    """
    x0, y0, _, y1 = part_bounds(part)
    if part.role is Role.LID and (_overhangs(part) or _pocketed(part)):
        return Pose(True, -x0, y1, part.z1)
    return Pose(False, -x0, -y0, -part.z0)


def _overhangs(part: Part) -> bool:
    """Whether something of a part stands out over what is below it."""
    heights = sorted({slab.z0 for slab in part.slabs})
    solid = [sum(region_area(s.region) for s in part.slabs if s.z0 <= z < s.z1) for z in heights]
    return any(above > below + OVERHANG_MM2 for below, above in pairwise(solid))


def _pocketed(part: Part) -> bool:
    """Whether a pocket that ends within the part is open below and too large to be bridged."""
    return any(
        not cut.flare_mm and cut.z1 < part.z1 and region_area(Region(cut.outline)) > BRIDGED_MM2
        for cut in part.cuts
    )


def part_bounds(part: Part) -> Bounds:
    """(least x, least y, greatest x, greatest y) over all slabs."""
    return part.box
