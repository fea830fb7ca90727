"""A frame on its feet as a grid of beams: how deep each place of it hangs, and where it comes down on the glass.

Feet and glass only push. A frame that bows with one warm face lifts off a foot in the middle of a side as soon as the
arc between the corners is higher than its weight brings it down again; one that hangs deeper than its feet are high
lies on the glass there. Which of them push is found by trying, one change at a time.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.design.model import Design, Part, Role
from holders.design.parts.grillage import Beam
from holders.design.parts.members import NEAR_MM, beams_of, openings_of, stretches_of
from holders.facts.constants import GRAVITY_M_S2
from holders.geometry.outline import region_area
from holders.preset.resolve import Job
from holders.workshop.stiffness.contact_set import at_rest, flexible
from holders.workshop.stiffness.stiffness import stuff_of

Floats = NDArray[np.float64]
Point = tuple[float, float]
ARM = 1e3  # how much stiffer the short arm from a foot to the middle of its rail is than that rail


@dataclass(frozen=True, slots=True)
class Stand:
    """A frame's beams and the nodes that its feet hold; ``room_mm`` from its underside to the glass.

    ``load_share`` is what it carries, itself included, over its own weight.
    """

    nodes: tuple[Point, ...]
    beams: tuple[Beam, ...]
    feet: tuple[int, ...]
    room_mm: float
    load_share: float = 1.0


@dataclass(frozen=True, slots=True)
class Lying:
    """How a frame lies: the depth (mm, downward) and slopes of every node, and which nodes lie on the glass."""

    nodes: Floats  # (n, 2)
    ends: NDArray[np.int64]  # (beams, 2)
    depth: Floats
    slope_x: Floats
    slope_y: Floats
    bulge: Floats  # of each beam, its load over 24 times its stiffness, 1/mm³
    curvature: float  # that it would take without weight, 1/mm
    room: float  # down to the glass, mm
    grounded: tuple[int, ...]
    lifted: tuple[int, ...]  # feet that stand in the air

    @property
    def deepest_mm(self) -> float:
        """Of the whole frame."""
        return float(self.depth.max())

    def at(self, points: Sequence[Point]) -> Floats:
        """Depth of places of the frame (mm), each carried by the nearest beam as by a stiff arm.

        Along a beam it is Hermite's cubic and what an even load adds between clamped ends, q x² (l - x)² / (24 E I):
        exact for a beam. The arm has the curvature of its own. Nothing is deeper than the glass.
        """
        p = np.asarray(points, dtype=float).reshape(-1, 2)
        a, b = self.nodes[self.ends[:, 0]], self.nodes[self.ends[:, 1]]
        run = b - a
        along = np.einsum("pbk,bk->pb", p[:, None] - a[None], run) / np.einsum("bk,bk->b", run, run)
        along = np.clip(along, 0.0, 1.0)
        feet = a[None] + along[..., None] * run[None]
        off = np.linalg.norm(p[:, None] - feet, axis=2)
        pick = off.argmin(axis=1)
        rows = np.arange(len(p))
        t, at, length = along[rows, pick], feet[rows, pick], np.linalg.norm(run[pick], axis=1)
        one, two = self.ends[pick, 0], self.ends[pick, 1]
        way = run[pick] / length[:, None]
        slope = [way[:, 0] * self.slope_x[n] + way[:, 1] * self.slope_y[n] for n in (one, two)]
        w = (
            self.depth[one] * (1 - 3 * t**2 + 2 * t**3)
            + self.depth[two] * (3 * t**2 - 2 * t**3)
            + length * (slope[0] * (t - 2 * t**2 + t**3) + slope[1] * (t**3 - t**2))
            + self.bulge[pick] * (length**2 * t * (1 - t)) ** 2
        )
        gx = (1 - t) * self.slope_x[one] + t * self.slope_x[two]
        gy = (1 - t) * self.slope_y[one] + t * self.slope_y[two]
        arm = p - at
        arm -= np.einsum("pk,pk->p", arm, way)[:, None] * way
        arched = self.curvature / 2 * np.einsum("pk,pk->p", arm, arm)
        return np.asarray(np.minimum(w + arm[:, 0] * gx + arm[:, 1] * gy + arched, self.room), dtype=float)


def carrying(design: Design) -> list[Part]:
    """The parts that stand on the feet: the frame, or the carrier without its insert."""
    return [p for p in design.parts if p.in_frame and p.role is not Role.INSERT]


@dataclass(frozen=True, slots=True)
class Loads:
    """Weights in N, all taken as solid: what stands on the feet, lids and insert on it, film, glass and what else
    presses on the lids.
    """

    own: float
    loose: float
    film: float

    def share(self, own: float) -> float:
        """All of it over what stands on the feet, where that weighs ``own`` and the loose parts are filled alike."""
        return 1.0 if own <= 0 else 1.0 + self.loose / self.own + self.film / own


def _film_mm2(design: Design) -> float:
    """What the films of one kind cover."""
    return sum(window.film.width * window.film.height for window in design.mine)


def loads(job: Job, design: Design) -> Loads:
    """From the areas of the slabs; chamfers and lettering, some percent, are left out on both sides."""
    stands = carrying(design)
    each, heavy = 1e-9 * GRAVITY_M_S2, job.material.density_kg_m3
    extra = sum(made.pressing_n(job, design) for made in design.fitted)
    return Loads(
        each * heavy * sum(_solid_mm3(p) for p in stands),
        each * heavy * sum(_solid_mm3(p) for p in design.parts if p not in stands and not p.role.beside),
        sum(each * _film_mm2(design.of(one.kind)) * one.plate_mm * one.base.density_kg_m3 for one in job.each)
        + extra,
    )


def _solid_mm3(part: Part) -> float:
    return part.quantity * sum(region_area(s.region) * (s.z1 - s.z0) for s in part.slabs)


def _loaded(job: Job, design: Design, stand: Stand) -> Stand:
    """The same that carries its film and whatever lies on it."""
    own = sum(b.load * math.dist(stand.nodes[b.start], stand.nodes[b.end]) for b in stand.beams)
    return replace(stand, load_share=loads(job, design).share(own))


def stand_of(job: Job, design: Design) -> Stand | None:
    """The frame on its feet; None when it lies on the glass.

    Raises ``InputError`` when the holder is no frame of beams.
    """
    room = design.heights.foot_protrusion
    if len(design.feet) < 2 or room <= 0:
        return None
    stretches = stretches_of(carrying(design), openings_of(design), ((), ()))
    nodes, beams = beams_of(stretches, stuff_of(job))
    stand = _loaded(job, design, Stand(nodes, beams, (), room))
    for at in (at for foot in design.feet for at in foot.bears):
        stand = with_foot(stand, at)
    return stand


def flat_stand_of(job: Job, design: Design) -> Stand:
    """The frame on the glass: where it bows it stands on its four corners, and lies wherever its weight brings it down.

    Raises ``InputError`` when the holder is no frame of beams.
    """
    stretches = stretches_of(carrying(design), openings_of(design), ((), ()))
    nodes, beams = beams_of(stretches, stuff_of(job))
    stand = _loaded(job, design, Stand(nodes, beams, (), 0.0))
    if not beams:
        raise InputError("design", "(no rail)", "the frame has no rail to stand on")
    xs, ys = [x for x, _ in nodes], [y for _, y in nodes]
    corners = [(x, y) for x in (min(xs), max(xs)) for y in (min(ys), max(ys))]
    picked = (min(range(len(nodes)), key=lambda n: math.dist(nodes[n], c)) for c in corners)
    return replace(stand, feet=tuple(sorted(set(picked))))


def with_foot(stand: Stand, at: Point) -> Stand:
    """The same with one more foot: the nearest beam is parted there, and a short stiff arm reaches from it to the foot.

    Raises ``InputError`` when there is no beam.
    """
    if not stand.beams:
        raise InputError("design", "(no rail)", "the frame has no rail that a foot could stand under")
    nearest = [(_nearest(stand, beam, at), k) for k, beam in enumerate(stand.beams)]
    (_, share, spot), which = min(nearest)
    beam, nodes, beams = stand.beams[which], list(stand.nodes), list(stand.beams)
    near = NEAR_MM / math.dist(nodes[beam.start], nodes[beam.end])
    if share <= near or share >= 1 - near:
        node = beam.start if share < 0.5 else beam.end
    else:
        node = len(nodes)
        nodes.append(spot)
        beams[which : which + 1] = [replace(beam, end=node), replace(beam, start=node)]
    if math.dist(nodes[node], at) > NEAR_MM:
        nodes.append(at)
        stiff = ARM * max(beam.bending, beam.torsion)
        beams.append(Beam(node, len(nodes) - 1, stiff, stiff, 0.0))
        node = len(nodes) - 1
    return replace(stand, nodes=tuple(nodes), beams=tuple(beams), feet=(*stand.feet, node))


def _nearest(stand: Stand, beam: Beam, at: Point) -> tuple[float, float, Point]:
    (ax, ay), (bx, by) = stand.nodes[beam.start], stand.nodes[beam.end]
    dx, dy = bx - ax, by - ay
    share = min(1.0, max(0.0, ((at[0] - ax) * dx + (at[1] - ay) * dy) / (dx * dx + dy * dy)))
    spot = (ax + share * dx, ay + share * dy)
    return math.dist(spot, at), share, spot


def lying(stand: Stand, stiffness_left: float = 1.0, curvature_per_m: float = 0.0) -> Lying:
    """The frame as it lies, with what is left of its modulus and the curvature it would take without weight.

    ``curvature_per_m`` is positive where the upper face is the warmer one: the middle rises.

    Raises ``NotConverged`` when it finds no rest (a frame that tips over its feet).
    """
    grid = flexible(stand.nodes, stand.beams, stand.feet)
    kappa = curvature_per_m / 1000
    # all over what is left of the modulus, so that one factor serves cold, warm and aged
    load = stand.load_share / stiffness_left * grid.weight + kappa * grid.arch
    found = at_rest(grid, load, stand.room_mm)
    return Lying(
        np.asarray(stand.nodes, dtype=float),
        np.asarray([(b.start, b.end) for b in stand.beams], dtype=np.int64),
        found.answer[::3],
        found.answer[1::3],
        found.answer[2::3],
        np.asarray([stand.load_share * b.load / (24 * stiffness_left * b.bending) for b in stand.beams]),
        kappa,
        stand.room_mm,
        found.ground,
        tuple(sorted(set(stand.feet) - set(found.feet))),
    )
