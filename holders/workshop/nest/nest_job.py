"""Everything of a cut holder on sheets: one nesting for each thickness, its cuts in order, its lengths and times."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.design.model import Design, Part
from holders.design.pieces.cutting import CutPart, cut_part
from holders.facts.models import Material
from holders.preset.resolve import Job
from holders.workshop.nest.cut_order import SheetCuts, cut_order, usual_speeds
from holders.workshop.nest.nest import Nesting, Placement, SheetUse, StockSheet, nest
from holders.workshop.nest.pack import Turning


@dataclass(frozen=True, slots=True)
class Nested:
    """One thickness: where the pieces lie and how they are cut."""

    thickness_mm: float
    nesting: Nesting
    cuts: tuple[SheetCuts, ...]


@dataclass(frozen=True, slots=True)
class CutSheet:
    """One stock sheet of the whole job: its number from 1 through all thicknesses, what lies on it, how it is cut."""

    number: int
    thickness_mm: float
    use: SheetUse
    placements: tuple[Placement, ...]
    cuts: SheetCuts

    @property
    def file(self) -> str:
        """The name of its cutting file."""
        return f"stock-sheet-{self.number}.dxf"

    @property
    def inside(self) -> int:
        """How many pieces lie in what drops out of others."""
        return sum(spot.inside is not None for spot in self.placements)


def sheets_of(nested: Sequence[Nested]) -> tuple[CutSheet, ...]:
    """Every stock sheet of a job, thinnest first."""
    found: list[CutSheet] = []
    for kind in nested:
        for index, (use, cuts) in enumerate(zip(kind.nesting.sheets, kind.cuts, strict=True)):
            mine = tuple(spot for spot in kind.nesting.placements if spot.sheet == index)
            found.append(CutSheet(len(found) + 1, kind.thickness_mm, use, mine, cuts))
    return tuple(found)


def stock_of(material: Material) -> tuple[StockSheet, ...]:
    """The common sheet size of a material, as many as it takes.

    Raises ``InputError`` for a material that is not sold in sheets.
    """
    if material.sheet_width_mm is None or material.sheet_height_mm is None:
        raise InputError("material.sheet_width_mm", "(none)", "give the size of the sheets that you have")
    return (StockSheet(material.sheet_width_mm, material.sheet_height_mm, None, f"sheet of {material.name}"),)


def nest_job(
    job: Job,
    design: Design,
    *,
    stock: Sequence[StockSheet] | None = None,
    more: Sequence[Part] = (),
    copies: int = 1,
    turning: Turning = "any",
    spacing_mm: float | None = None,
    margin_mm: float | None = None,
) -> tuple[Nested, ...]:
    """Nest a holder's parts with a mask of its own sheet, and ``more`` (a coupon) of the same material, thinnest first.

    ``more`` goes with the sheets of its own thickness. ``copies`` holders are cut at once. Empty for route print.

    Raises ``InputError`` when a piece fits no sheet.
    """
    if job.preset.route == "print":
        return ()
    kerf = job.material.kerf_mm if job.preset.route == "laser" else 0.0
    own = (*design.parts, *design.of_sheet)
    parts = [replace(p, quantity=p.quantity * copies) for p in (cut_part(q, kerf) for q in own)]
    # a test piece is cut on the line: it measures the kerf
    parts += [cut_part(part, 0.0) for part in more]
    found = []
    for thickness, mine in by_thickness(parts):
        nesting = nest(
            mine,
            stock or stock_of(job.material),
            spacing_mm=spacing_mm,
            margin_mm=margin_mm,
            turning=turning,
        )
        cuts = cut_order(nesting, usual_speeds(job.preset.route, thickness))
        found.append(Nested(thickness, nesting, cuts))
    return tuple(found)


def by_thickness(parts: Sequence[CutPart]) -> tuple[tuple[float, tuple[CutPart, ...]], ...]:
    """Parts grouped by the sheet they are cut from, the thinnest first."""
    kinds = sorted({round(p.thickness_mm, 4) for p in parts})
    return tuple((t, tuple(p for p in parts if round(p.thickness_mm, 4) == t)) for t in kinds)
