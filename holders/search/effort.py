"""What a holder takes to make, as numbers that can be compared."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holders.design.model import Design
from holders.preset.resolve import Job
from holders.workshop.cost import (
    filament_g,
    print_costs,
    print_hours,
    printed_rows,
    sheet_rows,
    small_rows,
    total_price,
)
from holders.workshop.nest.nest_job import Nested


@dataclass(frozen=True, slots=True)
class Effort:
    """Machine or hand time in minutes, the price where one is known, and picture hidden by lips in mm²; filament to
    have at hand in g and stock sheets, None where the route takes none or they are not laid out.
    """

    minutes: float
    cost: float | None
    hidden_mm2: float
    grams: float | None = None
    sheets: int | None = None


def effort_of(job: Job, design: Design, nested: Sequence[Nested]) -> Effort:
    """The effort of a design, with its pieces as ``nested`` on stock sheets (laser and knife)."""
    grams, count = None, None
    if job.printer is not None:
        costs = print_costs(job.material, job.printer, design)
        minutes = 60 * print_hours(job.printer, design, costs)
        grams = filament_g(costs)
        rows = printed_rows(job.material, job.printer, design, costs, job.preset.material.price_per_kg)
    else:
        minutes = sum(cut.seconds for one in nested for cut in one.cuts) / 60
        rows = (
            sheet_rows(job.material, job.preset, [n.nesting for n in nested], [n.cuts for n in nested])
            if nested
            else ()
        )
        count = sum(len(n.nesting.sheets) for n in nested) if nested else None
    hidden = sum((1 - w.seen) * w.picture.width * w.picture.height for w in design.windows)
    return Effort(minutes, total_price((*rows, *small_rows(job, design))), hidden, grams, count)
