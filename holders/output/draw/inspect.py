"""A finished scan as a picture: what of it is sharp, where rings are, where the light ends, how it lies."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from holders.geometry.outline import Point
from holders.measure.finished.blur.judge import IN_BAND
from holders.measure.finished.expected import EdgeName
from holders.measure.finished.rings.regions import RingRegion, regions
from holders.output.draw.canvas import (
    AXIS,
    FINE,
    HATCH_MATERIAL,
    Pen,
    Picture,
    text_width,
)
from holders.output.draw.inspect_legend import (
    BLANK,
    DOUBTFUL,
    INDENT,
    RIM,
    RING,
    SOFT_SAMPLE,
    facts,
    has_corner,
    height,
    legend,
    samples,
    write,
)
from holders.output.words import inspected

if TYPE_CHECKING:
    from holders.measure.finished.look import InspectResult
    from holders.measure.finished.placement import EdgeLine

WIDTH = 200.0
NARROW = 72.0  # on a page: as wide as a phone, where lettering of 2.5 mm then has 12 pixels
MARGIN = 8.0
TOP = 29.0  # below the title and the words on the upper side
LEGEND_WIDE = 68.0
MOST_HIGH = 150.0
LYING, LYING_HIGH = 1.35, 115.0  # a scan so much wider than high has its legend below
SOFT = ((0.5, "#fff"), (0.25, SOFT_SAMPLE), (0.0, "#b4b4b4"))  # from this share of the limit on, the ground
CLEARED = Pen(1.5, 1.0)  # white under a ring
ASIDE = 5.0  # room for an edge's words beside the map alone
LEAST_RING = 4.0  # mm on paper
NUMBERS = 5  # values written on the map, each way
CORNERS: tuple[tuple[EdgeName, EdgeName], ...] = (
    ("left", "head"), ("right", "head"), ("right", "foot"), ("left", "foot")
)  # fmt: skip
Ring = list[Point]


class _Frame:
    """How the scan's millimetres (y down) come to paper."""

    def __init__(
        self, found: InspectResult, room: tuple[float, float], at: Point = (MARGIN + 6.0, TOP)
    ) -> None:
        self.wide, self.high = found.size_mm
        self.scale = min(room[0] / self.wide, room[1] / self.high)
        self.left, self.top = at

    def at(self, x: float, y: float) -> Point:
        return self.left + x * self.scale, self.top + y * self.scale

    def box(self, x0: float, y0: float, x1: float, y1: float) -> Ring:
        return [self.at(x0, y0), self.at(x1, y0), self.at(x1, y1), self.at(x0, y1)]


def inspect_sheet(found: InspectResult) -> bytes:
    """The picture of an inspection as SVG; the same result gives the same bytes."""
    lying = found.size_mm[0] > LYING * found.size_mm[1]
    room = WIDTH - 2 * MARGIN - 12.0
    frame = _Frame(found, (room, LYING_HIGH) if lying else (room - LEGEND_WIDE, MOST_HIGH))
    right, foot = frame.at(frame.wide, frame.high)
    at = (frame.left, foot + 14.0) if lying else (right + 12.0, TOP)
    wide = (WIDTH - 2 * MARGIN) / 2 if lying else WIDTH - MARGIN - at[0]
    marks, told = legend(found), facts(found)
    high = max(height(marks, wide, INDENT), height(told, wide)) if lying else 0.0
    below = (
        at[1] + high if lying else max(foot + 8.0, at[1] + height(marks, wide, INDENT) + height(told, wide))
    )
    picture = Picture(WIDTH, below + MARGIN)
    title = f"The scan: {inspected.headline(found)}"
    picture.text(
        (MARGIN, 10), title, min(5.0, 5.0 * (WIDTH - 2 * MARGIN) / (1.08 * text_width(title, 5.0))), bold=True
    )
    words = (
        "The finished scan as it is shown, its first row on top. Hatched: softer than what counts as sharp."
    )
    picture.text((MARGIN, 18), words, 3)
    _content(picture, found, frame)
    y = samples(picture, marks, at, wide)
    write(picture, told, (at[0] + wide, at[1]) if lying else (at[0], y + 3.0), wide)
    return picture.svg(title, embed=True)


