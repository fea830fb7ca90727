"""The number of every pocket beside it, in a holder for several films; with a pointer where it might mean another."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import product
from typing import Literal

import numpy as np
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from holders.design.model import Cut, Edge, Groove, Part, Rect
from holders.design.parts.lettering import PAD_MM, strokes_in
from holders.design.parts.sections import polygon
from holders.facts.models import Process
from holders.geometry.outline import Point

SIDES: tuple[Edge, ...] = ("foot", "head", "left", "right")  # of the pocket, the first of equals
PLAIN_MM = 0.4  # plain top around a number's strokes
ROOMY_MM = 1.0  # more of it, where there is room
SLACK_MM = 0.05
AWAY_MM = (0.0, 1.0, 3.0)  # further from its pocket than it must be
STEP_MM, MOST_STEPS = 2.5, 40  # to either side of the middle of the pocket's edge
SURE = 2.0  # another pocket that is not so many times as far away might be meant
TIP_MM = (1.6, 1.8)  # of the pointer, from the point back and across it
TIP_GAP_MM = 0.8  # between pointer and number

Strokes = tuple[tuple[Point, ...], ...]
Array = np.ndarray


@dataclass(frozen=True, slots=True)
class _Way:
    """How numbers stand: on which side of their pockets, how high and how far away, mm."""

    side: Edge
    size: float
    gap: float


def text_of(number: int) -> str:
    """What the lettering of a pocket's number is called."""
    return f"pocket number {number}"


def texts(count: int) -> tuple[str, ...]:
    """The same for all pockets of a holder; a single one has no number."""
    return tuple(text_of(number) for number in range(1, count + 1)) if count > 1 else ()


def listed(numbers: Sequence[int]) -> str:
    """Numbers in words of a sentence: ``3``, ``3 and 5``, ``1 to 12``, ``1, 3 and 7``."""
    if len(numbers) > 2 and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"{numbers[0]} to {numbers[-1]}"
    *most, last = map(str, numbers)
    return f"{', '.join(most)} and {last}" if most else last


def together(found: Sequence[str], count: int) -> list[str]:
    """Texts in their order, those that are numbers of a holder's ``count`` pockets as one in the place of the first."""
    numbers = [number for number, text in enumerate(texts(count), 1) if text in found]
    if not numbers:
        return list(found)
    first, mine = text_of(numbers[0]), set(texts(count))
    words = first if len(numbers) == 1 else f"pocket numbers {listed(numbers)}"
    return [words if text == first else text for text in found if text == first or text not in mine]


def in_words(missing: Sequence[str], count: int) -> str:
    """Lettering that found no room as words of a sentence."""
    return " and ".join(f'"{text}"' for text in together(missing, count))


def clear_mm(rules: Process) -> float:
    """How far the centre lines of a number's strokes stay from the edges of the plain top, mm."""
    return PLAIN_MM + rules.groove_width_mm / 2


def covered(parts: Sequence[Part], cuts: Sequence[Cut]) -> BaseGeometry:
    """What of a frame's top lies below other parts, or is cut away."""
    shapes = [
        shapely.affinity.translate(polygon(slab.region.outer), dx, dy)
        for part in parts
        if not (part.in_frame or part.role.beside)
        for slab in part.slabs
        for dx, dy in part.places
    ]
    return shapely.union_all([*shapes, *(polygon(cut.outline) for cut in cuts if not cut.chamfer)])


def numbered(rooms: Sequence[Rect], plain: BaseGeometry, rules: Process, z_top: float) -> tuple[Groove, ...]:
    """The numbers of the pockets that find room, counted from 1 in the order of ``rooms``.

    ``plain`` is what of the frame's top may take lettering. As many as can stand on the same side of their pockets and
    as far along it; those that find no room there stand elsewhere.
    """
    keep = clear_mm(rules)
    free, open_yet = plain.buffer(-keep), dict[_Way, Array]()
    left, found = list(range(1, len(rooms) + 1)), dict[int, Groove]()
    while left and not free.is_empty:
        side, best = _most(left, tuple(rooms), free, rules, open_yet)
        if not best:
            break
        line: Literal["x", "y"] = "x" if side in ("foot", "head") else "y"
        wide, deep = rules.groove_width_mm, rules.groove_depth_mm
        for number, strokes in best.items():
            found[number] = Groove(text_of(number), strokes, wide, deep, z_top, beside=line)
        left = [number for number in left if number not in best]
        taken = [shapely.MultiLineString(strokes).envelope.buffer(2 * keep) for strokes in best.values()]
        free = free.difference(shapely.union_all(taken))
    return tuple(found[number] for number in sorted(found))


def _most(
    left: Sequence[int],
    rooms: tuple[Rect, ...],
    free: BaseGeometry,
    rules: Process,
    open_yet: dict[_Way, Array],
) -> tuple[Edge, dict[int, Strokes]]:
    """The numbers that find room in the way that takes most of them, the first such way, and on which side.

    ``open_yet`` keeps of every way the places (m, n) that were free when last looked at: the area only gets smaller.
    """
    frees = {0.0: free, ROOMY_MM: free.buffer(-ROOMY_MM)}
    for area in frees.values():
        shapely.prepare(area)
    best: dict[int, Strokes] = {}
    where: Edge = SIDES[0]
    least, columns = clear_mm(rules) + SLACK_MM, np.array(left) - 1
    sizes = (rules.letter_mm, rules.letter_least_mm)
    for size, more, away, side in product(sizes, (ROOMY_MM, 0.0), AWAY_MM, SIDES):
        way = _Way(side, size, least + more + away)
        places = _places(rooms, way)
        every = open_yet.setdefault(way, places.beside.copy())
        fits = every[:, columns]
        looked = fits & (fits.sum(axis=1) > len(best))[:, None]  # fewer change nothing
        fits[looked] = shapely.contains(frees[more], shapely.box(*places.boxes[:, columns][looked].T))
        every[:, columns] = fits
        count = (fits & looked).sum(axis=1)
        row = int(count.argmax())  # the nearest to the middle of equals
        if count[row] > len(best):
            where, best = side, {}
            for number, k in zip(np.array(left)[fits[row]], columns[fits[row]], strict=True):
                digits, _ = _drawn(str(number), size, side if places.pointed[row, k] else None)
                best[int(number)] = _moved(digits, places.middles[row, k])
        if len(best) == len(left):
            break
    return where, best


