"""Parts laid out on stock sheets: waste inside large pieces holds small ones, the rest goes on as few sheets as it can.

Frames are boxes with a large window, so pieces are packed by their boxes; the hole of a piece that lies anywhere is
a bin for smaller pieces. Which piece lies in which hole is decided first (a piece that fits a hole costs no stock),
then the rest is packed on sheets. Several rules of packing are tried and the best kept; none is proved best, so
the result carries the bound that no nesting can beat. Pieces are never mirrored, so faces stay up; with grain they are
not turned by a quarter either (a half turn never helps a box).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from holders.core.errors import InputError
from holders.core.limits import MOST_NESTED
from holders.design.model import Rect
from holders.design.pieces.cutting import CutPart
from holders.facts.habits import habit
from holders.geometry.outline import Outline, Point, Vertex, area, bounds, moved
from holders.workshop.nest.cavity import inner_rectangle, largest_free
from holders.workshop.nest.least import by_area, by_boxes
from holders.workshop.nest.pack import Bin, Packed, Turning, ways

LEAST_CAVITY_MM = 8.0  # what falls out smaller than this holds nothing
TOUCH_MM = 0.25  # boxes, shrunken cavities and chords are this exact together


@dataclass(frozen=True, slots=True)
class StockSheet:
    """A sheet or an offcut: its size and how many there are (None: as many as it takes)."""

    width_mm: float
    height_mm: float
    count: int | None = None
    name: str = "sheet"


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one piece lies: its cut paths turned by ``rotation`` degrees, their box's least corner at (x, y) mm.

    ``sheet`` counts from 0. ``inside`` is the index of the placement in whose drop-out it lies, ``hole`` which.
    """

    part: str
    copy: int
    sheet: int
    x: float
    y: float
    rotation: Literal[0, 90]
    inside: int | None = None
    hole: int | None = None


@dataclass(frozen=True, slots=True)
class SheetUse:
    """One sheet of the result: its size, the area that pieces keep, what lies free in one rectangle."""

    name: str
    width_mm: float
    height_mm: float
    kept_mm2: float
    offcut: Rect | None

    @property
    def waste_share(self) -> float:
        """What is neither piece nor offcut, as a share of the sheet."""
        whole = self.width_mm * self.height_mm
        spare = 0.0 if self.offcut is None else self.offcut.width * self.offcut.height
        return (whole - self.kept_mm2 - spare) / whole


@dataclass(frozen=True, slots=True)
class Nesting:
    """All pieces on sheets. ``least_sheets`` is a count that no nesting of these boxes can go below."""

    pieces: tuple[CutPart, ...]  # one per placement
    placements: tuple[Placement, ...]
    sheets: tuple[SheetUse, ...]
    least_sheets: int
    spacing_mm: float
    margin_mm: float
    turning: Turning

    @property
    def used_mm2(self) -> float:
        """Stock used: whole sheets less the offcuts that stay."""
        whole = sum(s.width_mm * s.height_mm for s in self.sheets)
        return whole - sum(s.offcut.width * s.offcut.height for s in self.sheets if s.offcut is not None)

    @property
    def kept_mm2(self) -> float:
        """What ends up in pieces."""
        return sum(s.kept_mm2 for s in self.sheets)


def nest(
    parts: Sequence[CutPart],
    stock: Sequence[StockSheet],
    *,
    spacing_mm: float | None = None,
    margin_mm: float | None = None,
    turning: Turning = "any",
) -> Nesting:
    """Lay out every part, as often as its quantity, on sheets of one material and thickness.

    Parameters
    ----------
    parts:
        Cut paths (kerf included); all of one material and thickness.
    stock:
        Sheets and offcuts; those listed first are used first.
    spacing_mm, margin_mm:
        Between cut lines of neighbours; along the sheet's edges. Left out: the workshop's usual.
    turning:
        "any" allows quarter turns; "grain" keeps each piece along the sheet.

    Raises
    ------
    InputError
        When parts differ in material or thickness, or a piece fits no sheet (naming it and its size).
    """
    gap = habit("cut-spacing") if spacing_mm is None else spacing_mm
    rim = habit("sheet-margin") if margin_mm is None else margin_mm
    pieces = _pieces(parts, stock, gap, rim)
    sizes = [_size(piece) for piece in pieces]
    hosted = _into_cavities(pieces, sizes, gap, turning)
    roots = [k for k in range(len(pieces)) if k not in hosted]
    spots = _onto_sheets([sizes[k] for k in roots], stock, gap, rim, turning)
    if len(spots) < len(roots):
        lost = next(k for n, k in enumerate(roots) if n not in {s.item for s in spots})
        raise _no_room(pieces[lost], sizes[lost], stock)
    placements = _placements(pieces, sizes, roots, spots, hosted, rim)
    uses = _uses(pieces, placements, stock, spots, gap, rim)
    least = _least(pieces, sizes, stock, gap, rim, turning)
    return Nesting(tuple(pieces), placements, uses, least, gap, rim, turning)


