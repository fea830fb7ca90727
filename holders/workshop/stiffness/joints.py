"""How hard glued joints are pulled when a frame in pieces is lifted by one edge.

What lies beyond a line of seams hangs on it: by statics its weight times the distance of its middle. The joints share
that moment by the glued flanks of their tongues, upright rectangles in shear (as a bolted plate shares it by its
bolts): M d / J with J = r h (r² + h²)/12 a flank, d from its middle to a corner. In the tongue's neck it is the stress
of a beam as wide as the neck. The butt faces are taken to carry nothing, as no glue is asked for there.

The same rails as elastic solids (tests/workshop/test_joint_solid.py) have peaks above these means, where flank and neck
end in a corner and where a lap bends aside: the factors below.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from holders.design.model import Design, Joint, Role, Seam
from holders.design.parts import slices
from holders.facts.constants import GRAVITY_M_S2
from holders.geometry.outline import bounds
from holders.workshop.stiffness.loose import Loose, lid_across

if TYPE_CHECKING:
    from holders.preset.resolve import Job

GLUE_PEAK = 1.9  # of the shear, along 2.5 mm of a flank of the elastic solid: 1.0 to 1.84
LAP_PEAK = 1.4  # of the stress in the neck of a lap, likewise; of a tongue 1.0
NEAR_MM = 10.0  # seams of a frame that lie nearer than this to one line share what hangs on it


@dataclass(frozen=True, slots=True)
class Flanks:
    """A joint's glued flanks: how far it reaches past its seam, how high, how many; its neck is so wide, mm."""

    reach: float
    tall: float
    count: int
    neck: float

    @property
    def stiff_mm4(self) -> float:
        """Polar moment of the flanks' areas about their middles."""
        return self.count * self.reach * self.tall * (self.reach**2 + self.tall**2) / 12

    @property
    def corner_mm(self) -> float:
        """From a flank's middle to its corner."""
        return math.hypot(self.reach, self.tall) / 2


@dataclass(frozen=True, slots=True)
class Pulled:
    """A line of seams under what hangs on it: moment (N mm), greatest shear in the glue and stress in a neck (MPa)."""

    seam: Seam
    moment_nmm: float
    glue_mpa: float
    neck_mpa: float


def pulled(job: Job, design: Design) -> tuple[Pulled, ...]:
    """Every seam of the frame that is glued, with lids, film and glass in place; nothing where none is."""
    frame = [seam for seam in design.seams if seam.role.in_frame and seam.fit == "glue"]
    return tuple(_pulled(design, seam, frame, _hanging_nmm(job, design, seam)) for seam in frame)


def pulled_lids(density_kg_m3: float, design: Design) -> tuple[Pulled, ...]:
    """Every glued seam of a lid that is lifted by itself, with the steel on it; nothing where none is."""
    seams = [seam for seam in design.seams if seam.role is Role.LID and seam.fit == "glue"]
    found = []
    for seam in seams:
        lid = lid_across(design, seam)
        names = {part.name for part in lid.parts}
        same = [
            one for one in seams if names & {name for joint in one.joints for name in (joint.low, joint.high)}
        ]
        found.append(_pulled(design, seam, same, _lid_hanging_nmm(density_kg_m3, lid, seam)))
    return tuple(found)


def flanks_of(design: Design, seam: Seam, joint: Joint) -> Flanks:
    """What of a joint is glued, as high as the lower of its two pieces."""
    pieces = {part.name: part for part in design.parts}
    x0, y0, x1, y1 = bounds(joint.tongue)
    far, low, high = (y1, x0, x1) if seam.axis == "y" else (x1, y0, y1)
    tall = min(pieces[name].z1 - pieces[name].z0 for name in (joint.low, joint.high))
    root = joint.root[0] if seam.axis == "y" else joint.root[1]
    neck = 2 * (root - low) if joint.kind == "tongue" else _half_rail(seam, root)
    return Flanks(far - seam.at_mm, tall, 2 if joint.kind == "tongue" else 1, min(neck, high - low))