def inspect_map(found: InspectResult) -> bytes:
    """The map alone with what its marks mean, as SVG as wide as a phone; a page says the rest beside it."""
    frame = _Frame(found, (NARROW - 2 * ASIDE, MOST_HIGH), (ASIDE, ASIDE))
    foot = frame.at(frame.wide, frame.high)[1] + ASIDE + 1.0
    marks = legend(found)
    wide = NARROW - 1.0
    picture = Picture(NARROW, foot + height(marks, wide, INDENT))
    _content(picture, found, frame)
    samples(picture, marks, (0.5, foot), wide)
    return picture.svg(f"The scan: {inspected.headline(found)}")


def _content(picture: Picture, found: InspectResult, frame: _Frame) -> None:
    known = np.isfinite(found.sharpness.grid)
    cells = _Cells(found, frame)
    _map(picture, found, cells, known)
    picture.polygon([frame.box(0, 0, frame.wide, frame.high)], FINE)
    _designed(picture, found, frame)
    _edges(picture, found, frame)
    _rings(picture, found, frame)
    for j, i in _blocks(known):
        part = found.sharpness.grid[j, i]
        if np.isfinite(part).sum() >= 0.3 * part.size:
            x, y = cells.middle(j, i)
            share = min(100.0, 100 * float(np.nanmedian(part)))
            picture.text((x, y + 0.9), f"{share:.0f}", 2.5, "middle", halo=True)


def _map(picture: Picture, found: InspectResult, cells: _Cells, known: NDArray[np.bool_]) -> None:
    """The lit area: white where sharp, hatched where soft on a ground that darkens, grey where nothing can be told."""
    picture.polygon([_lit(found, cells.frame)], None, BLANK)
    cells.fill(picture, known, "#fff")
    soft = known & ~found.sharpness.in_band
    share = np.where(known, found.sharpness.grid, 1.0) / IN_BAND
    upper = 1.0
    for least, fill in SOFT:
        cells.fill(picture, soft & (share >= least) & (share < upper), fill)
        upper = least
    cells.fill(picture, soft, HATCH_MATERIAL)


class _Cells:
    """The map's cells on paper."""

    def __init__(self, found: InspectResult, frame: _Frame) -> None:
        x, y = found.sharpness.x_mm, found.sharpness.y_mm
        self.dx = float(x[1] - x[0]) if len(x) > 1 else found.size_mm[0]
        self.dy = float(y[1] - y[0]) if len(y) > 1 else found.size_mm[1]
        self.x0, self.y0 = float(x[0]) - self.dx / 2, float(y[0]) - self.dy / 2
        self.frame = frame

    def fill(self, picture: Picture, mask: NDArray[np.bool_], fill: str) -> None:
        """The cells of a mask, one rectangle for each run of a row."""
        rings = []
        for j, row in enumerate(mask):
            ends = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
            y0, y1 = self.y0 + j * self.dy, self.y0 + (j + 1) * self.dy
            rings += [
                self.frame.box(self.x0 + a * self.dx, y0, self.x0 + b * self.dx, y1)
                for a, b in zip(ends[::2], ends[1::2], strict=True)
            ]
        if rings:
            picture.polygon(rings, None, fill)

    def middle(self, j: slice, i: slice) -> Point:
        """The middle of a block."""
        return self.frame.at(
            self.x0 + (i.start + i.stop) / 2 * self.dx, self.y0 + (j.start + j.stop) / 2 * self.dy
        )


def _blocks(known: NDArray[np.bool_]) -> list[tuple[slice, slice]]:
    """The known part of the map in a few even blocks, for the numbers on it."""
    if not known.any():
        return []
    rows, columns = np.flatnonzero(known.any(axis=1)), np.flatnonzero(known.any(axis=0))
    down = np.unique(np.linspace(rows[0], rows[-1] + 1, NUMBERS + 1).round().astype(int))
    across = np.unique(np.linspace(columns[0], columns[-1] + 1, NUMBERS + 1).round().astype(int))
    return [
        (slice(int(a), int(b)), slice(int(c), int(d))) for a, b in pairwise(down) for c, d in pairwise(across)
    ]