def turned(outline: Outline, rotation: Literal[0, 90]) -> Outline:
    """The outline turned a quarter to the left about the origin, or as it is; arcs stay arcs."""
    if rotation == 0:
        return outline
    return Outline(tuple(Vertex(-v.y, v.x, v.bulge) for v in outline.vertices))


def shift_of(piece: CutPart, spot: Placement) -> Point:
    """What to add after turning so that the piece's box starts at the placement's corner."""
    x0, y0, _, y1 = piece.box
    least = (x0, y0) if spot.rotation == 0 else (-y1, x0)
    return spot.x - least[0], spot.y - least[1]


def placed(outline: Outline, piece: CutPart, spot: Placement) -> Outline:
    """An outline of ``piece`` where it lies on its sheet."""
    dx, dy = shift_of(piece, spot)
    return moved(turned(outline, spot.rotation), dx, dy)


def placed_point(point: Point, piece: CutPart, spot: Placement) -> Point:
    """A point of ``piece`` (of its lettering) where it lies on its sheet."""
    dx, dy = shift_of(piece, spot)
    x, y = point if spot.rotation == 0 else (-point[1], point[0])
    return x + dx, y + dy


def _pieces(parts: Sequence[CutPart], stock: Sequence[StockSheet], gap: float, rim: float) -> list[CutPart]:
    if not parts or not stock:
        raise InputError("nest", "(nothing)", "give at least one part and one sheet")
    kinds = {(p.material, round(p.thickness_mm, 4)) for p in parts}
    if len(kinds) > 1:
        raise InputError("nest", sorted(kinds), "parts of one sheet are of one material and thickness")
    if gap < 0 or rim < 0:
        raise InputError("spacing_mm", min(gap, rim), "spacing and margin are not negative")
    found = [replace(part, quantity=1) for part in parts for _ in range(part.quantity)]
    if len(found) > MOST_NESTED:
        raise InputError("nest", len(found), f"at most {MOST_NESTED} pieces at a time")
    return found


def _size(piece: CutPart) -> tuple[float, float]:
    x0, y0, x1, y1 = piece.box
    return x1 - x0, y1 - y0


@dataclass(frozen=True, slots=True)
class _Hosted:
    """Where a piece lies in another's hole: the host's index, which hole, box in the host's own coordinates."""

    host: int
    hole: int
    x: float
    y: float
    turned: bool


def _into_cavities(
    pieces: list[CutPart], sizes: list[tuple[float, float]], gap: float, turning: Turning
) -> dict[int, _Hosted]:
    """As much area as can be put into holes. A piece never comes to lie inside itself: it is larger than its hole."""
    rooms = [
        (host, number, rect)
        for host, piece in enumerate(pieces)
        for number, hole in enumerate(piece.inner)
        if (rect := inner_rectangle(hole, gap)) is not None
        and min(rect.width, rect.height) >= LEAST_CAVITY_MM
    ]
    rooms.sort(key=lambda room: (room[2].width * room[2].height, room[0], room[1]))  # small ones first
    if not rooms:
        return {}
    widest = max(max(r.width, r.height) for _, _, r in rooms)
    small = [k for k, (w, h) in enumerate(sizes) if max(w, h) <= widest]
    if not small:
        return {}
    # spacing between neighbours in one hole: each box is made larger by it, and so is the hole
    bins = [Bin(r.width + gap, r.height + gap) for _, _, r in rooms]
    tries = ways(bins, [(sizes[k][0] + gap, sizes[k][1] + gap) for k in small], turning)
    best = max(tries, key=lambda found: sum(math.prod(sizes[small[p.item]]) for p in found))
    return {
        small[p.item]: _Hosted(
            rooms[p.bin][0], rooms[p.bin][1], rooms[p.bin][2].x + p.x, rooms[p.bin][2].y + p.y, p.turned
        )
        for p in best
    }


def _onto_sheets(
    sizes: list[tuple[float, float]], stock: Sequence[StockSheet], gap: float, rim: float, turning: Turning
) -> list[Packed]:
    bins = [Bin(s.width_mm - 2 * rim + gap, s.height_mm - 2 * rim + gap, s.count) for s in stock]
    if any(min(b.width, b.height) <= 0 for b in bins):
        raise InputError("stock", (stock[0].width_mm, stock[0].height_mm), "the sheet is all margin")
    tries = ways(bins, [(w + gap, h + gap) for w, h in sizes], turning)

    def order(found: list[Packed]) -> tuple[int, float, float]:
        sheets = {(p.bin, p.copy) for p in found}
        paid = sum(stock[b].width_mm * stock[b].height_mm for b, _ in sheets)
        spare = 0.0
        for b, c in sheets:
            mine = [_box(p, sizes) for p in found if (p.bin, p.copy) == (b, c)]
            free = largest_free(Rect(0, 0, bins[b].width, bins[b].height), mine)
            spare += 0.0 if free is None else free.width * free.height
        return -len(found), paid, -spare

    return min(tries, key=order)


