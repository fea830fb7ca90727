"""How a piece larger than the paper is spread over pages: tiles that overlap, and which of them are needed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.parts.sections import polygon
from holders.design.pieces.cutting import CutPart
from holders.facts.models import Paper
from holders.geometry.outline import Point

OVERLAP_MM = 10.0
BLEED_MM = 1.0  # room around the piece so that its outermost line is not cut by the page
HEADER_MM = 20.0  # strip at the top of each page for title, proof bar and map
SIDE_MM = 5.0  # strip at the left of each page for the upright proof bar


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet of paper as it is turned: size and what a printer reaches, mm."""

    width: float
    height: float
    margin: float

    @property
    def left(self) -> float:
        """Where the drawing area begins, right of the strip with the upright proof bar."""
        return self.margin + SIDE_MM

    @property
    def tile_width(self) -> float:
        """Width of the drawing area."""
        return self.width - 2 * self.margin - SIDE_MM

    @property
    def tile_height(self) -> float:
        """Height of the drawing area, below the header strip."""
        return self.height - 2 * self.margin - HEADER_MM


@dataclass(frozen=True, slots=True)
class Tile:
    """One page's share: column from the left, row from the bottom, and its lower left corner in bed coordinates."""

    column: int
    row: int
    x: float
    y: float

    @property
    def label(self) -> str:
        """Column letter and row number, as on the page map."""
        return f"{_letters(self.column)}{self.row + 1}"


@dataclass(frozen=True)
class Tiling:
    """The pages of one piece."""

    piece: CutPart
    page: Page
    columns: int
    rows: int
    x0: float
    y0: float

    @property
    def step_x(self) -> float:
        """From one column to the next."""
        return self.page.tile_width - OVERLAP_MM

    @property
    def step_y(self) -> float:
        """From one row to the next."""
        return self.page.tile_height - OVERLAP_MM

    @cached_property
    def tiles(self) -> tuple[Tile, ...]:
        """The pages to print, top row first; those without any line are left out."""
        lines = lines_of(self.piece)
        found = []
        for row in reversed(range(self.rows)):
            for column in range(self.columns):
                if lines.intersects(shapely.box(*self._core(column, row))):
                    x, y = self.x0 + column * self.step_x, self.y0 + row * self.step_y
                    found.append(Tile(column, row, x, y))
        return tuple(found)

    def _core(self, column: int, row: int) -> tuple[float, float, float, float]:
        """A tile to the middle of its overlaps: cores share the plane out, so every line lies in one."""
        half = OVERLAP_MM / 2
        x, y = self.x0 + column * self.step_x, self.y0 + row * self.step_y
        return (
            x + (half if column else 0.0),
            y + (half if row else 0.0),
            x + self.page.tile_width - (half if column < self.columns - 1 else 0.0),
            y + self.page.tile_height - (half if row < self.rows - 1 else 0.0),
        )

    def crosses(self, tile: Tile) -> list[Point]:
        """Register crosses on a tile (bed coordinates), in the middle of its overlaps; neighbours carry the same."""
        found = []
        for side in (0, 1):
            if 0 < tile.column + side < self.columns:
                x = self.x0 + (tile.column + side) * self.step_x + OVERLAP_MM / 2
                found += [(x, tile.y + share * self.page.tile_height) for share in (0.2, 0.8)]
            if 0 < tile.row + side < self.rows:
                y = self.y0 + (tile.row + side) * self.step_y + OVERLAP_MM / 2
                found += [(tile.x + share * self.page.tile_width, y) for share in (0.2, 0.8)]
        return found


def lines_of(piece: CutPart) -> BaseGeometry:
    """All lines that a template shows, as one geometry."""
    rings = [polygon(outline).exterior for outline in (piece.outer, *piece.inner)]
    strokes = [shapely.LineString(stroke) for text in piece.lettering for stroke in text.strokes]
    return shapely.union_all([*rings, *strokes])


def tiling(piece: CutPart, paper: Paper) -> Tiling:
    """Spread a piece over the paper, upright or across, whichever takes fewer pages."""
    pages = (
        Page(paper.width_mm, paper.height_mm, paper.printer_margin_mm),
        Page(paper.height_mm, paper.width_mm, paper.printer_margin_mm),
    )
    return min((_spread(piece, page) for page in pages), key=lambda t: (len(t.tiles), t.page.width))


def _spread(piece: CutPart, page: Page) -> Tiling:
    x0, y0, x1, y1 = piece.box
    columns = _count(x1 - x0, page.tile_width)
    rows = _count(y1 - y0, page.tile_height)
    span_x = columns * (page.tile_width - OVERLAP_MM) + OVERLAP_MM
    span_y = rows * (page.tile_height - OVERLAP_MM) + OVERLAP_MM
    return Tiling(piece, page, columns, rows, (x0 + x1 - span_x) / 2, (y0 + y1 - span_y) / 2)


def _count(length: float, tile: float) -> int:
    return max(1, math.ceil((length + 2 * BLEED_MM - OVERLAP_MM) / (tile - OVERLAP_MM) - 1e-9))


def _letters(column: int) -> str:
    return chr(ord("A") + column) if column < 26 else f"A{column}"


def pages_in(tilings: Sequence[Tiling]) -> int:
    """How many tiles there are in all."""
    return sum(len(t.tiles) for t in tilings)
