"""What besides the frame is held in the hand: lids with the steel on them, inserts, and a carrier without its insert.

Each is a frame of its own, held by one edge as the holder is (:mod:`holders.workshop.stiffness.stiffness`): the hand
takes the edge by which it sags least. Pieces of a split lid count as one, glued.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely

from holders.core.errors import InputError
from holders.design.model import EDGES, Design, Edge, Part, Rect, Role, Seam
from holders.design.parts.members import SectionMaterial, stretches_of
from holders.design.parts.sections import area_of
from holders.design.parts.steel import LaidBar, bars_of, bars_on
from holders.facts.habits import habit
from holders.workshop.stiffness.stiffness import InHand, grip_lines, judge, sag_by_two, sag_of

GAP_MM = 0.6  # between pieces of one lid: the play of a joint, and more
LEAST_OPENING_MM = 3.0  # less is no opening but the play of a joint


@dataclass(frozen=True, slots=True)
class Loose:
    """A part, or the pieces of one, that a hand holds by itself; ``bars`` of steel lie on it."""

    name: str
    parts: tuple[Part, ...]
    bars: tuple[LaidBar, ...] = ()


def loose_parts(design: Design) -> tuple[Loose, ...]:
    """Everything that a hand holds by itself besides the whole frame."""
    bars, found = bars_of(design), []
    for pieces in _joined(design, [part for part in design.parts if part.role is Role.LID]):
        mine = tuple(bar for piece in pieces for bar in bars_on(piece, bars))
        found.append(Loose(_named("lid", pieces, design), pieces, mine))
    if any(part.role is Role.INSERT for part in design.parts):
        for role in (Role.INSERT, Role.CARRIER):
            mine_too = [part for part in design.parts if part.role is role]
            found += [Loose(role.value, pieces) for pieces in _joined(design, mine_too)]
    return tuple(found)


def lid_across(design: Design, seam: Seam) -> Loose:
    """The lid that a seam goes through: its pieces, and the steel on it."""
    names = {name for joint in seam.joints for name in (joint.low, joint.high)}
    return next(one for one in loose_parts(design) if names & {part.name for part in one.parts})


def held_loose(stuff: SectionMaterial, one: Loose) -> InHand:
    """How it keeps its shape by the edge that suits it best.

    Raises ``InputError`` where it is no frame, or can be held nowhere.
    """
    openings = openings_in(one.parts)
    held, why = [], None
    for edge in EDGES:
        try:
            members = stretches_of(one.parts, openings, grip_lines(one.parts, edge))
            sag, length = sag_of(members, stuff, edge, one.bars)
        except InputError as error:
            why = error
            continue
        held.append((sag / (habit("hand-sag-share") * length), edge, members))
    if not held:
        raise why or InputError("design", one.name, "nothing to hold it by")
    _, edge, members = min(held, key=lambda each: each[0])
    thickness = max(part.z1 for part in one.parts) - min(part.z0 for part in one.parts)
    return judge(members, stuff, edge, thickness, one.bars, one.name)


def by_two_edges(stuff: SectionMaterial, one: Loose) -> tuple[tuple[str, float], ...]:
    """By which two opposite edges it keeps its shape when both are held, and how far it then sags, mm."""
    pairs: tuple[tuple[Edge, Edge], ...] = (("head", "foot"), ("left", "right"))
    found = []
    for pair in pairs:
        try:
            members = stretches_of(one.parts, openings_in(one.parts), grip_lines(one.parts, pair[0]))
            sag, length = sag_by_two(members, stuff, pair, one.bars)
        except InputError:
            continue
        if sag <= habit("hand-sag-share") * length:
            found.append((" and ".join(pair), sag))
    return tuple(found)


def openings_in(parts: Sequence[Part]) -> tuple[Rect, ...]:
    """The openings of a part, or of the pieces of one, through all its height."""
    whole = shapely.union_all([area_of(slab.region, 0.05) for part in parts for slab in part.slabs])
    whole = whole.buffer(GAP_MM / 2, join_style="mitre").buffer(-GAP_MM / 2, join_style="mitre")
    found = []
    for shape in getattr(whole, "geoms", [whole]):
        for ring in shape.interiors:
            x0, y0, x1, y1 = ring.bounds
            if min(x1 - x0, y1 - y0) >= LEAST_OPENING_MM:
                found.append(Rect(x0, y0, x1 - x0, y1 - y0))
    return tuple(found)


def _joined(design: Design, parts: Sequence[Part]) -> Iterator[tuple[Part, ...]]:
    """The parts, those that joints hold together as one."""
    groups = [{part.name} for part in parts]
    for joint in (joint for seam in design.seams for joint in seam.joints):
        met = [group for group in groups if group & {joint.low, joint.high}]
        if len(met) > 1:
            groups = [group for group in groups if group not in met] + [set().union(*met)]
    for group in groups:
        yield tuple(part for part in parts if part.name in group)


def _named(what: str, pieces: Sequence[Part], design: Design) -> str:
    several = len({part.name for part in design.parts if part.role is Role.LID}) > len(pieces)
    return f"{what} ({pieces[0].title or pieces[0].name})" if several else what
