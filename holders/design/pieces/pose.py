"""How a printed part lies on the printer: which way up, and how far to move it so that it starts at the origin."""

from __future__ import annotations

from dataclasses import dataclass

from holders.design.model import Part, Role
from holders.design.parts.sections import section
from holders.geometry.outline import Bounds

SKIN_MM = 1e-3  # just inside the lowest and highest face


@dataclass(frozen=True, slots=True)
class Pose:
    """First turned over about an axis along x if ``turned``, then shifted by (dx, dy, dz) mm."""

    turned: bool
    dx: float
    dy: float
    dz: float


def print_pose(part: Part) -> Pose:
    """Flat side down: the face with more contact lies on the printer's bed; a frame always lies on its underside.

    The turned part shows its other side up; its box then starts at the origin. A lid whose rim stands back lies on its
    top, so that nothing of it is printed in the air; its lettering is then in the first layers, narrow enough to span.
    """
    x0, y0, _, y1 = part_bounds(part)
    below = section(part, part.z0 + SKIN_MM).area
    above = section(part, part.z1 - SKIN_MM).area
    if part.role is Role.LID and above > below * 1.05:
        return Pose(True, -x0, y1, part.z1)
    return Pose(False, -x0, -y0, -part.z0)


def part_bounds(part: Part) -> Bounds:
    """(least x, least y, greatest x, greatest y) over all slabs."""
    return part.box
