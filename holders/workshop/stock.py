"""How the stack of a holder that is cut ranks among all that its sheets make, and what one more sheet would change.

The search itself is the design's (:mod:`holders.design.height.stacks`): this module reports on what was built.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from holders.design.height.heights import ledge_target
from holders.design.height.stacks import (
    MOST_SHEETS,
    GlueLine,
    SheetAtHand,
    StackChoice,
    Target,
    choice_of,
    glue_of,
    nominal_sheet,
    rank,
    ranked,
    sheets_at_hand,
)
from holders.design.model import Design
from holders.preset.resolve import Job


@dataclass(frozen=True, slots=True)
class OneMore:
    """What one more sheet would change: its thickness and the best stack that uses it."""

    thickness_mm: float
    choice: StackChoice


@dataclass(frozen=True, slots=True)
class StockAnswer:
    """All stacks, the best first; what one more thickness would change (None: nothing); the verdict in words."""

    choices: tuple[StackChoice, ...]
    one_more: OneMore | None
    verdict: str
    target: Target

    @property
    def best(self) -> StackChoice:
        """The first of them."""
        return self.choices[0]

    @property
    def found(self) -> bool:
        """Whether any stack puts the picture in the band."""
        return self.best.in_band


def target_of(job: Job, design: Design) -> Target:
    """The ledge heights that the design aimed at."""
    h = design.heights
    return ledge_target(job, h.ledge_wanted + h.foot_protrusion + h.optics, h.film_reach)


def stacks_for(job: Job, design: Design) -> StockAnswer:
    """The search for one holder; thicknesses that the material is sold in count as what one could buy."""
    buyable = tuple(nominal_sheet(job.material, t) for t in job.material.stock_mm)
    return search(
        sheets_at_hand(job.material, job.preset), target_of(job, design), glue_of(job.material), buyable
    )


def search(
    sheets: Sequence[SheetAtHand],
    target: Target,
    glue: GlueLine,
    buyable: Sequence[SheetAtHand] = (),
    most_sheets: int = MOST_SHEETS,
) -> StockAnswer:
    """Rank every stack of ``sheets``; ``buyable`` are thicknesses that could be bought.

    Raises
    ------
    InputError
        When there is no sheet, too many kinds, or a thickness that is not positive.
    """
    choices = ranked(sheets, target, glue, most_sheets)
    more = _one_more(sheets, buyable, target, glue, most_sheets, choices[0])
    return StockAnswer(choices, more, _verdict(choices[0], more, target), target)


def _one_more(
    sheets: Sequence[SheetAtHand],
    buyable: Sequence[SheetAtHand],
    target: Target,
    glue: GlueLine,
    most: int,
    best: StackChoice,
) -> OneMore | None:
    """The bought thickness whose best stack ranks above ``best``; None when none does."""
    have = {s.thickness_mm for s in sheets}
    found: list[OneMore] = []
    for new in buyable:
        if any(abs(new.thickness_mm - t) <= new.tolerance_mm for t in have):
            continue  # a sheet of that name is at hand already
        tries = [
            choice_of((new, *rest), target, glue)
            for count in range(most)
            for rest in combinations_with_replacement((*sheets, new), count)
        ]
        found.append(OneMore(new.thickness_mm, min(tries, key=rank)))
    better = [m for m in found if rank(m.choice)[:2] < rank(best)[:2]]
    return min(better, key=lambda m: rank(m.choice)) if better else None


def pile(choice: StackChoice) -> str:
    """The sheets of a stack in words, from the glass up."""
    return " + ".join(f"{t:g}" for t in choice.sheets_mm) + " mm"


def make_up(job: Job, design: Design) -> str:
    """The sheet that would bring a stack nearer, in words; "" where no sheet of the material does."""
    if job.printer is not None or not (job.preset.material.sheets_mm or job.material.stock_mm):
        return ""
    more = stacks_for(job, design).one_more
    if more is None:
        return ""
    return f"get a sheet of {more.thickness_mm:g} mm"


def _verdict(best: StackChoice, more: OneMore | None, target: Target) -> str:
    text = f"{pile(best)} makes {best.total_mm:.2f} mm, "
    if best.in_band:
        text += f"{best.error_mm:+.2f} mm from the best height, ±{best.spread_mm:.2f} mm"
        if not best.surely_in_band:
            text += (
                f"; with its tolerances all of the picture is sharp in {100 * best.chance:.0f} of 100 cases"
            )
    elif target.empty:
        text += f"{best.error_mm:+.2f} mm from the best height; "
        text += "no stack makes the whole picture sharp, as no height does"
    else:
        miss = target.low_mm - best.total_mm if best.error_mm < 0 else best.total_mm - target.high_mm
        side = "under" if best.error_mm < 0 else "over"
        text = (
            f"no stack of these sheets reaches the band {target.low_mm:.2f} to {target.high_mm:.2f} mm; "
            f"the nearest, {text}{miss:.2f} mm {side} it"
        )
    if more is not None:
        where = "in the band" if more.choice.in_band else "still outside it"
        bought = pile(more.choice).removesuffix(" mm")
        text += (
            f"; a sheet of {more.thickness_mm:g} mm would make {bought} = {more.choice.total_mm:.2f} mm, "
            f"{where}, {more.choice.error_mm:+.2f} mm from the best height"
        )
    elif not best.in_band and not target.empty:
        text += "; no one further thickness that this material is sold in changes that"
    return text
