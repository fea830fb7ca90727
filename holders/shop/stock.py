"""Which of the sheets at hand to lay on one another so that the sharp plane lands in the focus band.

Every stack of up to four sheets is looked at; glue adds its line at each joint. Better, in this order: the nominal
plane inside the band; nearer to the best height (in steps of 0.05 mm, as nearer than that cannot be told); less
spread (same steps); fewer sheets; cheaper; flatter. Two layers of one thickness are taken as cut from one sheet, so
their errors add; different thicknesses err on their own.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from holders.design.heights import foot_protrusion, optics_mm
from holders.design.sheets import sheet_thicknesses
from holders.errors import InputError
from holders.facts.models import Material
from holders.preset.resolve import Job
from holders.shop.habits import habit

STEP_MM = 0.05
MOST_SHEETS = 4
MOST_KINDS = 16  # 4,844 stacks at most


@dataclass(frozen=True, slots=True)
class SheetAtHand:
    """A thickness that one has: how far it may be off, whether measured, what a sheet costs (any currency)."""

    thickness_mm: float
    tolerance_mm: float
    measured: bool = False
    price: float = 0.0
    warp_mm: float = 0.0  # over 300 mm, lying loose


@dataclass(frozen=True, slots=True)
class GlueLine:
    """What a joint adds, and how far that may be off, mm."""

    thickness_mm: float
    spread_mm: float


@dataclass(frozen=True, slots=True)
class Target:
    """Where the ledge should lie above the holder's underside: the band it must be in and the best height, mm."""

    low_mm: float
    best_mm: float
    high_mm: float
    sigma_mm: float = 0.0  # of the measured focus height


@dataclass(frozen=True, slots=True)
class StackChoice:
    """One stack, from the glass up, and what it does.

    ``worst_mm`` adds all tolerances; ``spread_mm`` is their root sum of squares (same sheet adds); ``chance`` that
    the ledge is in the band, errors of stock and glue taken as even within their limits and the sum as normal.
    """

    sheets_mm: tuple[float, ...]
    total_mm: float
    error_mm: float  # signed: above the best height is positive
    worst_mm: float
    spread_mm: float
    in_band: bool
    surely_in_band: bool  # whatever the tolerances do
    chance: float
    price: float
    warp_mm: float

    @property
    def layers(self) -> int:
        """How many sheets."""
        return len(self.sheets_mm)


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

    @property
    def best(self) -> StackChoice:
        """The first of them."""
        return self.choices[0]

    @property
    def found(self) -> bool:
        """Whether any stack puts the plane in the band."""
        return self.best.in_band


def usual_glue() -> GlueLine:
    """A thin film of glue, pressed."""
    return GlueLine(habit("glue-line"), habit("glue-spread"))


def sheets_at_hand(job: Job, prices: Sequence[float] | None = None) -> tuple[SheetAtHand, ...]:
    """The preset's measured sheets, or the material's nominal stock with its tolerance.

    ``prices`` goes with the thicknesses in rising order. Raises ``InputError`` when there are no sheets.
    """
    thick = sheet_thicknesses(job)
    cost = [0.0] * len(thick) if prices is None else list(prices)
    measured = bool(job.preset.material.sheets_mm)
    return tuple(
        SheetAtHand(
            t,
            habit("caliper") if measured else stock_tolerance(job.material, t),
            measured,
            p,
            habit(f"flatness-{job.material.family}"),
        )
        for t, p in zip(thick, cost, strict=True)
    )


def stock_tolerance(material: Material, thickness_mm: float) -> float:
    """How far a nominal sheet may be off, mm."""
    return material.stock_tolerance_mm + material.stock_tolerance_share * thickness_mm


def target_for(job: Job, wanted_plane_mm: float | None = None) -> Target:
    """The ledge heights that put the sharp plane in the band, feet and film optics taken off."""
    bed, other = job.bed, foot_protrusion(job) + optics_mm(job)
    best = bed.focus_height_mm if wanted_plane_mm is None else wanted_plane_mm
    return Target(
        bed.focus_height_mm - bed.focus_band_mm - other,
        best - other,
        bed.focus_height_mm + bed.focus_band_mm - other,
        bed.focus_sigma_mm,
    )


def stacks_for(job: Job, wanted_plane_mm: float | None = None, glue: GlueLine | None = None) -> StockAnswer:
    """The search for one job; thicknesses that the material is sold in count as what one could buy."""
    buyable = tuple(
        SheetAtHand(t, stock_tolerance(job.material, t), warp_mm=habit(f"flatness-{job.material.family}"))
        for t in job.material.stock_mm
    )
    return search(sheets_at_hand(job), target_for(job, wanted_plane_mm), glue or usual_glue(), buyable)


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
    _sound(sheets)
    choices = _ranked(sheets, target, glue, most_sheets)
    more = _one_more(sheets, buyable, target, glue, most_sheets, choices[0])
    return StockAnswer(choices, more, _verdict(choices[0], more, target))


