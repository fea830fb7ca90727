"""Which of the sheets at hand to lay on one another so that the ledge lands where the picture is sharp.

Every stack of up to four sheets is looked at; glue adds its line at each joint. Better, in this order: the ledge inside
the heights at which the whole picture is sharp; the smaller likely miss, a sheet counted as 0.05 mm (steps of 0.05 mm,
as nearer than that cannot be told); fewer sheets; cheaper; flatter. The likely miss is the root of the squared error
and the variance of the thickness. Two layers of one thickness are taken as cut from one sheet, so their errors add;
different thicknesses err on their own.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from holders.core.errors import InputError
from holders.facts.damp import swelling_mm
from holders.facts.habits import habit
from holders.facts.models import Material
from holders.preset.tables.plain import PlainPreset

STEP_MM = 0.05
WORTH_A_SHEET_MM = 0.05  # a further sheet must make the likely miss smaller by at least this much
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
    swelling_mm: float = 0.0  # thicker in damp air, thinner in dry


@dataclass(frozen=True, slots=True)
class GlueLine:
    """What a joint adds, and how far that may be off, mm."""

    thickness_mm: float
    spread_mm: float


@dataclass(frozen=True, slots=True)
class Target:
    """Where the ledge should lie above the holder's underside: the band it must be in and the best height, mm.

    The band is empty (``high_mm`` not above ``low_mm``) where the film rises or sags by more than is sharp.
    """

    low_mm: float
    best_mm: float
    high_mm: float
    sigma_mm: float = 0.0  # of the measured focus height

    @property
    def empty(self) -> bool:
        """No ledge height makes the whole picture sharp."""
        return self.high_mm <= self.low_mm


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

    @property
    def miss_mm(self) -> float:
        """The likely miss: root mean square of the error and of what the thickness may be off."""
        return math.hypot(self.error_mm, self.spread_mm / math.sqrt(3))


def sheet_thicknesses(material: Material, preset: PlainPreset) -> tuple[float, ...]:
    """The sheets at hand: the measured ones of the preset, else the material's nominal stock, rising.

    Raises ``InputError`` when the material has neither.
    """
    given = tuple(preset.material.sheets_mm)
    found = given or material.stock_mm
    if not found:
        raise InputError(
            "material.sheets_mm", "(empty)", "measure the sheets that you have and list them here"
        )
    return tuple(sorted(set(found)))


def stock_tolerance(material: Material, thickness_mm: float) -> float:
    """How far a nominal sheet may be off, mm."""
    thin = thickness_mm < material.thin_stock_mm
    share = material.thin_tolerance_share if thin else material.stock_tolerance_share
    return material.stock_tolerance_mm + share * thickness_mm


def nominal_sheet(material: Material, thickness_mm: float) -> SheetAtHand:
    """A sheet as it is sold, with the tolerance of its kind."""
    tolerance = stock_tolerance(material, thickness_mm)
    warp = habit(f"flatness-{material.family}")
    return SheetAtHand(thickness_mm, tolerance, warp_mm=warp, swelling_mm=swelling_mm(material, thickness_mm))


def sheet_prices(preset: PlainPreset) -> dict[float, float]:
    """What a sheet of each thickness costs; empty where the preset does not say. Of two alike the cheaper counts."""
    chosen = preset.material
    found: dict[float, float] = {}
    for thickness, price in zip(chosen.sheets_mm, chosen.sheet_prices, strict=False):
        found[thickness] = min(price, found.get(thickness, price))
    return found


def sheets_at_hand(material: Material, preset: PlainPreset) -> tuple[SheetAtHand, ...]:
    """The preset's measured sheets with their prices, or the material's nominal stock with its tolerance.

    Raises ``InputError`` when there are no sheets.
    """
    thick, prices = sheet_thicknesses(material, preset), sheet_prices(preset)
    measured = bool(preset.material.sheets_mm)
    warp = habit(f"flatness-{material.family}")
    return tuple(
        SheetAtHand(
            t,
            habit("caliper") if measured else stock_tolerance(material, t),
            measured,
            prices.get(t, 0.0),
            warp,
            swelling_mm(material, t),
        )
        for t in thick
    )


def glue_of(material: Material) -> GlueLine:
    """The glue line of the job's material: its row's, or what the preset measured."""
    return GlueLine(material.glue_line_mm, material.glue_spread_mm)


def ranked(
    sheets: Sequence[SheetAtHand], target: Target, glue: GlueLine, most: int = MOST_SHEETS
) -> tuple[StackChoice, ...]:
    """Every stack of up to ``most`` sheets, the best first.

    Raises
    ------
    InputError
        When there is no sheet, too many kinds, or a thickness that is not positive.
    """
    _sound(sheets)
    found = [
        choice_of(picked, target, glue)
        for count in range(1, most + 1)
        for picked in combinations_with_replacement(sheets, count)
    ]
    return tuple(sorted(found, key=rank))


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


def rank(choice: StackChoice) -> tuple[bool, int, int, float, float, float, tuple[float, ...]]:
    """The order of stacks, the best least."""
    return (
        not choice.in_band,
        round((choice.miss_mm + choice.layers * WORTH_A_SHEET_MM) / STEP_MM),
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
    damp = sum(s.swelling_mm for s in pile)  # all of them on the same day
    worst = sum(s.tolerance_mm for s in pile) + joints * glue.spread_mm + damp
    apart = (n * s.tolerance_mm for s, n in alike.items())
    spread = math.hypot(*apart, math.sqrt(joints) * glue.spread_mm, damp)
    sigma = math.hypot(spread / math.sqrt(3), target.sigma_mm)
    solid = sum(s.thickness_mm for s in pile)
    return StackChoice(
        sheets_mm=tuple(s.thickness_mm for s in pile),
        total_mm=total,
        error_mm=total - target.best_mm,
        worst_mm=worst,
        spread_mm=spread,
        in_band=not target.empty and target.low_mm <= total <= target.high_mm,
        surely_in_band=not target.empty
        and target.low_mm <= total - worst
        and total + worst <= target.high_mm,
        chance=_chance(total, sigma, target),
        price=sum(s.price for s in pile),
        warp_mm=max(s.warp_mm for s in pile) * sum(s.thickness_mm**3 for s in pile) / solid**3,
    )


def _chance(total: float, sigma: float, target: Target) -> float:
    if target.empty:
        return 0.0
    if sigma <= 0:
        return 1.0 if target.low_mm <= total <= target.high_mm else 0.0
    root = sigma * math.sqrt(2)
    high, low = (target.high_mm - total) / root, (target.low_mm - total) / root
    return 0.5 * (math.erf(high) - math.erf(low))
