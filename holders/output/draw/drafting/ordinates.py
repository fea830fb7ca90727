"""Running dimensions from one origin along an edge of a view (ISO 129-1: superimposed running dimensioning).

One dimension line runs along the edge from a circle at the origin; every coordinate gets an extension line that crosses
it, an oblique stroke there, its number and what it is. Beyond it, extension lines of neighbours too close for their
lettering are drawn aside, so that no lettering meets a line.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Literal

from holders.core.lengths import measure
from holders.geometry.outline import Point
from holders.output.draw.canvas import DIMENSION, Anchor, Pen, Picture, text_width
from holders.output.draw.drafting.lettering import PITCH, TEXT, spread
from holders.output.typeface import CAPITAL

Side = Literal["below", "above", "left", "right"]
GAP, STRAIGHT, ASIDE, END, LETTER = 0.8, 1.9, 2.4, 0.6, 0.7  # mm of paper, from the view outward
REACH = GAP + STRAIGHT + ASIDE + END + LETTER  # where lettering begins
ALIKE_MM = 0.02
SLANTED = 0.02  # mm aside; less is straight
LINE_MM = GAP + 1.1  # from the view to the dimension line, within the straight part of the extension lines
STROKE = Pen(0.3)
STROKE_MM, ORIGIN_MM = 0.6, 0.7  # half an oblique stroke, each way; radius of the circle at the origin


class Spare(Enum):
    """What a full row may leave out."""

    JOINT = "joint"
    SPOT = "pin"
    POCKET = "pocket"
    WALL = "wall"


@dataclass(frozen=True, slots=True)
class Mark:
    """A coordinate, mm from the origin, and what lies there; ``spare`` is what it may be left to the notes as."""

    at: float
    words: str
    spare: Spare | None = None


@dataclass(frozen=True, slots=True)
class Edge:
    """The edge of a view that dimensions stand on.

    ``place`` is its paper coordinate across the row, ``to_paper`` gives that along the row, and lettering stays
    between ``low`` and ``high`` along it.
    """

    side: Side
    place: float
    to_paper: Callable[[float], float]
    low: float
    high: float


def merged(marks: Iterable[Mark]) -> list[Mark]:
    """Marks in ascending order, those at one place as one with all their words."""
    found: list[Mark] = []
    for mark in sorted(marks, key=lambda m: m.at):
        if found and mark.at - found[-1].at < ALIKE_MM:
            words = found[-1].words.split(", ")
            words += [mark.words] if mark.words and mark.words not in words else []
            alike = mark.words == found[-1].words
            spare = mark.spare if alike else None
            found[-1] = Mark(found[-1].at, ", ".join(w for w in words if w), spare)
        else:
            found.append(mark)
    return found


def unlike(marks: Iterable[Mark]) -> list[Mark]:
    """Marks in ascending order, each place and word once."""
    found = {(round(mark.at / ALIKE_MM), mark.words): mark for mark in marks}
    return sorted(found.values(), key=lambda m: m.at)


def label(mark: Mark, side: Side, places: int = 2) -> str:
    """The lettering of a mark, its number toward the view."""
    value = measure(mark.at, places)
    return f"{value} {mark.words}".strip() if side in ("above", "right") else f"{mark.words} {value}".strip()


def depth(marks: Sequence[Mark], side: Side, places: int = 2) -> float:
    """How far the row reaches away from the view, mm."""
    return REACH + max((text_width(label(m, side, places), TEXT) for m in marks), default=0.0)


def room_for(edge: Edge) -> int:
    """How many marks the row takes."""
    return 1 + int((edge.high - edge.low) / PITCH + 1e-6)


def row(picture: Picture, marks: Sequence[Mark], edge: Edge, places: int = 2) -> None:
    """Draw the marks (merged, ascending) on an edge, with at most so many decimal places."""
    upright = edge.side in ("left", "right")
    out = -1.0 if edge.side in ("left", "above") else 1.0
    wanted = [(edge.to_paper(mark.at), mark) for mark in marks]
    wanted.sort(key=lambda pair: pair[0])
    spots = spread([at for at, _ in wanted], PITCH, edge.low, edge.high)

    def point(along: float, away: float) -> Point:
        across = edge.place + out * away
        return (across, along) if upright else (along, across)

    _dimension_line(picture, [at for at, _ in wanted], edge, point)
    for (at, mark), spot in zip(wanted, spots, strict=True):
        turn = GAP + STRAIGHT
        stroke = [point(at, GAP), point(at, turn), point(spot, turn + ASIDE), point(spot, turn + ASIDE + END)]
        if abs(at - spot) < SLANTED:
            stroke = [stroke[0], stroke[-1]]
        picture.strokes([stroke], DIMENSION)
        x, y = point(spot, REACH)
        half = TEXT * CAPITAL / 2
        anchor: Anchor = "end" if edge.side in ("below", "left") else "start"
        if upright:
            picture.text((x, y + half), label(mark, edge.side, places), TEXT, anchor)
        else:
            picture.text((x + half, y), label(mark, edge.side, places), TEXT, anchor, turned=True)


def _dimension_line(
    picture: Picture, places: Sequence[float], edge: Edge, point: Callable[[float, float], Point]
) -> None:
    """From the origin, where the view shows it, to the farthest of the places; an oblique stroke at each."""
    if not places:
        return
    origin = edge.to_paper(0.0)
    seen = edge.low - SLANTED <= origin <= edge.high + SLANTED
    ends = [*places, origin] if seen else list(places)
    picture.strokes([[point(min(ends), LINE_MM), point(max(ends), LINE_MM)]], DIMENSION)
    for at in places:
        if seen and abs(at - origin) < SLANTED:
            continue
        ticks = [point(at + way * STROKE_MM, LINE_MM - way * STROKE_MM) for way in (-1.0, 1.0)]
        picture.strokes([ticks], STROKE)
    if seen:
        picture.circle(point(origin, LINE_MM), ORIGIN_MM, DIMENSION, "#fff")
