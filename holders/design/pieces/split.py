"""Parts too large for the printer become pieces that interlock, named and marked; together they are the whole again."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import count
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from holders.core.errors import InputError
from holders.core.limits import MOST_JOINTS, MOST_PIECES
from holders.design.model import Groove, Joint, Part, Rect, Seam, Slab
from holders.design.model import Window as Film
from holders.design.parts.sections import outline_at, polygon
from holders.design.pieces.divide import Cell, Cut, divide
from holders.design.pieces.fits import fits_turned
from holders.design.pieces.joint import JointRules, Shape
from holders.design.pieces.pose import part_bounds
from holders.design.pieces.seams import body_of
from holders.design.plan.marks import lettered
from holders.facts.models import Printer
from holders.facts.tables import process
from holders.geometry.clip import ArcBook, transposed
from holders.geometry.outline import Outline, Point
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

GLUE_MM = 0.1  # gap on each side where the preset gives none: common practice, no source; measure a coupon
PRESS_MM = 0.05
WALL_MORE_MM = 0.05  # a joint's walls are two lines of the nozzle and this
HAIR_MM = 0.3  # a piece's own area is widened by this, so that chords take nothing from it
LETTERS = "ABCDEFGHJKLMNPRSTUVWXYZ"
OUT_MM = 0.5  # beside a seam, where one asks which piece a joint belongs to


@dataclass(frozen=True, slots=True)
class Split:
    """Parts and pieces in the order of the parts, the seams between them, and why a large part stayed whole."""

    parts: tuple[Part, ...]
    seams: tuple[Seam, ...]
    whole_because: str = ""

    def kept(self, grooves: Sequence[Groove]) -> tuple[Groove, ...]:
        """Those of a whole's texts that still stand on one of the parts."""
        there = {groove.text for part in self.parts for groove in part.grooves}
        return tuple(groove for groove in grooves if groove.text in there)

    @property
    def notes(self) -> tuple[str, ...]:
        """What the maker should know, in words."""
        found = [self.whole_because] if self.whole_because else []
        for name in dict.fromkeys(part.whole for part in self.parts if part.whole):
            mine = [part for part in self.parts if part.whole == name]
            joints = [joint for seam in self.seams if seam.part == name for joint in seam.joints]
            letters = ", ".join(joint.letter for joint in joints if joint.marked)
            title = mine[0].title.split(",")[0]
            found.append(
                f"the {title} comes in {len(mine)} pieces: lower each into its neighbour from above, all on one flat "
                f"plate, letter to letter ({letters or 'write them on by hand'})"
            )
        return tuple(found)


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A joint in bed coordinates and the cut it is on."""

    cut: Cut
    shape: Shape
    tongue: Outline
    socket: Outline
    root: Point
    number: int

    def beside(self, away: float) -> shapely.Point:
        """A point on the joint's middle line, ``away`` past the seam."""
        x, y = self.root
        return shapely.Point(x + away, y) if self.cut.axis == "x" else shapely.Point(x, y + away)


def split(job: Job, parts: Sequence[Part], windows: Sequence[Film], strips: Sequence[Rect] = ()) -> Split:
    """The parts of a printed holder, those too large for the plate in pieces (unless the preset says never).

    ``strips`` are plain parts of the frame's top where lettering may go that a seam would cut.
    """
    if job.printer is None:
        return Split(tuple(parts), ())
    rules = joint_rules(job.printer, job.preset)
    corners = tuple((x, y) for w in windows for x in (w.film.x, w.film.right) for y in (w.film.y, w.film.top))
    found: list[Part] = []
    seams: list[Seam] = []
    why = ""
    drawn = 0
    for part in parts:
        if (
            job.preset.split.mode == "never"
            or fits_plate(job.printer, part)
            or not _flat_enough(job.printer, part)
        ):
            found.append(part)
            continue
        _bounded(job.printer, part)
        made = _divided(part, corners, plate(job.printer), rules, job.preset.split.fit, drawn, tuple(strips))
        if made is None:
            why = _why(rules, part)
            found.append(part)
            continue
        pieces, mine = made
        found += pieces
        seams += mine
        drawn += sum(len(seam.joints) for seam in mine)
    return Split(tuple(found), tuple(seams), why)