@dataclass(frozen=True, slots=True, eq=False)
class _Places:
    """Of m places along the edges of n pockets each: middles (m, n, 2) and boxes (m, n, 4) of their numbers, which of
    them have a pointer, as another pocket is nearly as near, and which are not past the end of their pocket's edge.
    """

    middles: Array
    boxes: Array
    pointed: Array
    beside: Array


@lru_cache(maxsize=96)
def _places(rooms: tuple[Rect, ...], way: _Way) -> _Places:
    """Where the numbers of all pockets might stand; remembered, since a design asks several times."""
    edges = np.array([(r.x, r.y, r.right, r.top) for r in rooms])
    numbers = range(1, len(rooms) + 1)
    (middles, boxes), (two_middles, two_boxes) = (
        _placed(numbers, edges, way, pointer) for pointer in (False, True)
    )
    beside = _along_edge(boxes, edges, way.side)
    others = _apart(boxes[beside][:, None], edges)
    others[np.arange(len(others)), np.nonzero(beside)[1]] = np.inf
    pointed = np.zeros_like(beside)
    pointed[beside] = others.min(axis=-1) < SURE * way.gap
    middles, boxes = (
        np.where(pointed[..., None], two, one) for one, two in ((middles, two_middles), (boxes, two_boxes))
    )
    return _Places(middles, boxes, pointed, beside & _along_edge(boxes, edges, way.side))


def _placed(left: Sequence[int], mine: Array, way: _Way, pointer: bool) -> tuple[Array, Array]:
    """Middles (m, n, 2) and boxes (m, n, 4) of the numbers along the edges of their n pockets, all with a pointer or
    none.
    """
    half = np.array([_drawn(str(k), way.size, way.side if pointer else None)[1] for k in left]) / 2
    across = 1 if way.side in ("foot", "head") else 0
    long = float((mine[:, 3 - across] - mine[:, 1 - across]).max()) / 2
    most = min(MOST_STEPS, int(long / STEP_MM))
    steps = STEP_MM * np.array([0, *(k * sign for k in range(1, most + 1) for sign in (-1, 1))])
    middles = np.repeat(((mine[:, :2] + mine[:, 2:]) / 2)[None], len(steps), axis=0)
    if way.side in ("foot", "left"):
        middles[:, :, across] = mine[:, across] - way.gap - half[:, across]
    else:
        middles[:, :, across] = mine[:, 2 + across] + way.gap + half[:, across]
    middles[:, :, 1 - across] += steps[:, None]
    return middles, np.concatenate((middles - half, middles + half), axis=-1)


def _along_edge(boxes: Array, mine: Array, side: Edge) -> Array:
    """Which boxes (m, n, 4) lie within the length of the edge of their pockets (n, 4)."""
    k = 0 if side in ("foot", "head") else 1
    return np.asarray((boxes[..., k] >= mine[:, k]) & (boxes[..., 2 + k] <= mine[:, 2 + k]))


def _apart(boxes: Array, others: Array) -> Array:
    """How far boxes (..., 4) are from others (..., 4), mm; 0 where they meet."""
    past = np.maximum(others[..., :2] - boxes[..., 2:], boxes[..., :2] - others[..., 2:])
    return np.asarray(np.hypot(*np.moveaxis(np.maximum(past, 0.0), -1, 0)))


def _moved(strokes: Strokes, by: Array) -> Strokes:
    dx, dy = by.tolist()
    return tuple(tuple((x + dx, y + dy) for x, y in stroke) for stroke in strokes)


@cache
def _drawn(digits: str, size: float, side: Edge | None) -> tuple[Strokes, tuple[float, float]]:
    """Upright digits around the origin, ``size`` high, their width and height; a ``side`` adds a pointer to a pocket
    that has the number on this side of it.
    """
    room = 4 * size + 2 * PAD_MM
    strokes = strokes_in(digits, Rect(-room / 2, -room / 2, room, room), size, size) or ()
    if side is not None:
        wide, high = _extent(strokes)
        long, half = TIP_MM[0], TIP_MM[1] / 2
        if side in ("foot", "head"):  # beside the digits, as high as they are in the middle of
            x, up = wide / 2 + TIP_GAP_MM + half, 1 if side == "foot" else -1
            tip = ((x - half, -up * long / 2), (x, up * long / 2), (x + half, -up * long / 2))
        else:  # below them
            y, on = -high / 2 - TIP_GAP_MM - half, 1 if side == "left" else -1
            tip = ((-on * long / 2, y + half), (on * long / 2, y), (-on * long / 2, y - half))
        strokes = (*strokes, tip)
    x0, y0, x1, y1 = shapely.MultiLineString(strokes).bounds
    return _moved(strokes, -np.array(((x0 + x1) / 2, (y0 + y1) / 2))), (x1 - x0, y1 - y0)


def _extent(strokes: Strokes) -> tuple[float, float]:
    x0, y0, x1, y1 = shapely.MultiLineString(strokes).bounds
    return x1 - x0, y1 - y0