def _edges(picture: Picture, found: InspectResult, frame: _Frame) -> None:
    """Each side as a line turned as it was measured, from one neighbour to the other, with its place outside."""
    for edge in found.placement.edges:
        a, b = _ends(edge.name, found)
        picture.line(frame.at(*a), frame.at(*b), RIM)
        x, y = frame.at((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        words = f"{inspected.SIDES[edge.name]} {edge.at_mm:.1f}"
        right, foot = frame.at(frame.wide, frame.high)
        if edge.name == "head":
            picture.text((x, frame.top - 2), words, 2.5, "middle")
        elif edge.name == "foot":
            picture.text((x, foot + 4), words, 2.5, "middle")
        else:
            picture.text(
                (frame.left - 2 if edge.name == "left" else right + 4, y), words, 2.5, "middle", turned=True
            )


def _corner(found: InspectResult, column: EdgeName, row: EdgeName) -> Point:
    """Where two sides meet, mm of the scan; the scan's own rim stands in for a side that was not seen."""
    side, end = found.placement.edge(column), found.placement.edge(row)
    x = side.at_mm if side else 0.0 if column == "left" else found.size_mm[0]
    y = _on(end, found, x) if end else 0.0 if row == "head" else found.size_mm[1]
    return (_on(side, found, y) if side else x), y


def _lit(found: InspectResult, frame: _Frame) -> Ring:
    return [frame.at(*_corner(found, column, row)) for column, row in CORNERS]


def _ends(name: EdgeName, found: InspectResult) -> tuple[Point, Point]:
    """From where to where a side is drawn."""
    a, b = (corner for corner in CORNERS if name in corner)
    return _corner(found, *a), _corner(found, *b)


def _on(edge: EdgeLine, found: InspectResult, along: float) -> float:
    """Where a side stands at a place along the other axis, mm; a turn is clockwise with y down."""
    slope = math.tan(math.radians(edge.turn_deg))
    if edge.name in ("left", "right"):
        return edge.at_mm - slope * (along - found.size_mm[1] / 2)
    return edge.at_mm + slope * (along - found.size_mm[0] / 2)


def _designed(picture: Picture, found: InspectResult, frame: _Frame) -> None:
    """The designed picture area, laid to the lit area's upper left corner and turned with it."""
    if found.picture is None or not has_corner(found):
        return
    p, turn = found.picture, math.radians(found.placement.skew_deg or 0.0)
    x0, y0 = _corner(found, "left", "head")
    corners = [(p.x, p.y), (p.x + p.width, p.y), (p.x + p.width, p.y + p.height), (p.x, p.y + p.height)]
    cos, sin = math.cos(turn), math.sin(turn)
    ring = [(x0 + u * cos - v * sin, y0 + u * sin + v * cos) for u, v in corners]
    for a, b in pairwise([*ring, ring[0]]):
        seen = _within(a, b, found.size_mm)
        if seen is not None:
            picture.line(frame.at(*seen[0]), frame.at(*seen[1]), AXIS)


def _within(a: Point, b: Point, size: tuple[float, float]) -> tuple[Point, Point] | None:
    """What of a straight line lies in the scan (Liang and Barsky's clipping, from memory); None if nothing does."""
    first, last = 0.0, 1.0
    for k in (0, 1):
        way = b[k] - a[k]
        if abs(way) < 1e-9:
            if not 0.0 <= a[k] <= size[k]:
                return None
            continue
        ends = sorted(((0.0 - a[k]) / way, (size[k] - a[k]) / way))
        first, last = max(first, ends[0]), min(last, ends[1])
    if first >= last:
        return None
    x, y = b[0] - a[0], b[1] - a[1]
    return (a[0] + first * x, a[1] + first * y), (a[0] + last * x, a[1] + last * y)


def _rings(picture: Picture, found: InspectResult, frame: _Frame) -> None:
    for pen, places in ((DOUBTFUL, found.rings.strong), (RING, found.rings.where)):
        for number, region in enumerate(regions(places), 1):
            _target(picture, frame, region, pen, str(number))


def _target(picture: Picture, frame: _Frame, region: RingRegion, pen: Pen, name: str) -> None:
    most = max(LEAST_RING, region.radius_mm * frame.scale)
    middle = frame.at(region.x_mm, region.y_mm)
    for share in (1.0, 0.72, 0.44):
        picture.circle(middle, most * share, CLEARED)
        picture.circle(middle, most * share, pen)
    picture.text((middle[0], middle[1] + 1.3), name, 3.5, "middle", bold=True, halo=True)
