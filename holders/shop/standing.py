"""A holder on its feet: how far it hangs between them, at once and when it is left lying warm for long."""

from __future__ import annotations

from dataclasses import dataclass

from holders.design.model import Design
from holders.design.volume import part_volume
from holders.facts.habits import habit
from holders.preset.resolve import Job
from holders.shop.bow import on_feet, strip
from holders.shop.warm import foot_span_mm, warmth


@dataclass(frozen=True, slots=True)
class Hanging:
    """Sag of the frame between two feet, mm: at once, after a day's session and after 1000 hours, both warm.

    It goes no deeper than ``room_mm``, as the frame then rests on the glass. ``load_share`` is what it carries, itself
    included, over its own weight.
    """

    span_mm: float
    thickness_mm: float
    load_share: float
    now_mm: float
    session_mm: float
    later_mm: float
    room_mm: float


def load_share(job: Job, design: Design) -> float:
    """Weight of frame, lids, film and glass cover over that of the frame."""
    own = sum(part_volume(p) * p.quantity for p in design.parts if p.in_frame)
    loose = sum(part_volume(p) * p.quantity for p in design.parts if not p.in_frame)
    film = sum(w.film.width * w.film.height for w in design.windows) * job.film.thickness_mm
    pane = design.pane
    glass = 0.0 if pane is None else sum(r.width * r.height for r in pane.places) * (pane.z1 - pane.z0)
    if own <= 0:
        return 1.0
    more = film * job.base.density_kg_m3 + glass * habit("glass-density")
    return 1.0 + (loose * job.material.density_kg_m3 + more) / (own * job.material.density_kg_m3)


def hanging(job: Job, design: Design) -> Hanging | None:
    """The longest way between neighbouring feet as a beam with free ends; None when the holder lies on the glass.

    The load of a lid or film counts as spread like the frame's own weight. 5 q L⁴ / (384 E I): Roark's Formulas for
    Stress and Strain, beams on simple supports (from memory; exact for a beam).
    """
    span = foot_span_mm(design)
    if span <= 0:
        return None
    frame = [p for p in design.parts if p.in_frame]
    thickness = max(p.z1 for p in frame) - min(p.z0 for p in frame)
    share, room, m = load_share(job, design), design.heights.foot_protrusion, job.material

    def sag(left: float) -> float:
        return -on_feet(
            strip(span, thickness, m.modulus_mpa * left, m.density_kg_m3, share), 0.0, room, "dome"
        )

    left = warmth(job).modulus_left
    later = (room, room) if left is None else (sag(left[0]), sag(left[1]))  # gone soft: it lies on the glass
    return Hanging(span, thickness, share, sag(1.0), *later, room)
