"""Rectangles of a few sizes side by side in a rectangle: tidy bands first, then any corner that is free.

Nothing here turns a rectangle: whoever asks tries each way round. Each may have bounds of its own within the whole, as
where the opening of a pocket must stay inside the lamp's light while its walls may reach beyond. Placing at the corners
that earlier rectangles leave is the usual bottom-left rule of strip packing (common practice, no source); no packing
can be better than the bound by area (:func:`most_by_area`).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

SLACK = 1e-6
SPREAD_STEPS, SPREAD_TO_MM = 8, 0.1  # of a search for the widest gap
MOST_LOOKS = 60_000  # pairs compared in the search for free corners: a tenth of a second


Gap = tuple[float, float]  # across and along


@dataclass(frozen=True, slots=True)
class Sort:
    """Rectangles of one size: how many, and where the corner of least x and y of each may lie (both ends), mm."""

    width: float
    height: float
    count: int
    x: tuple[float, float]
    y: tuple[float, float]

    @property
    def possible(self) -> bool:
        """Whether one alone has room."""
        return self.x[1] >= self.x[0] - SLACK and self.y[1] >= self.y[0] - SLACK


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one rectangle lies: its sort (counted from 0) and its corner of least x and y, mm."""

    sort: int
    x: float
    y: float