def _sound(sheets: Sequence[SheetAtHand]) -> None:
    if not sheets:
        raise InputError("material.sheets_mm", "(empty)", "measure the sheets that you have and list them")
    if len(sheets) > MOST_KINDS:
        raise InputError(
            "material.sheets_mm", len(sheets), f"at most {MOST_KINDS} thicknesses; leave out the far ones"
        )
    for sheet in sheets:
        if not 0 < sheet.thickness_mm < math.inf or not 0 <= sheet.tolerance_mm < math.inf:
            raise InputError("material.sheets_mm", sheet.thickness_mm, "a thickness is a positive length")


def _ranked(
    sheets: Sequence[SheetAtHand], target: Target, glue: GlueLine, most: int
) -> tuple[StackChoice, ...]:
    found = [
        choice_of(picked, target, glue)
        for count in range(1, most + 1)
        for picked in combinations_with_replacement(sheets, count)
    ]
    return tuple(sorted(found, key=rank))


def rank(choice: StackChoice) -> tuple[bool, int, int, int, float, float, float, tuple[float, ...]]:
    """The order of stacks, the best least."""
    return (
        not choice.in_band,
        round(abs(choice.error_mm) / STEP_MM),
        round(choice.spread_mm / STEP_MM),
        choice.layers,
        choice.price,
        choice.warp_mm,
        abs(choice.error_mm),
        choice.sheets_mm,
    )


def choice_of(picked: Sequence[SheetAtHand], target: Target, glue: GlueLine) -> StackChoice:
    """What one stack does; the thickest sheet lies at the bottom, so that the lip is thin and shades least."""
    pile = sorted(picked, key=lambda s: -s.thickness_mm)
    joints = len(pile) - 1
    total = sum(s.thickness_mm for s in pile) + joints * glue.thickness_mm
    alike = Counter(pile)
    worst = sum(s.tolerance_mm for s in pile) + joints * glue.spread_mm
    spread = math.hypot(*(n * s.tolerance_mm for s, n in alike.items()), math.sqrt(joints) * glue.spread_mm)
    sigma = math.hypot(spread / math.sqrt(3), target.sigma_mm)
    solid = sum(s.thickness_mm for s in pile)
    return StackChoice(
        sheets_mm=tuple(s.thickness_mm for s in pile),
        total_mm=total,
        error_mm=total - target.best_mm,
        worst_mm=worst,
        spread_mm=spread,
        in_band=target.low_mm <= total <= target.high_mm,
        surely_in_band=target.low_mm <= total - worst and total + worst <= target.high_mm,
        chance=_chance(total, sigma, target),
        price=sum(s.price for s in pile),
        warp_mm=max(s.warp_mm for s in pile) * sum(s.thickness_mm**3 for s in pile) / solid**3,
    )


def _chance(total: float, sigma: float, target: Target) -> float:
    if sigma <= 0:
        return 1.0 if target.low_mm <= total <= target.high_mm else 0.0
    root = sigma * math.sqrt(2)
    high, low = (target.high_mm - total) / root, (target.low_mm - total) / root
    return 0.5 * (math.erf(high) - math.erf(low))


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


def _verdict(best: StackChoice, more: OneMore | None, target: Target) -> str:
    pile = " + ".join(f"{t:g}" for t in best.sheets_mm)
    if best.in_band:
        text = (
            f"{pile} mm makes {best.total_mm:.2f} mm, {best.error_mm:+.2f} mm from the best height, "
            f"±{best.spread_mm:.2f} mm"
        )
        if not best.surely_in_band:
            text += f"; tolerances may take it out of the band ({100 * best.chance:.0f} % it stays in)"
    else:
        miss = target.low_mm - best.total_mm if best.error_mm < 0 else best.total_mm - target.high_mm
        side = "under" if best.error_mm < 0 else "over"
        text = (
            f"no stack of these sheets reaches the band {target.low_mm:.2f} to {target.high_mm:.2f} mm; "
            f"the nearest, {pile} mm, makes {best.total_mm:.2f} mm, {miss:.2f} mm {side} it"
        )
    if more is not None:
        bought = " + ".join(f"{t:g}" for t in more.choice.sheets_mm)
        where = "in the band" if more.choice.in_band else "still outside it"
        text += (
            f"; a sheet of {more.thickness_mm:g} mm would make {bought} = {more.choice.total_mm:.2f} mm, "
            f"{where}, {more.choice.error_mm:+.2f} mm from the best height"
        )
    elif not best.in_band:
        text += "; no one further thickness that this material is sold in changes that"
    return text
