"""By what a test piece is judged: how far each reading may be off before something is wrong with machine or reading.

Readings within these limits are what a holder is planned with. Beyond them they are still used, up to
``MOST_STAIR_MM``: the design then draws heights and gaps so that they come out right.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.design.pieces.split import clearance_mm
from holders.facts.habits import habit
from holders.facts.models import Material, Printer
from holders.preset.tables.plain import PlainPreset
from holders.workshop.coupon.coupon import STEPS_MM, Coupon

MOST_STAIR_MM = 0.5  # more than a first layer pressed flat or lifted takes: common practice, no source


@dataclass(frozen=True, slots=True)
class Limits:
    """Limits of one test piece, mm; marks are hundredths of a mm of play over the whole width.

    Parameters
    ----------
    height_mm:
        Of a printed height from what is drawn; None where nothing is printed.
    bent_mm:
        Of the middle step's error from the mean of the other two's: two sides of a caliper's limit at a half each, and
        one whole, independent of one another.
    pair_mm:
        Between two readings that should be alike.
    hole_mm, plug_mm:
        Sides to expect at the kerf that the holder is cut with; None where nothing is burnt away.
    pocket_mark, slot_mark:
        The widest mark that the gaps of the holder, as it is drawn, allow; None for a slot that nothing depends on.
    glue_mm, glue_spread_mm:
        What a glue line adds, and how far that may be off.
    """

    height_mm: float | None
    bent_mm: float
    pair_mm: float
    hole_mm: float | None
    plug_mm: float | None
    pocket_mark: int
    slot_mark: int | None
    glue_mm: float
    glue_spread_mm: float


def limits(preset: PlainPreset, material: Material, printer: Printer | None, piece: Coupon) -> Limits:
    """Of the test piece of a holder in its material, from its printer if any."""
    caliper = habit("caliper")
    kerf = material.kerf_mm if preset.route == "laser" else 0.0
    play = 2 * preset.layout.clearance_mm - 2 * kerf  # plug and pocket are both cut on the line
    return Limits(
        height_mm=None if printer is None else printer.z_tolerance_mm,
        bent_mm=caliper * math.sqrt(1.5),
        pair_mm=caliper * math.sqrt(2.0),
        hole_mm=piece.square_mm + kerf if kerf else None,
        plug_mm=piece.plug_mm - kerf if kerf else None,
        pocket_mark=_mark(play),
        slot_mark=None if printer is None else _mark(2 * clearance_mm(preset)),
        glue_mm=material.glue_line_mm,
        glue_spread_mm=material.glue_spread_mm,
    )


def _mark(play_mm: float) -> int:
    """The widest mark of the test piece within a play; 0 where there is none."""
    within = [step for step in STEPS_MM if step <= play_mm + 1e-9]
    return round(100 * max(within, default=0.0))
