"""What to buy."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from holders.core.lengths import measure
from holders.core.lines import Row
from holders.design.model import Design
from holders.facts.printing import usual_settings
from holders.geometry.outline import bounds
from holders.output.sheet.blocks import Block, Items, Section, Table, Words
from holders.preset.resolve import Job
from holders.workshop.cost import print_costs, printed_rows, sheet_rows, small_rows, total_price

if TYPE_CHECKING:
    from holders.workshop.nest.nest_job import Nested


def section(job: Job, design: Design, nested: Sequence[Nested] = (), not_nested: str = "") -> Section:
    """The shopping list and the parts.

    ``nested`` are the pieces on stock sheets, ``not_nested`` why they are not (laser and knife).
    """
    rows, words = _printed(job, design) if job.printer is not None else _sheets(job, nested, not_nested)
    rows = (*rows, *small_rows(job, design))
    blocks: list[Block] = [_to_buy(rows)]
    total = total_price(rows)
    if total is not None:
        less = "" if all(row.price is not None for row in rows) else "; lines without a price are not in it"
        blocks.append(Words(f"In all {total:.2f} in your currency{less}."))
    if words:
        blocks.append(Words(words))
    blocks += [_parts(design), Items((_tools(design),))]
    return Section("shopping", "Shopping list", tuple(blocks))


def _to_buy(rows: Sequence[Row]) -> Table:
    """The list, with a column of prices where any was given."""
    caption = "To buy or to find"
    if total_price(rows) is None:
        return Table(
            caption,
            ("what", "how much", "remark"),
            tuple((row.what, f"{row.quantity:g} {row.unit}", row.note) for row in rows),
        )
    return Table(
        caption,
        ("what", "how much", "price, your currency", "remark"),
        tuple(
            (
                row.what,
                f"{row.quantity:g} {row.unit}",
                "" if row.price is None else f"{row.price:.2f}",
                row.note,
            )
            for row in rows
        ),
    )


def _printed(job: Job, design: Design) -> tuple[tuple[Row, ...], str]:
    assert job.printer is not None
    s = usual_settings(job.printer)
    costs = print_costs(job, design, s)
    return printed_rows(job, costs), (
        f"Grams and hours are an estimate: walls {measure(s.wall_mm)} mm and skins {measure(s.skin_mm)} mm solid, "
        f"{100 * s.infill:.0f} % fill inside, layers {measure(s.layer_mm)} mm, {measure(s.flow)} mm³ of plastic a "
        "second; a tenth more filament for start and failures. Your slicer knows better."
    )


def _sheets(job: Job, nested: Sequence[Nested], not_nested: str) -> tuple[tuple[Row, ...], str]:
    if not nested:
        return (
            Row(job.material.name, 1, "lot", "see the parts below"),
        ), f"Not laid out on sheets: {not_nested}"
    return sheet_rows(job, [n.nesting for n in nested], [n.cuts for n in nested]), (
        "" if job.preset.route == "laser" else "Metres are what the knife goes along; take your own time."
    )


def _parts(design: Design) -> Table:
    rows = []
    for part in design.parts:
        x0, y0, x1, y1 = bounds(part.slabs[0].region.outer)
        rows.append(
            (
                part.title,
                f"{part.quantity}",
                f"{measure(x1 - x0)} x {measure(y1 - y0)} x {measure(part.z1 - part.z0)}",
            )
        )
    return Table("Parts, from the glass up, mm", ("part", "pieces", "size"), tuple(rows))


def _tools(design: Design) -> str:
    more = {
        "print": "a fine file",
        "laser": "masking tape, a flat weight",
        "knife": "a fresh blade, steel straightedge, cutting mat, removable tape, a flat weight",
    }[design.route]
    return f"Tools: caliper (0.01 mm), blower, clean gloves, {more}."
