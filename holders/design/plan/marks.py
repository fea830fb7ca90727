"""What is written on pieces: the same letter on both sides of every joint, and the whole's lettering where it fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.model import Groove, Joint, Part, Rect
from holders.design.parts.lettering import PAD_MM, strokes_in
from holders.design.parts.sections import groove_area, polygon, section
from holders.facts.models import Process

SKIN_MM = 1e-3
EDGE_MM = 0.4  # plain top left around lettering
ASIDE_MM = (0.0, 0.5, -0.5, 1.0, -1.0, 2.0, -2.0)  # a mark may stand this far off its joint's middle line
MARK_REACH_MM = 40.0  # how far from its joint a mark may stand
LEAST_MARK_MM = 2.2  # capitals lower than this run together
ROOMY_MM = 1.5  # wished around a text besides
MOVE_STEP_MM = 2.0
MOST_STEPS = 100  # either way
AT_ONCE = 32  # places tried together at first; each further lot is twice as large

Array = np.ndarray

# places for a mark, as (away from the seam, aside), the nearest first
SPOTS = np.array([(away, aside) for away in range(int(MARK_REACH_MM)) for aside in ASIDE_MM])
# a text's way along its line: none, then to and fro
SHIFTS = MOVE_STEP_MM * np.array([(0, 0), *((k, 0) for n in range(1, MOST_STEPS + 1) for k in (n, -n))])
MOST_BESIDE = 4  # steps of a pocket's number, which stays beside its pocket


@dataclass
class _Top:
    """The plain top of a piece and what is already written on it."""

    area: BaseGeometry
    height: float
    written: list[Groove] = field(default_factory=list)
    taken: list[BaseGeometry] = field(default_factory=list)

    def write(self, groove: Groove) -> None:
        """Write it; its place is then taken."""
        self.written.append(groove)
        self.taken.append(groove_area(groove, EDGE_MM))

    def may_take(self, corners: Array, moves: Array) -> Array:
        """Which of the moves bring all corners of a shape onto the plain top; most fail at the first."""
        left = np.ones(len(moves), dtype=bool)
        for corner in corners:
            if not left.any():
                break
            left[left] = shapely.intersects_xy(self.area, *(moves[left] + corner).T)
        return left

    def takes(self, shape: BaseGeometry) -> bool:
        """Whether a shape has room there."""
        return bool(shapely.contains(self.area, shape)) and not any(
            shapely.intersects(other, shape) for other in self.taken
        )


def lettered(
    whole: Part,
    pieces: Sequence[Part],
    joints: Sequence[Joint],
    rules: Process,
    strips: Sequence[Rect] = (),
) -> tuple[list[Part], list[Joint]]:
    """The pieces with their marks and the whole's lettering; the joints, told whether both sides could be marked.

    Lettering that a seam would cut is moved along, or to another of the ``strips``; a pocket's number is moved a
    little along its pocket. What finds no room is left out.
    """
    sockets = shapely.union_all([polygon(joint.socket) for joint in joints])
    tops = {p.name: _Top(_plain(section(p, p.z1 - SKIN_MM), sockets), p.z1) for p in pieces}
    told = []
    for joint in joints:
        low = _mark(tops[joint.low], joint, -1, rules)
        high = None if low is None else _mark(tops[joint.high], joint, 1, rules)
        if low is not None and high is not None:
            tops[joint.low].write(low)
            tops[joint.high].write(high)
        told.append(replace(joint, marked=high is not None))
    for groove in whole.grooves:
        found = _move(groove, list(tops.values()), ROOMY_MM) or _move(groove, list(tops.values()), 0.0)
        if found is None and not (groove.fixed or groove.beside):
            found = _elsewhere(groove, list(tops.values()), strips, rules)
        if found is not None:
            found[0].write(found[1])
    return [replace(p, grooves=tuple(tops[p.name].written)) for p in pieces], told


def _plain(top: BaseGeometry, sockets: BaseGeometry) -> BaseGeometry:
    """What of a top is clear of its edges and of the joints."""
    area = top.difference(sockets).buffer(-EDGE_MM)
    shapely.prepare(area)
    return area


def _mark(top: _Top, joint: Joint, side: int, rules: Process) -> Groove | None:
    """The joint's letter on one piece, as large and as near as its place allows."""
    (x0, y0, x1, y1), (x, y) = polygon(joint.socket).bounds, joint.root
    along_y = abs(y - (y0 + y1) / 2) > abs(x - (x0 + x1) / 2)
    for size in (rules.letter_mm, rules.letter_least_mm, LEAST_MARK_MM):
        box = size + 2 * PAD_MM
        strokes = strokes_in(joint.letter, Rect(x - box / 2, y - box / 2, box, box), size, size)
        if strokes is None:
            continue
        groove = Groove(joint.letter, strokes, rules.groove_width_mm, rules.groove_depth_mm, top.height)
        away, aside = EDGE_MM + size / 2 + SPOTS[:, 0], SPOTS[:, 1]
        spots = np.stack((aside, side * away) if along_y else (side * away, aside), axis=1)
        found = _first(groove_area(groove), spots, [top])
        if found is not None:
            return _moved(groove, *found[1])
    return None


def _first(
    shape: BaseGeometry, moves: Array, tops: Sequence[_Top]
) -> tuple[_Top, tuple[float, float]] | None:
    """The first move (of n, as n x 2) that brings a shape to where a top has room for it, and that top.

    Many moves are tried in one call, at first with the shape's outermost corners alone, which is what makes it quick.
    """
    corners = shapely.get_coordinates(shape)
    if not len(corners) or not tops:
        return None
    corners = corners[np.unique([*corners.argmin(axis=0), *corners.argmax(axis=0)])]
    start, count = 0, AT_ONCE
    while start < len(moves):
        some = moves[start : start + count]
        for move, top in np.argwhere(np.stack([top.may_take(corners, some) for top in tops], axis=1)):
            if tops[top].takes(shapely.transform(shape, partial(np.add, some[move]))):
                return tops[top], (float(some[move][0]), float(some[move][1]))
        start, count = start + count, 2 * count
    return None


def _moved(groove: Groove, dx: float, dy: float) -> Groove:
    return replace(
        groove, strokes=tuple(tuple((x + dx, y + dy) for x, y in stroke) for stroke in groove.strokes)
    )


def _move(groove: Groove, tops: Sequence[_Top], room: float) -> tuple[_Top, Groove] | None:
    """A text at its place, or as near along its line as a piece's top takes it with ``room`` more around it."""
    shape = groove_area(groove, room)
    x0, y0, x1, y1 = shape.bounds
    flat = groove.beside == "x" or (not groove.beside and x1 - x0 >= y1 - y0)
    shifts = SHIFTS[: 1 if groove.fixed else 1 + 2 * MOST_BESIDE if groove.beside else len(SHIFTS)]
    found = _first(shape, shifts if flat else shifts[:, ::-1], tops)
    return None if found is None else (found[0], _moved(groove, *found[1]))


def _elsewhere(
    groove: Groove, tops: Sequence[_Top], strips: Sequence[Rect], rules: Process
) -> tuple[_Top, Groove] | None:
    """The text set anew in one of the strips, as large as it allows, and moved along it."""
    for strip in strips:
        strokes = strokes_in(groove.text, strip, rules.letter_mm, rules.letter_least_mm)
        if strokes is not None:
            found = _move(replace(groove, strokes=strokes), tops, 0.0)
            if found is not None:
                return found
    return None