def _bounded(printer: Printer | None, part: Part) -> None:
    """Raise ``InputError`` for a part that even without rails and joints would come in too many pieces."""
    x0, y0, x1, y1 = part_bounds(part)
    wide, deep = plate(printer)
    least = min(
        math.ceil((x1 - x0) / a) * math.ceil((y1 - y0) / b) if min(a, b) > 0 else MOST_PIECES + 1
        for a, b in ((wide, deep), (deep, wide))
    )
    if least > MOST_PIECES:
        assert printer is not None
        raise InputError(
            "printer.build_x_mm", printer.build_x_mm,
            f"the {part.title} would come in at least {least} pieces, and the most is {MOST_PIECES}: take a printer "
            'with a larger plate, or keep it whole with split.mode = "never"',
        )  # fmt: skip


def plate(printer: Printer | None) -> tuple[float, float]:
    """Width and depth of the printer's plate less its margins, mm."""
    assert printer is not None
    room = plate_room(printer)
    return room.width, room.height


def plate_room(printer: Printer) -> Rect:
    """Where on the printer's plate parts may lie, mm from the plate's corner."""
    margin = printer.margin_mm
    return Rect(margin, margin, printer.build_x_mm - 2 * margin, printer.build_y_mm - 2 * margin)


def fits_plate(printer: Printer | None, part: Part) -> bool:
    """Whether a part lies on the plate, turned or not."""
    x0, y0, x1, y1 = part_bounds(part)
    return fits_turned(x1 - x0, y1 - y0, *plate(printer))


def joint_rules(printer: Printer, preset: PlainPreset) -> JointRules:
    """Least wall and clearance of the joints."""
    return JointRules(2 * printer.nozzle_mm + WALL_MORE_MM, clearance_mm(preset))


def clearance_mm(preset: PlainPreset) -> float:
    """The gap on each side of a tongue: as the preset says, else by how the pieces are held."""
    table = preset.split
    if table.clearance_mm is not None:
        return float(table.clearance_mm)
    return PRESS_MM if table.fit == "press" else GLUE_MM


def _flat_enough(printer: Printer | None, part: Part) -> bool:
    assert printer is not None
    return part.z1 - part.z0 <= printer.build_z_mm


def _why(rules: JointRules, part: Part) -> str:
    least = rules.least_lap_mm
    return (
        f"the {part.title} is larger than the plate, and no straight seam crosses plain rails of at least "
        f"{least:.2f} mm only, clear of film corners, notches and feet: make layout.wall_mm larger, ask for fewer "
        "films, or leave the finger notches out"
    )


