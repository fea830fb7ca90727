"""From what a caliper and a hand find on the coupon to the numbers that a preset wants, each with its uncertainty.

Kerf: a path cut on the line takes half the kerf from either side, so a hole comes out one kerf larger and a piece
one kerf smaller than drawn. Clearance: the tightest step that goes in by hand says what fits; the step below it says
how finely that is known. Height: printed heights follow a straight line of the drawn ones; its offset is the first
layer's squash, its slope the error of the machine's screw.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holders.core.errors import InputError
from holders.facts.habits import habit
from holders.facts.models import MOST_KERF_MM


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its standard uncertainty (one sigma), mm, from ``count`` readings."""

    value: float
    sigma: float
    count: int


@dataclass(frozen=True, slots=True)
class Clearance:
    """A gap on each side, mm: the least that goes in, its uncertainty, and what the pair had as drawn."""

    per_side_mm: float
    sigma_mm: float
    drawn_per_side_mm: float
    at_least: bool  # the tightest step of the coupon went in already: the true value may be smaller


@dataclass(frozen=True, slots=True)
class HeightCorrection:
    """Printed height = ``offset_mm`` + (1 + ``scale``) x drawn; standard uncertainties and their covariance.

    ``scale`` is fixed at 0 where only one height was measured.
    """

    offset_mm: float
    scale: float
    sigma_offset_mm: float
    sigma_scale: float
    covariance: float
    residual_mm: float

    def to_draw(self, wanted_mm: float) -> Measured:
        """What to draw so that ``wanted_mm`` comes out."""
        slope = 1 + self.scale
        drawn = (wanted_mm - self.offset_mm) / slope
        var = self.sigma_offset_mm**2 + (drawn * self.sigma_scale) ** 2 + 2 * drawn * self.covariance
        return Measured(drawn, math.sqrt(max(0.0, var)) / slope, 1)


def caliper_sigma() -> float:
    """Standard uncertainty of one reading: the usual limit taken as two sigma."""
    return habit("caliper") / 2


def kerf_from(
    holes: Sequence[tuple[float, float]] = (),
    pieces: Sequence[tuple[float, float]] = (),
    sigma_mm: float | None = None,
) -> Measured:
    """Kerf from (drawn, measured) sizes of holes and pieces that were cut on the line.

    The mean over all readings; its uncertainty is the larger of the caliper's and the readings' own scatter, over the
    root of their number. Snijlab's worked example: 2.0 x 4.0 drawn gives a hole of 2.2 x 4.2 and a piece of 1.8 x
    3.8 at a kerf of 0.2 mm.

    Raises
    ------
    InputError
        Without readings, or when they say a kerf that is negative or absurd: hole and piece were mixed up.
    """
    found = [measured - drawn for drawn, measured in holes] + [drawn - measured for drawn, measured in pieces]
    value = _mean("kerf", found, sigma_mm)
    if not -2 * value.sigma <= value.value <= MOST_KERF_MM:
        raise InputError(
            "material.kerf_mm",
            round(value.value, 3),
            "holes come out larger and pieces smaller than drawn; were they mixed up, or was a kerf set off already?",
        )
    return Measured(max(0.0, value.value), value.sigma, value.count)


def clearance_from(
    tightest_mm: float, kerf: Measured | None = None, step_mm: float = 0.1, least_mm: float = 0.0
) -> Clearance:
    """The gap per side of the tightest step that goes in, from its drawn play over the whole width.

    Cut on the line, the opening is one kerf wider and what enters one kerf narrower, so the real play is
    ``tightest_mm`` + 2 kerf. The next tighter step did not go in, so the true limit lies evenly within one step below:
    its standard uncertainty is step/sqrt(12) (JCGM 100:2008 4.3.7, from memory).

    Raises ``InputError`` for a negative play, or a step that is not positive.
    """
    if tightest_mm < 0 or not step_mm > 0:
        raise InputError(
            "clearance", tightest_mm, "type the number that is engraved beside the opening, over 100"
        )
    k = Measured(0.0, 0.0, 0) if kerf is None else kerf
    play = tightest_mm + 2 * k.value
    sigma = math.hypot(step_mm / math.sqrt(12), 2 * k.sigma) / 2
    return Clearance(play / 2, sigma, tightest_mm / 2, tightest_mm <= least_mm)


