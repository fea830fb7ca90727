"""What a holder takes to make, as numbers that can be compared."""

from __future__ import annotations

from dataclasses import dataclass

from holders.study import Study
from holders.workshop.cost import print_costs, printed_rows, sheet_rows, small_rows, total_price


@dataclass(frozen=True, slots=True)
class Effort:
    """Machine or hand time in minutes, the price where one is known, and picture hidden by lips in mm²."""

    minutes: float
    cost: float | None
    hidden_mm2: float


def effort_of(found: Study) -> Effort:
    """The effort of a judged design."""
    job, design = found.job, found.design
    if job.printer is not None:
        costs = print_costs(job.material, job.printer, design)
        minutes = 60 * sum(cost.hours * cost.quantity for cost in costs)
        rows = printed_rows(job, costs)
    else:
        sheets = found.nested
        minutes = sum(cut.seconds for nested in sheets for cut in nested.cuts) / 60
        rows = (
            sheet_rows(job.material, job.preset, [n.nesting for n in sheets], [n.cuts for n in sheets])
            if sheets
            else ()
        )
    hidden = sum((1 - w.seen) * w.picture.width * w.picture.height for w in design.windows)
    return Effort(minutes, total_price((*rows, *small_rows(job, design))), hidden)