def packed(sorts: Sequence[Sort], gap: float, wish: float = 0.0) -> tuple[Spot, ...] | None:
    """Every rectangle in its bounds, any two at least ``gap`` apart, the whole in the middle; None where none is found.

    What room is left goes between them until they are ``wish`` apart. The spots are in the order of the sorts, each row
    by row.
    """
    if not all(sort.possible for sort in sorts) or _too_large(sorts, gap):
        return None
    apart = gap, gap
    best = _found(sorts, apart, MOST_LOOKS)
    if best is None:
        return None
    for way in (1, 0):  # along the bed first, where most room is
        low, high, gap_now = gap, max(gap, wish), max(gap, wish)
        for _ in range(SPREAD_STEPS):
            tried = (apart[0], gap_now) if way else (gap_now, apart[1])
            wider = _found(sorts, tried, MOST_LOOKS // 10)
            if wider is None:
                high = gap_now
            else:
                best, apart, low = wider, tried, gap_now
            if high - low < SPREAD_TO_MM:
                break
            gap_now = (low + high) / 2
    middle = _centred(sorts, best)
    return tuple(sorted(middle, key=lambda spot: (spot.sort, round(spot.y, 6), spot.x)))


def _found(sorts: Sequence[Sort], apart: Gap, looks: int) -> tuple[Spot, ...] | None:
    """A packing with gaps across and along, bands before corners; None where none is found."""
    tidy = [found for found in _bands(sorts, apart) if found is not None]
    return max(tidy, key=lambda spots: _spare(sorts, spots), default=None) or _cornered(sorts, apart, looks)


def _too_large(sorts: Sequence[Sort], gap: float) -> bool:
    """Whether all together with their gaps have more area than the room that holds the bounds of every one."""
    wide = max(s.x[1] + s.width for s in sorts) - min(s.x[0] for s in sorts) + gap
    high = max(s.y[1] + s.height for s in sorts) - min(s.y[0] for s in sorts) + gap
    return sum(s.count * (s.width + gap) * (s.height + gap) for s in sorts) > wide * high + SLACK


def most_by_area(width: float, height: float, room: tuple[float, float]) -> int:
    """How many rectangles of a size any packing holds in a room at most: its area over theirs, rounded down.

    Source: the continuous bound of bin packing (S. Martello and D. Vigo, Exact solution of the two-dimensional finite
    bin packing problem, Management Science 44 (1998) 388-399, from memory).
    """
    return math.floor(room[0] * room[1] / (width * height) + SLACK)


def _bands(sorts: Sequence[Sort], gap: Gap) -> Iterator[tuple[Spot, ...] | None]:
    """Each sort in a band of its own, the bands above one another or side by side, in every order."""
    turned = [Sort(s.height, s.width, s.count, s.y, s.x) for s in sorts]
    for order in itertools.permutations(range(len(sorts))):
        yield _stacked(sorts, order, gap)
        beside = _stacked(turned, order, (gap[1], gap[0]))
        yield None if beside is None else tuple(Spot(spot.sort, spot.y, spot.x) for spot in beside)


def _stacked(sorts: Sequence[Sort], order: Sequence[int], gap: Gap) -> tuple[Spot, ...] | None:
    """Bands across, from the least y up: as many beside one another as fit, in even rows."""
    found: list[Spot] = []
    top = -math.inf
    for number in order:
        sort = sorts[number]
        most = 1 + math.floor((sort.x[1] - sort.x[0] + SLACK) / (sort.width + gap[0]))
        rows = math.ceil(sort.count / most)
        columns = math.ceil(sort.count / rows)
        middle = (sort.x[0] + sort.x[1]) / 2 - (columns - 1) * (sort.width + gap[0]) / 2
        y = max(sort.y[0], top)
        if y + (rows - 1) * (sort.height + gap[1]) > sort.y[1] + SLACK:
            return None
        for k in range(sort.count):
            row, column = divmod(k, columns)
            found.append(
                Spot(number, middle + column * (sort.width + gap[0]), y + row * (sort.height + gap[1]))
            )
        top = y + rows * (sort.height + gap[1])
    return tuple(found)


def _cornered(sorts: Sequence[Sort], gap: Gap, most: int) -> tuple[Spot, ...] | None:
    """One after the other, each at a corner that the earlier ones leave, the largest first; gives up after a while."""
    order = sorted(range(len(sorts)), key=lambda k: -sorts[k].width * sorts[k].height)
    many = sum(sort.count for sort in sorts)
    looks = 0

    def go(placed: tuple[Spot, ...]) -> tuple[Spot, ...] | None:
        nonlocal looks
        if len(placed) == many:
            return placed
        for number in order:
            alike = [spot for spot in placed if spot.sort == number]
            if len(alike) == sorts[number].count:
                continue
            for spot in _corners(sorts, placed, number, gap):
                if alike and (spot.y, spot.x) < (alike[-1].y, alike[-1].x):
                    continue  # of rectangles alike only one order is worth a look
                looks += (1 + len(placed)) ** 3
                if looks > most:
                    return None
                found = go((*placed, spot))
                if found is not None:
                    return found
        return None

    return go(())


def _corners(sorts: Sequence[Sort], placed: Sequence[Spot], number: int, gap: Gap) -> list[Spot]:
    """Free corners for one more, from the least y up."""
    sort = sorts[number]
    xs = {sort.x[0], *(p.x + sorts[p.sort].width + gap[0] for p in placed)}
    ys = {sort.y[0], *(p.y + sorts[p.sort].height + gap[1] for p in placed)}
    every = [
        Spot(number, x, y)
        for y in sorted(ys)
        if sort.y[0] - SLACK <= y <= sort.y[1] + SLACK
        for x in sorted(xs)
        if sort.x[0] - SLACK <= x <= sort.x[1] + SLACK
    ]
    return [spot for spot in every if not any(_meet(sorts, spot, p, gap) for p in placed)]


def _meet(sorts: Sequence[Sort], a: Spot, b: Spot, gap: Gap) -> bool:
    """Whether two lie nearer to one another than the gap."""
    one, two = sorts[a.sort], sorts[b.sort]
    across = max(b.x - (a.x + one.width), a.x - (b.x + two.width))
    along = max(b.y - (a.y + one.height), a.y - (b.y + two.height))
    return across < gap[0] - SLACK and along < gap[1] - SLACK


def _room(sorts: Sequence[Sort], spots: Sequence[Spot]) -> tuple[float, float, float, float]:
    """How far all may be moved together: least and greatest x, least and greatest y, mm."""
    return (
        max(sorts[s.sort].x[0] - s.x for s in spots),
        min(sorts[s.sort].x[1] - s.x for s in spots),
        max(sorts[s.sort].y[0] - s.y for s in spots),
        min(sorts[s.sort].y[1] - s.y for s in spots),
    )


def _spare(sorts: Sequence[Sort], spots: Sequence[Spot]) -> float:
    """How evenly a packing fits: the lesser of the ways that it can be moved, rounded so that equals are equal, mm."""
    low_x, high_x, low_y, high_y = _room(sorts, spots)
    return round(min(high_x - low_x, high_y - low_y), 3)


def _centred(sorts: Sequence[Sort], spots: Sequence[Spot]) -> list[Spot]:
    low_x, high_x, low_y, high_y = _room(sorts, spots)
    dx, dy = (low_x + high_x) / 2, (low_y + high_y) / 2
    return [Spot(s.sort, s.x + dx, s.y + dy) for s in spots]