def joint_clearance_from(
    tightest_mm: float,
    drawn_thickness_mm: float,
    measured_thickness_mm: float,
    kerf: Measured | None = None,
    step_mm: float = 0.1,
) -> Clearance:
    """The same for the tongue on edge in a slot: there the sheet's thickness enters, which no kerf changes.

    Real play = drawn play + one kerf (of the slot) + what the sheet is thinner than drawn.

    Raises ``InputError`` for a negative play, or a step that is not positive.
    """
    if tightest_mm < 0 or not step_mm > 0:
        raise InputError(
            "clearance", tightest_mm, "type the number that is engraved beside the slot, over 100"
        )
    k = Measured(0.0, 0.0, 0) if kerf is None else kerf
    play = tightest_mm + k.value + drawn_thickness_mm - measured_thickness_mm
    sigma = math.sqrt(step_mm**2 / 12 + k.sigma**2 + caliper_sigma() ** 2) / 2
    return Clearance(play / 2, sigma, tightest_mm / 2, tightest_mm <= 0)


def height_correction_from(
    drawn_mm: Sequence[float], measured_mm: Sequence[float], sigma_mm: float | None = None
) -> HeightCorrection:
    """Least squares line through printed heights; one height gives an offset alone.

    The uncertainty uses the larger of the caliper's and the scatter about the line.

    Raises
    ------
    InputError
        When the lists differ in length, are empty, or all heights are one.
    """
    if len(drawn_mm) != len(measured_mm) or not drawn_mm:
        raise InputError("heights", len(measured_mm), "give one measured height for each drawn one")
    sigma = caliper_sigma() if sigma_mm is None else sigma_mm
    x, y = np.asarray(drawn_mm, dtype=float), np.asarray(measured_mm, dtype=float)
    if len(x) == 1:
        return HeightCorrection(float(y[0] - x[0]), 0.0, sigma, 0.0, 0.0, 0.0)
    spread = float(((x - x.mean()) ** 2).sum())
    if spread < 1e-9:
        raise InputError("heights", drawn_mm[0], "measure different heights, or one alone")
    slope = float(((x - x.mean()) * (y - y.mean())).sum() / spread)
    offset = float(y.mean() - slope * x.mean())
    left = y - offset - slope * x
    scatter = math.sqrt(float((left**2).sum()) / (len(x) - 2)) if len(x) > 2 else 0.0
    s = max(sigma, scatter)
    return HeightCorrection(
        offset,
        slope - 1,
        s * math.sqrt(1 / len(x) + float(x.mean()) ** 2 / spread),
        s / math.sqrt(spread),
        -(s**2) * float(x.mean()) / spread,
        float(np.abs(left).max()),
    )


def glue_line_from(stack_mm: float, sheets_mm: Sequence[float], sigma_mm: float | None = None) -> Measured:
    """What each joint adds: the glued stack less its sheets, over the joints.

    Raises ``InputError`` for fewer than two sheets or a stack thinner than its sheets by more than the caliper's doubt.
    """
    if len(sheets_mm) < 2:
        raise InputError("sheets_mm", len(sheets_mm), "glue at least two and measure each before")
    sigma = caliper_sigma() if sigma_mm is None else sigma_mm
    joints = len(sheets_mm) - 1
    value = (stack_mm - sum(sheets_mm)) / joints
    doubt = sigma * math.sqrt(1 + len(sheets_mm)) / joints
    if value < -3 * doubt:
        raise InputError("stack_mm", stack_mm, "thinner than the sheets it is made of: measure them again")
    return Measured(max(0.0, value), doubt, 1 + len(sheets_mm))


def _mean(field: str, values: Sequence[float], sigma: float | None) -> Measured:
    if not values:
        raise InputError(field, "(none)", "give at least one reading")
    if not all(math.isfinite(v) for v in values):
        raise InputError(field, values[0], "readings are plain numbers in mm")
    one = caliper_sigma() if sigma is None else sigma
    scatter = float(np.std(values, ddof=1)) if len(values) > 1 else 0.0
    return Measured(float(np.mean(values)), max(one, scatter) / math.sqrt(len(values)), len(values))