def _box(spot: Packed, sizes: list[tuple[float, float]]) -> Rect:
    w, h = sizes[spot.item]
    return Rect(spot.x, spot.y, h, w) if spot.turned else Rect(spot.x, spot.y, w, h)


def _placements(
    pieces: list[CutPart],
    sizes: list[tuple[float, float]],
    roots: list[int],
    spots: list[Packed],
    hosted: dict[int, _Hosted],
    rim: float,
) -> tuple[Placement, ...]:
    """Every piece's place: roots from the packing, hosted ones carried along with their host."""
    order = {key: n for n, key in enumerate(sorted({(s.bin, s.copy) for s in spots}))}
    numbers = _numbers(pieces)
    done: dict[int, Placement] = {}
    for spot in spots:
        k = roots[spot.item]
        done[k] = Placement(
            pieces[k].name, numbers[k], order[spot.bin, spot.copy], rim + spot.x, rim + spot.y,
            90 if spot.turned else 0,
        )  # fmt: skip
    for k in sorted(hosted, key=lambda k: -math.prod(sizes[k])):  # hosts are larger, so they come first
        at = hosted[k]
        host = done[at.host]
        w, h = (sizes[k][1], sizes[k][0]) if at.turned else sizes[k]
        corners = [placed_point(p, pieces[at.host], host) for p in ((at.x, at.y), (at.x + w, at.y + h))]
        quarter = at.turned != (host.rotation == 90)
        done[k] = Placement(
            pieces[k].name, numbers[k], host.sheet, min(c[0] for c in corners), min(c[1] for c in corners),
            90 if quarter else 0, at.host, at.hole,
        )  # fmt: skip
    return tuple(done[k] for k in range(len(pieces)))


def _numbers(pieces: list[CutPart]) -> list[int]:
    seen: Counter[str] = Counter()
    found = []
    for piece in pieces:
        seen[piece.name] += 1
        found.append(seen[piece.name])
    return found


def _uses(
    pieces: list[CutPart],
    placements: tuple[Placement, ...],
    stock: Sequence[StockSheet],
    spots: list[Packed],
    gap: float,
    rim: float,
) -> tuple[SheetUse, ...]:
    kinds = [bin_ for bin_, _ in sorted({(s.bin, s.copy) for s in spots})]
    found = []
    for number, kind in enumerate(kinds):
        sheet = stock[kind]
        mine = [(p, s) for p, s in zip(pieces, placements, strict=True) if s.sheet == number]
        boxes = [_spaced(p, s, gap) for p, s in mine if s.inside is None]
        whole = Rect(rim, rim, sheet.width_mm - 2 * rim, sheet.height_mm - 2 * rim)
        found.append(
            SheetUse(
                sheet.name,
                sheet.width_mm,
                sheet.height_mm,
                sum(material_area(p) for p, _ in mine),
                largest_free(whole, boxes),
            )
        )
    return tuple(found)


def _spaced(piece: CutPart, spot: Placement, gap: float) -> Rect:
    w, h = _size(piece)
    if spot.rotation == 90:
        w, h = h, w
    return Rect(spot.x, spot.y, w, h).grown(gap)


def material_area(piece: CutPart) -> float:
    """What the piece keeps of the sheet, mm² (along the middle of the cut)."""
    return abs(area(piece.outer)) - sum(abs(area(hole)) for hole in piece.inner)


def _least(
    pieces: list[CutPart],
    sizes: list[tuple[float, float]],
    stock: Sequence[StockSheet],
    gap: float,
    rim: float,
    turning: Turning,
) -> int:
    """Sheets that any nesting needs, as if every sheet were as wide and as long as the largest."""
    room = max(s.width_mm for s in stock) - 2 * rim, max(s.height_mm for s in stock) - 2 * rim
    holes = [bounds(hole) for piece in pieces for hole in piece.inner]
    spans = [(min(x1 - x0, y1 - y0), max(x1 - x0, y1 - y0)) for x0, y0, x1, y1 in holes]
    outside = [
        (w + gap, h + gap)
        for w, h in sizes
        if not any(min(w, h) < short and max(w, h) < long for short, long in spans)
    ]
    material = by_area(sum(material_area(p) for p in pieces), room)
    return max(1, material, by_boxes(outside, (room[0] + gap, room[1] + gap), turning == "any"))


def _no_room(piece: CutPart, size: tuple[float, float], stock: Sequence[StockSheet]) -> InputError:
    largest = max(stock, key=lambda s: s.width_mm * s.height_mm)
    return InputError(
        "stock",
        f"{largest.width_mm:g} x {largest.height_mm:g}",
        f"{piece.title} needs {size[0]:.1f} x {size[1]:.1f} mm and has no room on any sheet left; "
        "give a larger sheet or more of them, less margin, or allow quarter turns",
    )
