"""How every stack of the sheets at hand would do, the best first: plain values for programs, rows for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from holders.design.model import Design
from holders.design.stacks import SheetAtHand, StackChoice, glue_of, sheets_at_hand
from holders.errors import InputError
from holders.preset.resolve import Job
from holders.shop.contributors import sheets_below
from holders.shop.stock import OneMore, StockAnswer, pile, stacks_for

COLUMNS = ("rank", "from the glass up", "ledge mm", "off mm", "spread mm", "whole picture sharp", "")
SHOWN = 12


@dataclass(frozen=True, slots=True)
class Stacks:
    """The answer for one holder: the sheets it can be made of, all stacks, and which of them was built (from 1)."""

    sheets: tuple[SheetAtHand, ...]
    glue_mm: float
    glue_spread_mm: float
    answer: StockAnswer
    built: int | None


def stacks_of(job: Job, design: Design) -> Stacks:
    """Every stack for a holder that is cut.

    Raises ``InputError`` for a printed holder, which has no stack.
    """
    if job.printer is not None:
        raise InputError("route", job.preset.route, "a printed ledge is no stack; take route laser or knife")
    answer, below, glue = stacks_for(job, design), sheets_below(design), glue_of(job)
    built = next((n for n, c in enumerate(answer.choices, 1) if _same(c, below)), None)
    return Stacks(sheets_at_hand(job), glue.thickness_mm, glue.spread_mm, answer, built)


def _same(choice: StackChoice, below: tuple[float, ...]) -> bool:
    return len(below) == choice.layers and all(
        abs(a - b) < 1e-6 for a, b in zip(sorted(below, reverse=True), choice.sheets_mm, strict=True)
    )


def stacks_summary(found: Stacks) -> dict[str, Any]:
    """Plain values, lengths in mm; ``chance`` is that the whole picture is sharp."""
    target, answer = found.answer.target, found.answer
    return {
        "sheets": [
            {"thickness": _round(s.thickness_mm), "tolerance": _round(s.tolerance_mm), "measured": s.measured}
            for s in found.sheets
        ],
        "glue_line": _round(found.glue_mm),
        "glue_spread": _round(found.glue_spread_mm),
        "ledge_wanted": _round(target.best_mm),
        "ledge_band": None if target.empty else [_round(target.low_mm), _round(target.high_mm)],
        "reaches_band": answer.found,
        "built": found.built,
        "verdict": answer.verdict,
        "one_more": _one_more(answer.one_more),
        "stacks": [_stack(number, choice) for number, choice in enumerate(answer.choices, 1)],
    }


def _stack(number: int, choice: StackChoice) -> dict[str, Any]:
    return {
        "rank": number,
        "sheets": [_round(t) for t in choice.sheets_mm],
        "ledge": _round(choice.total_mm),
        "error": _round(choice.error_mm),
        "spread": _round(choice.spread_mm),
        "worst": _round(choice.worst_mm),
        "in_band": choice.in_band,
        "surely_in_band": choice.surely_in_band,
        "chance": _round(choice.chance),
        "warp_over_300": _round(choice.warp_mm),
    }


def _one_more(more: OneMore | None) -> dict[str, Any] | None:
    if more is None:
        return None
    choice = more.choice
    return {
        "thickness": _round(more.thickness_mm),
        "sheets": [_round(t) for t in choice.sheets_mm],
        "ledge": _round(choice.total_mm),
        "error": _round(choice.error_mm),
        "in_band": choice.in_band,
    }


def stacks_rows(found: Stacks, most: int = SHOWN) -> list[tuple[str, ...]]:
    """The first ``most`` stacks, and the one that was built if it comes later, as rows under ``COLUMNS``."""
    numbered = list(enumerate(found.answer.choices, 1))
    shown = numbered[:most] + [pair for pair in numbered[most:] if pair[0] == found.built]
    return [
        (
            str(number),
            pile(choice),
            f"{choice.total_mm:.2f}",
            f"{choice.error_mm:+.2f}",
            f"±{choice.spread_mm:.2f}",
            f"{100 * choice.chance:.0f} %",
            _remark(choice, number == found.built),
        )
        for number, choice in shown
    ]


def _remark(choice: StackChoice, built: bool) -> str:
    words = "sure" if choice.surely_in_band else "in the band" if choice.in_band else "misses the band"
    return f"{words}; this is the design's" if built else words


def stacks_words(found: Stacks) -> tuple[str, ...]:
    """What stands above and below the table."""
    target = found.answer.target
    band = (
        "no ledge makes the whole picture sharp, as the film is not flat enough for the band"
        if target.empty
        else f"the whole picture is sharp from {target.low_mm:.2f} to {target.high_mm:.2f} mm"
    )
    sheets = ", ".join(f"{s.thickness_mm:g} ± {s.tolerance_mm:.2f}" for s in found.sheets)
    told = "measured" if all(s.measured for s in found.sheets) else "as sold, not measured"
    return (
        f"ledge wanted {target.best_mm:.2f} mm above the holder's underside; {band}",
        f"sheets ({told}): {sheets} mm; each glued joint adds {found.glue_mm:.2f} ± {found.glue_spread_mm:.2f} mm",
        found.answer.verdict,
    )


def _round(value: float) -> float:
    return round(value, 4) + 0.0
