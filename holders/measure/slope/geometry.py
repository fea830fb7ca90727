"""Where along a scan which height is: the plain method, a target raised at one end by a known amount."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from holders.core.errors import InputError
from holders.measure.slope.profile import F64


@dataclass(frozen=True)
class SlopeGeometry:
    """A target that climbs ``rise_mm`` over the first ``run_mm`` of the scan, from ``start_height_mm``.

    The low end is at the scan's left or top edge (its long axis decides); ``reverse`` puts it at the right or
    bottom. What the scan shows beyond ``run_mm`` is not on the slope and is not measured.

    Raises
    ------
    InputError
        ``run_mm`` not above zero, ``rise_mm`` zero, anything not finite or beyond any bed (heights over 60 mm, a
        slope steeper than 1:2).
    """

    rise_mm: float
    run_mm: float
    start_height_mm: float = 0.0
    reverse: bool = False

    def __post_init__(self) -> None:
        for name, value in (
            ("--rise", self.rise_mm),
            ("--run", self.run_mm),
            ("--start-height", self.start_height_mm),
        ):
            if not math.isfinite(value):
                raise InputError(name, value, "give a length in mm")
        if self.run_mm <= 0 or self.run_mm > 2000:
            raise InputError(
                "--run", self.run_mm, "give the length in mm over which the target climbs, above zero"
            )
        if self.rise_mm == 0 or abs(self.rise_mm) > 60 or abs(self.rise_mm) > 0.5 * self.run_mm:
            raise InputError(
                "--rise",
                self.rise_mm,
                "give by how many mm the far end is higher: not zero, at most half the run",
            )
        if abs(self.start_height_mm) > 60:
            raise InputError(
                "--start-height", self.start_height_mm, "give the low end's height in mm above the glass"
            )

    def height(self, position_mm: F64) -> F64:
        """Height at distances from the low end, mm."""
        return np.asarray(self.start_height_mm + self.rise_mm * position_mm / self.run_mm)
