"""A holder on its feet: how far it hangs between them, at once, after a day's session and when left warm for long."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from holders.core.errors import InputError, NotConverged
from holders.design.model import Design
from holders.preset.resolve import Job
from holders.workshop.stiffness.bow import Strip, on_feet, strip
from holders.workshop.stiffness.onfeet import Stand, carrying, loads, lying, stand_of
from holders.workshop.stiffness.stiffness import stuff_of
from holders.workshop.stiffness.warm import foot_span_mm, warmth


@dataclass(frozen=True, slots=True)
class Hanging:
    """The deepest place of the frame, mm: at once, after a day's session and after 1000 hours, the latter two warm.

    It goes no deeper than ``room_mm``, as the frame then rests on the glass. ``span_mm`` is the longest way between
    neighbouring feet, ``load_share`` what the frame carries, itself included, over its own weight.
    """

    span_mm: float
    thickness_mm: float
    load_share: float
    now_mm: float
    session_mm: float
    later_mm: float
    room_mm: float


def hanging(job: Job, design: Design) -> Hanging | None:
    """The frame as a grid of beams on its feet; None when the holder lies on the glass.

    The load of a lid or film counts as spread like the frame's own weight. What is no grid of beams counts as one
    beam over the longest way between feet, 5 q L⁴ / (384 E I): Roark's Formulas for Stress and Strain, beams on simple
    supports (from memory; exact for a beam).
    """
    span = foot_span_mm(design)
    if span <= 0:
        return None
    frame = carrying(design)
    thickness = max(p.z1 for p in frame) - min(p.z0 for p in frame)
    room = design.heights.foot_protrusion
    try:
        stand = stand_of(job, design)
        assert stand is not None
        return _aged(job, lambda left: _deepest(stand, left), span, thickness, stand.load_share, room)
    except (InputError, NotConverged):
        weights = loads(job, design)
        share = weights.share(weights.own)
        softest = stuff_of(job).softest_mpa
        beam = strip(span, thickness, softest, job.material.density_kg_m3, share)
        return _aged(job, lambda left: _as_one_beam(beam, left, room), span, thickness, share, room)


def _aged(
    job: Job, sag: Callable[[float], float], span: float, thickness: float, share: float, room: float
) -> Hanging:
    """With what is left of the modulus at each time; gone soft, it lies on the glass."""
    left = warmth(job).modulus_left
    later = (room, room) if left is None else (sag(left[0]), sag(left[1]))
    return Hanging(span, thickness, share, sag(1.0), *later, room)


def _deepest(stand: Stand, left: float) -> float:
    return max(0.0, lying(stand, left).deepest_mm)


def _as_one_beam(beam: Strip, left: float, room: float) -> float:
    return -on_feet(replace(beam, stiffness=beam.stiffness * left), 0.0, room, "dome")
