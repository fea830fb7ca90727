"""What is written on pieces: the same letter on both sides of every joint, and the whole's lettering where it fits."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from holders.design.lettering import PAD_MM, strokes_in
from holders.design.model import Groove, Joint, Part, Rect
from holders.design.sections import groove_area, polygon, section
from holders.facts.models import Process

SKIN_MM = 1e-3
EDGE_MM = 0.4  # plain top left around lettering
ASIDE_MM = (0.0, 0.5, -0.5, 1.0, -1.0, 2.0, -2.0)  # a mark may stand this far off its joint's middle line
MARK_REACH_MM = 40.0  # how far from its joint a mark may stand
LEAST_MARK_MM = 2.2  # capitals lower than this run together
ROOMY_MM = 1.5  # wished around a text besides
MOVE_STEP_MM = 2.0
MOVE_REACH_MM = 200.0
AT_ONCE = 8  # places tried together at first; each further lot is twice as large


@dataclass
class _Top:
    """The plain top of a piece and what is already written on it."""

    area: BaseGeometry
    height: float
    written: list[Groove]

    def write(self, groove: Groove) -> None:
        """Write it; its place is then taken."""
        self.written.append(groove)
        self.area = self.area.difference(groove_area(groove).buffer(EDGE_MM))
        shapely.prepare(self.area)


def lettered(
    whole: Part,
    pieces: Sequence[Part],
    joints: Sequence[Joint],
    rules: Process,
    strips: Sequence[Rect] = (),
) -> tuple[list[Part], list[Joint]]:
    """The pieces with their marks and the whole's lettering; the joints, told whether both sides could be marked.

    Lettering that a seam would cut is moved along, or to another of the ``strips``; what finds no room is left out.
    """
    sockets = shapely.union_all([polygon(joint.socket) for joint in joints])
    tops = {p.name: _Top(_plain(section(p, p.z1 - SKIN_MM), sockets), p.z1, []) for p in pieces}
    told = []
    for joint in joints:
        marks = [_mark(tops[name], joint, side, rules) for name, side in ((joint.low, -1), (joint.high, 1))]
        if all(marks):
            for name, mark in zip((joint.low, joint.high), marks, strict=True):
                if mark is not None:
                    tops[name].write(mark)
        told.append(replace(joint, marked=all(marks)))
    for groove in whole.grooves:
        found = _move(groove, list(tops.values()), ROOMY_MM) or _move(groove, list(tops.values()), 0.0)
        found = found or _elsewhere(groove, list(tops.values()), strips, rules)
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
        spots = ((aside, side * away) if along_y else (side * away, aside) for away, aside in _spots(size))
        found = _first(groove_area(groove), spots, [top])
        if found is not None:
            return _moved(groove, *found[1])
    return None


def _first(
    shape: BaseGeometry, moves: Iterable[tuple[float, float]], tops: Sequence[_Top]
) -> tuple[_Top, tuple[float, float]] | None:
    """The first move that brings a shape to where a top has room for it, and that top.

    Many moves are tried in one call, at first with the shape's outermost corners alone, which is what makes it quick.
    """
    left, count = iter(moves), AT_ONCE
    corners = shapely.get_coordinates(shape)
    if not len(corners):
        return None
    corners = corners[np.unique([*corners.argmin(axis=0), *corners.argmax(axis=0)])]
    while tops and (some := list(islice(left, count))):
        x, y = (corners[:, k] + np.array(some)[:, k, None] for k in (0, 1))
        likely = np.stack([shapely.intersects_xy(top.area, x, y).all(axis=1) for top in tops], axis=1)
        for move, top in np.argwhere(likely):
            if shapely.contains(tops[top].area, translate(shape, *some[move])):
                return tops[top], some[move]
        count *= 2
    return None


def _spots(size: float) -> Iterator[tuple[float, float]]:
    """Places for a mark, as (away from the seam, aside), the nearest first."""
    for k in range(int(MARK_REACH_MM)):
        for aside in ASIDE_MM:
            yield EDGE_MM + size / 2 + k, aside


def _moved(groove: Groove, dx: float, dy: float) -> Groove:
    return replace(
        groove, strokes=tuple(tuple((x + dx, y + dy) for x, y in stroke) for stroke in groove.strokes)
    )


def _move(groove: Groove, tops: Sequence[_Top], room: float) -> tuple[_Top, Groove] | None:
    """A text at its place, or as near along its line as a piece's top takes it with ``room`` more around it."""
    shape = groove_area(groove).buffer(room) if room else groove_area(groove)
    x0, y0, x1, y1 = shape.bounds
    flat = x1 - x0 >= y1 - y0
    moves = ((shift, 0.0) if flat else (0.0, shift) for shift in _shifts())
    found = _first(shape, moves, tops)
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


def _shifts() -> Iterator[float]:
    yield 0.0
    for k in range(1, int(MOVE_REACH_MM / MOVE_STEP_MM) + 1):
        yield k * MOVE_STEP_MM
        yield -k * MOVE_STEP_MM
