"""In which order to cut a sheet, how far the beam or blade goes, and how long that takes.

Marks first, then from the inside out: a contour is cut only after everything that lies inside it, as a piece that
has dropped out can no longer be cut. Among those that are ready, the nearest comes next.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import shapely

from holders.core.errors import InputError
from holders.design.parts.sections import polygon
from holders.facts.habits import habit
from holders.facts.models import Route
from holders.geometry.outline import Outline, Point, length
from holders.workshop.nest.nest import Nesting, Placement, placed, placed_point

Kind = Literal["mark", "inner", "outer"]


@dataclass(frozen=True, slots=True)
class Cut:
    """One path on the sheet: a closed outline to cut, or the strokes of a text to mark."""

    kind: Kind
    part: str
    copy: int
    outline: Outline | None
    strokes: tuple[tuple[Point, ...], ...] = ()
    depth: int = 0  # in how many drop-outs of other pieces it lies

    @property
    def start(self) -> Point:
        """Where the path begins."""
        if self.outline is not None:
            return self.outline.vertices[0].x, self.outline.vertices[0].y
        return self.strokes[0][0]

    @property
    def end(self) -> Point:
        """Where it ends: a closed path where it began."""
        return self.start if self.outline is not None else self.strokes[-1][-1]

    @property
    def length_mm(self) -> float:
        """Length of cut or mark."""
        if self.outline is not None:
            return length(self.outline)
        return sum(math.dist(a, b) for stroke in self.strokes for a, b in pairwise(stroke))


@dataclass(frozen=True, slots=True)
class Speeds:
    """How fast the machine or hand goes, mm/s, and seconds for each start of a cut."""

    cut: float
    mark: float
    travel: float
    pierce_s: float


@dataclass(frozen=True, slots=True)
class SheetCuts:
    """One sheet's paths in order, lengths (mm) and time (s)."""

    sheet: int
    cuts: tuple[Cut, ...]
    cut_mm: float
    mark_mm: float
    travel_mm: float
    seconds: float


def usual_speeds(route: Route, thickness_mm: float) -> Speeds:
    """Workshop speeds, slower in proportion to thickness.

    Raises ``InputError`` for route print.
    """
    if route == "laser":
        return Speeds(
            habit("laser-cut-speed") * 3.0 / max(thickness_mm, 1.0),
            habit("laser-mark-speed"),
            habit("laser-travel-speed"),
            habit("laser-pierce-seconds"),
        )
    if route == "knife":
        speed = habit("knife-cut-speed") / max(thickness_mm, 0.5)
        return Speeds(speed, speed, 1e9, 0.0)  # shifting the ruler is in the speed
    raise InputError("route", route, "only laser and knife cut sheets")


def cut_order(nesting: Nesting, speeds: Speeds) -> tuple[SheetCuts, ...]:
    """Every sheet's cuts, inner before outer."""
    found = []
    for number in range(len(nesting.sheets)):
        cuts = _paths(nesting, number)
        marks = [c for c in cuts if c.kind == "mark"]
        contours = [c for c in cuts if c.kind != "mark"]
        ordered = _walk(marks, [frozenset()] * len(marks), (0.0, 0.0))
        here = ordered[-1].end if ordered else (0.0, 0.0)
        ordered += _walk(contours, _inside(contours), here)
        found.append(_told(number, ordered, speeds))
    return tuple(found)


def _paths(nesting: Nesting, number: int) -> list[Cut]:
    found = []
    for piece, spot in zip(nesting.pieces, nesting.placements, strict=True):
        if spot.sheet != number:
            continue
        deep = depth_of(nesting, spot)
        for text in piece.lettering:
            strokes = tuple(tuple(placed_point(p, piece, spot) for p in stroke) for stroke in text.strokes)
            if strokes:
                found.append(Cut("mark", spot.part, spot.copy, None, strokes, deep))
        found += [
            Cut("inner", spot.part, spot.copy, placed(hole, piece, spot), depth=deep) for hole in piece.inner
        ]
        found.append(Cut("outer", spot.part, spot.copy, placed(piece.outer, piece, spot), depth=deep))
    return found


def depth_of(nesting: Nesting, spot: Placement) -> int:
    """In how many drop-outs, one within the other, a piece lies; 0 on the bare sheet."""
    deep = 0
    while spot.inside is not None:
        spot, deep = nesting.placements[spot.inside], deep + 1
    return deep


def _inside(cuts: Sequence[Cut]) -> list[frozenset[int]]:
    """For each closed path the indices of those that lie inside it."""
    shapes = [polygon(c.outline, 0.05) for c in cuts if c.outline is not None]
    tree = shapely.STRtree(shapes)
    found: list[frozenset[int]] = []
    for k, shape in enumerate(shapes):
        within = [
            int(j)
            for j in tree.query(shape)
            if j != k and shapes[j].area < shape.area and shape.contains(shapes[j].representative_point())
        ]
        found.append(frozenset(within))
    return found


def _walk(cuts: Sequence[Cut], before: Sequence[frozenset[int]], here: Point) -> list[Cut]:
    """The nearest path whose inside is done comes next."""
    left, found = dict(enumerate(cuts)), []
    while left:
        ready = [k for k in left if not any(j in left for j in before[k])]
        k = min(ready, key=lambda k: (math.dist(here, left[k].start), k))
        here = left[k].end
        found.append(left.pop(k))
    return found


def _told(number: int, cuts: list[Cut], speeds: Speeds) -> SheetCuts:
    cut = sum(c.length_mm for c in cuts if c.kind != "mark")
    mark = sum(c.length_mm for c in cuts if c.kind == "mark")
    here, travel, starts = (0.0, 0.0), 0.0, 0
    for c in cuts:
        travel += math.dist(here, c.start)
        travel += sum(math.dist(a[-1], b[0]) for a, b in pairwise(c.strokes))
        starts += c.kind != "mark"
        here = c.end
    seconds = cut / speeds.cut + mark / speeds.mark + travel / speeds.travel + starts * speeds.pierce_s
    return SheetCuts(number, tuple(cuts), cut, mark, travel, seconds)
