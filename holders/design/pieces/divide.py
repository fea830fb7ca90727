"""The fewest pieces: rows cut into columns, or columns cut into rows, with every piece on the printer's plate.

A frame cut in three rows leaves two loose side rails in the middle, so pieces are counted as they come apart, not as
cells. Seams run straight from one side of what they divide to the other.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise, product

import shapely
from shapely.geometry.base import BaseGeometry

from holders.core.limits import MOST_ROWS
from holders.design.model import Axis, Rect
from holders.design.pieces.fits import fits_turned
from holders.design.pieces.joint import LONGEST_MM, JointRules
from holders.design.pieces.seams import Body, Box, Line, find, swapped
from holders.geometry.strips import Span

MOST_MIXED = 3  # up to so many rows or columns each is tried for both sides of the plate
LEAST_MM = 15.0  # a row or column is never narrower
FAR_MM = 50.0  # cells reach this far past the part
LEAST_MM2 = 1.0  # anything smaller is a sliver of arithmetic, not a piece


@dataclass(frozen=True, slots=True)
class Cell:
    """A rectangle of the division and the loose pieces in it.

    ``over`` is how far tongues reach out of it past its greatest x and its greatest y, mm.
    """

    rect: Rect
    over: tuple[float, float]
    pieces: tuple[BaseGeometry, ...]


@dataclass(frozen=True, slots=True)
class Cut:
    """A seam of the division: ``axis`` as in the model, and the span along it that it divides."""

    axis: Axis
    line: Line


@dataclass(frozen=True, slots=True)
class Division:
    """Cells in order from home, and the seams between them."""

    cells: tuple[Cell, ...]
    cuts: tuple[Cut, ...]

    @property
    def count(self) -> int:
        """How many pieces."""
        return sum(len(cell.pieces) for cell in self.cells)

    @property
    def joints(self) -> int:
        """How many joints."""
        return sum(len(cut.line.places) for cut in self.cuts)


@lru_cache(maxsize=8)  # a holder is designed again when its ledge has moved, and seams have no heights
def divide(body: Body, room: tuple[float, float], rules: JointRules) -> Division | None:
    """The division into the fewest pieces, of those the one with fewest joints; None where none was found.

    ``room`` is the printer's plate less its margins, mm. Rows that are cut into columns and columns that are cut into
    rows are tried, evenly spaced (by the plate's sides) as far as seams find a place.
    """
    best: Division | None = None
    for turned in (False, True):
        rows = _Rows(body.transposed(), room[::-1], rules) if turned else _Rows(body, room, rules)
        found = rows.best(MOST_ROWS * MOST_ROWS if best is None else best.count)
        if found is not None and (best is None or _rank(found) < _rank(best)):
            best = _turned(found) if turned else found
    return best


def _rank(division: Division) -> tuple[int, int]:
    return division.count, division.joints


@dataclass(frozen=True, slots=True)
class _Rows:
    """A body to be cut into rows, and each row into columns."""

    body: Body
    room: tuple[float, float]
    rules: JointRules

    def best(self, most: int) -> Division | None:
        """The first division into the fewest pieces, if those are at most ``most``."""
        x0, y0, x1, y1 = self.body.full.bounds
        best: Division | None = None
        for rows in range(1, MOST_ROWS + 1):
            high = (y1 - y0) / rows  # the tallest row is at least this high
            whole = fits_turned(x1 - x0, high, *self.room)
            if rows + (not whole) > most or (best is not None and rows + (not whole) >= best.count):
                break
            if not fits_turned(LEAST_MM, high, *self.room):
                continue
            for lines in self._spacings(self.body, rows, (x0 - FAR_MM, x1 + FAR_MM), ()):
                made = self._with_columns(lines)
                if made is not None and made.count <= most and (best is None or _rank(made) < _rank(best)):
                    best = made
        return best

    def _spacings(
        self, body: Body, parts: int, across: Span, blocked: Sequence[Box]
    ) -> Iterator[tuple[Line, ...]]:
        """Seams that part the body, every part meant for one or the other side of the plate."""
        sides = sorted(set(self.room), reverse=True)
        for limits in product(sides, repeat=parts) if parts <= MOST_MIXED else ((s,) * parts for s in sides):
            found = _spaced(body, limits, across, self.rules, blocked)
            if found is not None:
                yield found

    def _with_columns(self, lines: tuple[Line, ...]) -> Division | None:
        """Every row cut into as few columns as make its pieces fit; None when one cannot be."""
        _, y0, _, y1 = self.body.full.bounds
        edges = [y0 - FAR_MM, *(line.at for line in lines), y1 + FAR_MM]
        zones = [(b, a, d, c) for line in lines for a, b, c, d in line.zones]
        cells: list[Cell] = []
        cuts = [Cut("y", line) for line in lines]
        for number, row in enumerate(pairwise(edges)):
            over = lines[number].reach_mm if number < len(lines) else 0.0
            made = self._columns(row, over, zones)
            if made is None:
                return None
            cells += made[0]
            cuts += [Cut("x", up) for up in made[1]]
        return Division(tuple(cells), tuple(cuts))

    def _columns(
        self, row: Span, over: float, zones: Sequence[Box]
    ) -> tuple[list[Cell], tuple[Line, ...]] | None:
        sideways = self.body.transposed()
        for columns in range(1, MOST_ROWS + 1):
            for ups in self._spacings(sideways, columns, row, zones):
                cells = _cells(self.body, ups, row, over)
                if all(_fits(cell, self.room) for cell in cells):
                    return cells, ups
        return None


def _spaced(
    body: Body,
    limits: Sequence[float],
    across: Span,
    rules: JointRules,
    blocked: Sequence[Box],
) -> tuple[Line, ...] | None:
    """Seams between parts no longer than their limits, as near to the limits' proportions as can be.

    None where a seam has no place.
    """
    here, end = body.full.bounds[1], body.full.bounds[3]
    found: list[Line] = []
    for k, limit in enumerate(limits[:-1]):
        rest = sum(limits[k + 1 :]) - LONGEST_MM * (len(limits) - k - 2)
        window = max(here + LEAST_MM, end - rest), min(here + limit - LONGEST_MM, end - LEAST_MM)
        target = here + (end - here) * limit / sum(limits[k:])
        line = find(body, target, window, across, rules, blocked)
        if line is None:
            return None
        found.append(line)
        here = line.at
    return tuple(found)


def _cells(body: Body, ups: Sequence[Line], row: Span, over: float) -> list[Cell]:
    x0, _, x1, _ = body.full.bounds
    found = []
    for k, (left, right) in enumerate(pairwise([x0 - FAR_MM, *(up.at for up in ups), x1 + FAR_MM])):
        rect = Rect(left, row[0], right - left, row[1] - row[0])
        inside = body.full.intersection(shapely.box(rect.x, rect.y, rect.right, rect.top))
        pieces = tuple(p for p in shapely.get_parts(inside) if p.area > LEAST_MM2)
        found.append(Cell(rect, (ups[k].reach_mm if k < len(ups) else 0.0, over), pieces))
    return found


def _fits(cell: Cell, room: tuple[float, float]) -> bool:
    """Whether every piece of the cell, its tongues counted, lies on the plate."""
    for piece in cell.pieces:
        x0, y0, x1, y1 = piece.bounds
        wide = x1 - x0 + (cell.over[0] if abs(x1 - cell.rect.right) < 1e-6 else 0.0)
        high = y1 - y0 + (cell.over[1] if abs(y1 - cell.rect.top) < 1e-6 else 0.0)
        if not fits_turned(wide, high, *room):
            return False
    return True


def _turned(division: Division) -> Division:
    """A division made with the axes exchanged, put right."""
    cells = tuple(
        replace(
            cell,
            rect=Rect(cell.rect.y, cell.rect.x, cell.rect.height, cell.rect.width),
            over=cell.over[::-1],
            pieces=tuple(swapped(piece) for piece in cell.pieces),
        )
        for cell in division.cells
    )
    return Division(cells, tuple(replace(cut, axis="y" if cut.axis == "x" else "x") for cut in division.cuts))