@lru_cache(maxsize=8)  # most changes to an insert leave its carrier as it is
def _divided(
    part: Part,
    corners: tuple[Point, ...],
    room: tuple[float, float],
    rules: JointRules,
    fit: Literal["glue", "press"],
    first: int,
    strips: tuple[Rect, ...],
) -> tuple[tuple[Part, ...], tuple[Seam, ...]] | None:
    """A part's pieces and the seams between them, joints numbered from ``first``; None where no seam finds room."""
    division = divide(body_of(part, corners), room, rules)
    if division is None or division.count < 2:
        return None
    if division.count > MOST_PIECES or division.joints > MOST_JOINTS:
        raise InputError(
            "split.mode", "auto",
            f"the {part.title} would come in {division.count} pieces with {division.joints} joints, and the most is "
            f'{MOST_PIECES} with {MOST_JOINTS}: take a printer with a larger plate, or keep it whole with "never"',
        )  # fmt: skip
    numbers = count(first)
    drawn = [_drawn(cut, shape, next(numbers)) for cut in division.cuts for shape in cut.line.drawn()]
    book = ArcBook()
    slabs = [(slab, book.area_of(slab.region)) for slab in part.slabs]
    loose = [(cell, piece) for cell in division.cells for piece in cell.pieces]
    cuts = [(cut, polygon(outline_at(cut, cut.z0))) for cut in part.cuts]
    masks = [_mask(cell, piece, drawn, book) for cell, piece in loose]
    names = [f"{part.name}-piece-{k}" for k in range(1, len(loose) + 1)]
    made = []
    for k, ((_, piece), mask) in enumerate(zip(loose, masks, strict=True)):
        made.append(
            replace(
                part,
                name=names[k],
                title=f"{part.title}, piece {k + 1} of {len(loose)} ({_where(piece, part)})",
                slabs=tuple(_clipped(slabs, mask, book)),
                cuts=tuple(cut for cut, area in cuts if mask.intersects(area)),
                grooves=(),
                whole=part.name,
            )
        )
    joints = [_joint(one, [piece for _, piece in loose], names) for one in drawn]
    made, joints = lettered(part, made, joints, process("print"), strips)
    seams = [
        Seam(
            part=part.name,
            role=part.role,
            axis=cut.axis,
            at_mm=cut.line.at,
            crossings=cut.line.crossings,
            joints=tuple(j for j, one in zip(joints, drawn, strict=True) if one.cut is cut),
            clearance_mm=rules.clearance_mm,
            fit=fit,
        )
        for cut in division.cuts
    ]
    return tuple(made), tuple(seams)


def _drawn(cut: Cut, shape: Shape, number: int) -> _Drawn:
    if cut.axis == "y":
        return _Drawn(cut, shape, shape.tongue, shape.socket, shape.root, number)
    return _Drawn(cut, shape, transposed(shape.tongue), transposed(shape.socket), shape.root[::-1], number)


def _mask(cell: Cell, piece: BaseGeometry, drawn: Sequence[_Drawn], book: ArcBook) -> BaseGeometry:
    """All that belongs to a piece: its part of the cell, its tongues, less the sockets for its neighbours'."""
    r = cell.rect
    own = piece.buffer(HAIR_MM, join_style="mitre").intersection(shapely.box(r.x, r.y, r.right, r.top))
    mine = [book.polygon(one.tongue) for one in drawn if piece.contains(one.beside(-OUT_MM))]
    theirs = [book.polygon(one.socket) for one in drawn if piece.contains(one.beside(OUT_MM))]
    area = shapely.union_all([own, *mine])
    return area.difference(shapely.union_all(theirs)) if theirs else area


def _clipped(slabs: Sequence[tuple[Slab, BaseGeometry]], mask: BaseGeometry, book: ArcBook) -> Iterator[Slab]:
    for slab, area in slabs:
        for region in book.regions(area.intersection(mask)):
            yield replace(slab, region=region)


def _joint(one: _Drawn, pieces: Sequence[BaseGeometry], names: Sequence[str]) -> Joint:
    low = next(n for p, n in zip(pieces, names, strict=True) if p.contains(one.beside(-OUT_MM)))
    high = next(n for p, n in zip(pieces, names, strict=True) if p.contains(one.beside(OUT_MM)))
    letter, shape = letter_of(one.number), one.shape
    return Joint(letter, shape.kind, low, high, one.root, one.tongue, one.socket, shape.play_mm)


def letter_of(number: int) -> str:
    """A, B, ... Z without I, O and Q, which read as figures, then A2, B2 ..."""
    turn, letter = divmod(number, len(LETTERS))
    return LETTERS[letter] + (str(turn + 1) if turn else "")


def _where(piece: BaseGeometry, part: Part) -> str:
    """Which end of the whole a piece is from, in the bed's words."""
    x0, y0, x1, y1 = part_bounds(part)
    px0, py0, px1, py1 = piece.bounds
    words = []
    for low, high, least, most, names in (
        (py0, py1, y0, y1, ("foot", "head")),
        (px0, px1, x0, x1, ("left", "right")),
    ):
        at_low, at_high = low - least < 1.0, most - high < 1.0
        if at_low and at_high:
            continue
        words.append(names[0] if at_low else names[1] if at_high else "middle")
    return " ".join(words)