def _half_rail(seam: Seam, root: float) -> float:
    """What a lap leaves of its rail on either side of its flank, mm."""
    rail = next(span for span in seam.crossings if span[0] - 1.0 <= root <= span[1] + 1.0)
    return (rail[1] - rail[0] - seam.clearance_mm) / 2


def shear_mpa(moment_nmm: float, flanks: Sequence[Flanks]) -> float:
    """Greatest shear in the glue of joints that share a moment."""
    stiff = sum(one.stiff_mm4 for one in flanks)
    return GLUE_PEAK * moment_nmm * max(one.corner_mm for one in flanks) / stiff


def neck_mpa(moment_nmm: float, flanks: Sequence[Flanks]) -> float:
    """Greatest bending stress in the necks of joints that share a moment."""
    stiff = sum(one.stiff_mm4 for one in flanks)
    return max(
        (LAP_PEAK if one.count == 1 else 1.0)
        * moment_nmm
        * one.stiff_mm4
        / stiff
        * 6
        / (one.neck * one.tall**2)
        for one in flanks
    )


def _pulled(design: Design, seam: Seam, frame: Sequence[Seam], moment: float) -> Pulled:
    line = [other for other in frame if other.axis == seam.axis and abs(other.at_mm - seam.at_mm) < NEAR_MM]
    flanks = [flanks_of(design, one, joint) for one in line for joint in one.joints]
    return Pulled(seam, moment, shear_mpa(moment, flanks), neck_mpa(moment, flanks))


def _lid_hanging_nmm(density_kg_m3: float, lid: Loose, seam: Seam) -> float:
    """The greater moment of what of a lid lies beyond the seam on either side."""
    each, upright = 1e-9 * GRAVITY_M_S2 * density_kg_m3, seam.axis == "y"
    sides = [0.0, 0.0]
    masses = [
        (each * volume, y if upright else x) for part in lid.parts for volume, x, y in slices.masses(part)
    ]
    for bar in lid.bars:
        low, long = (bar.rect.y, bar.rect.height) if upright else (bar.rect.x, bar.rect.width)
        masses += [(bar.weight_n / 2, low + long / 4), (bar.weight_n / 2, low + 3 * long / 4)]
    for weight, at in masses:
        sides[at > seam.at_mm] += weight * abs(at - seam.at_mm)
    return max(sides)


def _hanging_nmm(job: Job, design: Design, seam: Seam) -> float:
    """The greater moment of what lies beyond the seam on either side, everything solid."""
    each = 1e-9 * GRAVITY_M_S2
    sides = [0.0, 0.0]

    def hang(weight: float, at: float) -> None:
        sides[at > seam.at_mm] += weight * abs(at - seam.at_mm)

    def halves(weight: float, at: float, long: float) -> None:  # of what may lie on both sides of the seam
        hang(weight / 2, at - long / 4)
        hang(weight / 2, at + long / 4)

    for part in (part for part in design.parts if not part.role.beside):
        x0, y0, x1, y1 = part.box
        low, high = (y0, y1) if seam.axis == "y" else (x0, x1)
        across = len(part.places) == 1 and low < seam.at_mm < high
        for volume, x, y in slices.masses(part):
            at, weight = y if seam.axis == "y" else x, each * job.material.density_kg_m3 * volume
            halves(weight, at, high - low) if across else hang(weight, at)
    pressing = sum(made.pressing_n(job, design) for made in design.fitted) / len(design.windows)
    for window in design.windows:
        film = window.film
        own = each * job.base.density_kg_m3 * film.width * film.height * job.plate_mm
        if seam.axis == "y":
            halves(own + pressing, film.y + film.height / 2, film.height)
        else:
            halves(own + pressing, film.x + film.width / 2, film.width)
    return max(sides)
