"""How every stack of the sheets at hand would do, the best first: plain values for programs, rows for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from holders.core.errors import InputError
from holders.design.height.stacks import SheetAtHand, StackChoice, glue_of, sheets_at_hand
from holders.design.model import Design
from holders.preset.resolve import Job
from holders.workshop.budget.contributors import sheets_below
from holders.workshop.budget.share import stack_chances
from holders.workshop.budget.tolerance import SHARP_SHARE
from holders.workshop.stock import OneMore, StockAnswer, pile, stacks_for

SHOWN, SHOWN_POOR = 12, 3
LIKELY = 0.9  # as the check on sharpness

BUILT_WORDS = "* this is the design's. "


@dataclass(frozen=True, slots=True)
class Stacks:
    """The answer for one holder: the sheets it can be made of, all stacks, and which of them was built (from 1).

    ``most`` is for each stack the chance that at least ``SHARP_SHARE`` of the picture is sharp.
    """

    sheets: tuple[SheetAtHand, ...]
    glue_mm: float
    glue_spread_mm: float
    answer: StockAnswer
    built: int | None
    most: tuple[float, ...]

    @property
    def priced(self) -> bool:
        """Whether the preset says what its sheets cost."""
        return any(sheet.price > 0 for sheet in self.sheets)

    @property
    def good(self) -> tuple[int, ...]:
        """The stacks, from 1, that make all of the picture sharp by their numbers, or most of it in all likelihood."""
        both = zip(self.answer.choices, self.most, strict=True)
        return tuple(n for n, (choice, most) in enumerate(both, 1) if choice.in_band or most >= LIKELY)

    @property
    def useful(self) -> tuple[int, ...]:
        """The stacks worth showing, from 1: the good ones, or else the best few; and the one that was built."""
        good = list(self.good)[:SHOWN]
        shown = good or list(range(1, min(SHOWN_POOR, len(self.answer.choices)) + 1))
        return tuple(shown if self.built is None or self.built in shown else [*shown, self.built])


def stacks_of(job: Job, design: Design) -> Stacks:
    """Every stack for a holder that is cut.

    Raises ``InputError`` for a printed holder, which has no stack.
    """
    if job.printer is not None:
        raise InputError("route", job.preset.route, "a printed ledge is no stack; take route laser or knife")
    answer, below, glue = stacks_for(job, design), sheets_below(design), glue_of(job.material)
    built = next((n for n, c in enumerate(answer.choices, 1) if _same(c, below)), None)
    choices = answer.choices
    most = stack_chances(job, design, [c.total_mm for c in choices], [c.spread_mm for c in choices])
    return Stacks(
        sheets_at_hand(job.material, job.preset), glue.thickness_mm, glue.spread_mm, answer, built, most
    )


def _same(choice: StackChoice, below: tuple[float, ...]) -> bool:
    return len(below) == choice.layers and all(
        abs(a - b) < 1e-6 for a, b in zip(sorted(below, reverse=True), choice.sheets_mm, strict=True)
    )


def stacks_summary(found: Stacks) -> dict[str, Any]:
    """Plain values, lengths in mm; ``chance`` is that the whole picture is sharp, ``chance_most`` that nine tenths are.

    ``price`` is there where the preset says what its sheets cost.
    """
    target, answer = found.answer.target, found.answer
    return {
        "sheets": [
            {"thickness": _round(s.thickness_mm), "tolerance": _round(s.tolerance_mm), "measured": s.measured}
            | ({"price": s.price} if found.priced else {})
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
        "shown": list(found.useful),
        "stacks": [
            _stack(number, choice, most) | ({"price": _round(choice.price)} if found.priced else {})
            for number, (choice, most) in enumerate(zip(answer.choices, found.most, strict=True), 1)
        ],
    }


def _stack(number: int, choice: StackChoice, most: float) -> dict[str, Any]:
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
        "chance_most": _round(most),
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


def stacks_columns(found: Stacks) -> tuple[str, ...]:
    """The heads of the table; with a price where the preset says it."""
    price = ("price",) if found.priced else ()
    return ("rank", "from the glass", "ledge", "off", f"{SHARP_SHARE:.0%} sharp", "all", *price, "band")


def stacks_rows(found: Stacks) -> list[tuple[str, ...]]:
    """The stacks worth showing as rows under :func:`stacks_columns`."""
    return [_row(found, number) for number in found.useful]


def _row(found: Stacks, number: int) -> tuple[str, ...]:
    choice, most = found.answer.choices[number - 1], found.most[number - 1]
    return (
        f"{number} *" if number == found.built else str(number),
        pile(choice).removesuffix(" mm"),
        f"{choice.total_mm:.2f}",
        f"{choice.error_mm:+.2f} ± {choice.spread_mm:.2f}",
        f"{100 * most:.0f} %",
        f"{100 * choice.chance:.0f} %",
        *((f"{choice.price:.2f}",) if found.priced else ()),
        _remark(choice),
    )


def stacks_title(found: Stacks) -> str:
    """What the table shows of how many, in words."""
    shown, good = len(found.useful), len(found.good)
    left = len(found.answer.choices) - shown
    what = (
        f"The {shown} best of {good} good stacks"
        if good > shown
        else f"{shown} good {'stack' if shown == 1 else 'stacks'}"
        if good
        else f"No good stack; the nearest {shown}"
    )
    rest = f"; {left} {'other' if left == 1 else 'others'} left out" if left else ""
    return f"{what}{rest}; lengths in mm"


def _remark(choice: StackChoice) -> str:
    return "sure" if choice.surely_in_band else "in" if choice.in_band else "misses"


def stacks_words(found: Stacks) -> tuple[str, ...]:
    """What stands above and below the table."""
    target = found.answer.target
    band = (
        "no ledge makes the whole picture sharp, as the film is not flat enough for the band"
        if target.empty
        else f"the whole picture is sharp from {target.low_mm:.2f} to {target.high_mm:.2f} mm"
    )
    sheets = ", ".join(f"{s.thickness_mm:g} ± {s.tolerance_mm:.2f}" for s in found.sheets)
    prices = (
        f"; prices in your currency: {', '.join(f'{s.price:g} for {s.thickness_mm:g} mm' for s in found.sheets)}"
        if found.priced
        else ""
    )
    told = "measured" if all(s.measured for s in found.sheets) else "as sold, not measured"
    return (
        f"ledge wanted {target.best_mm:.2f} mm above the holder's underside; {band}",
        f"sheets ({told}): {sheets} mm; each glued joint adds {found.glue_mm:.2f} ± {found.glue_spread_mm:.2f} mm"
        f"{prices}",
        f"{BUILT_WORDS if found.built else ''}{found.answer.verdict}",
    )


def _round(value: float) -> float:
    return round(value, 4) + 0.0
