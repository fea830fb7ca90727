"""What to buy."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

from holders.core.lengths import measure
from holders.core.lines import Row
from holders.design.model import Design
from holders.facts.models import Material
from holders.facts.printing import usual_settings
from holders.output.draw.drafting.items import items
from holders.output.sheet.blocks import Block, Section, Table, Words
from holders.output.words.bench import bought
from holders.output.words.blackened import to_buy
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset
from holders.workshop.cost import print_costs, printed_rows, sheet_rows, small_rows, to_buy_name, total_price

if TYPE_CHECKING:
    from holders.workshop.nest.nest_job import Nested


def section(
    job: Job, design: Design, nested: Sequence[Nested] = (), not_nested: str = "", takes: Collection[str] = ()
) -> Section:
    """The shopping list and the parts.

    ``nested`` are the pieces on stock sheets, ``not_nested`` why they are not (laser and knife); ``takes`` is what the
    steps of the sheet use.
    """
    rows, words = (
        _printed(job, design)
        if job.printer is not None
        else _sheets(job.material, job.preset, nested, not_nested)
    )
    rows = (*rows, *small_rows(job, design))
    rows = (*rows, *bought(takes, job.material, rows))
    blocks: list[Block] = [_to_buy(rows)]
    total = total_price(rows)
    if total is not None:
        less = "" if all(row.price is not None for row in rows) else "; lines without a price are not in it"
        blocks.append(Words(f"In all {total:.2f} in your currency{less}."))
    if job.preset.material.finish == "matt-black":
        blocks.append(Words(to_buy(job.material)))
    if words:
        blocks.append(Words(words))
    spare = offcuts(nested)
    if spare:
        blocks.append(Words(f"{'; '.join(spare)}."))
    blocks += [_parts(design)]
    return Section("shopping", "To buy and to cut", tuple(blocks), leaf=1, half=True)


def _to_buy(rows: Sequence[Row]) -> Table:
    """The list, with a column of prices where any was given."""
    caption = "To buy or to find"
    if total_price(rows) is None:
        return Table(
            caption,
            ("what", "how much", "remark"),
            tuple((row.what, _much(row), row.note) for row in rows),
        )
    return Table(
        caption,
        ("what", "how much", "price, your currency", "remark"),
        tuple(
            (
                row.what,
                _much(row),
                "" if row.price is None else f"{row.price:.2f}",
                row.note,
            )
            for row in rows
        ),
    )


def _much(row: Row) -> str:
    unit = row.unit.removesuffix("s") if row.quantity == 1 and row.unit == "pieces" else row.unit
    return f"{row.quantity:g} {unit}"


def _printed(job: Job, design: Design) -> tuple[tuple[Row, ...], str]:
    assert job.printer is not None
    s = usual_settings(job.printer)
    costs = print_costs(job.material, job.printer, design, s)
    rows = printed_rows(
        job.material, job.printer, design, costs, job.preset.material.price_per_kg, job.preset.material.finish
    )
    return rows, (
        f"Estimated for walls of {measure(s.wall_mm)} mm, skins of {measure(s.skin_mm)} mm, "
        f"{100 * s.infill:.0f} % fill and a tenth more for failures; your slicer knows better."
    )


def _room(design: Design) -> str:
    """How large a printer's plate the parts need as they are laid, without brims."""
    from holders.workshop.plates import extent_mm, plates  # noqa: PLC0415 - loads the packer

    wide, deep = extent_mm(design.parts, plates(design.parts, design.plate))
    return f"{math.ceil(wide - 1e-6)} x {math.ceil(deep - 1e-6)}"


def _sheets(
    material: Material, preset: PlainPreset, nested: Sequence[Nested], not_nested: str
) -> tuple[tuple[Row, ...], str]:
    if not nested:
        lot = Row(
            to_buy_name(material, preset.material.finish), 1, "lot", "see the parts below", thing="material"
        )
        return (lot,), f"Not laid out on sheets: {not_nested}"
    return sheet_rows(material, preset, [n.nesting for n in nested], [n.cuts for n in nested]), ("")


def _parts(design: Design) -> Table:
    """The cut list, with the numbers of the picture."""
    rows = tuple((str(i.number), i.title, str(i.quantity), i.size) for i in items(design))
    room = f"; plate at least {_room(design)} mm" if design.route == "print" else ""
    return Table(f"Parts, by their numbers{room}", ("No.", "part", "pcs", "size, mm"), rows)


def offcuts(nested: Sequence[Nested]) -> list[str]:
    """Where much less than a whole sheet will do, its size in whole centimetres."""
    if not nested:
        return []
    from holders.output.draw.stock import needed_mm, offcut_does  # noqa: PLC0415 - loads the packers
    from holders.workshop.nest.nest_job import sheets_of  # noqa: PLC0415

    found = []
    for sheet in filter(offcut_does, sheets_of(nested)):
        size = " x ".join(str(math.ceil(side / 10 - 1e-6)) for side in sorted(needed_mm(sheet)))
        found.append(f"{sheet.thickness_mm:g} mm: an offcut of {size} cm will do")
    return found
