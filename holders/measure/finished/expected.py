"""What a scan is measured against: the window, the picture and the surface that the design promised."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from holders.core.errors import InputError
from holders.measure.finished.reduce import F64

EdgeName = Literal["left", "right", "head", "foot"]
EDGES: tuple[EdgeName, ...] = ("left", "right", "head", "foot")


@dataclass(frozen=True)
class Box:
    """Upright rectangle, mm: corner of least x and least y (y down, as a scan is shown), width, height."""

    x: float
    y: float
    width: float
    height: float

    def __post_init__(self) -> None:
        numbers = (self.x, self.y, self.width, self.height)
        if not all(np.isfinite(n) for n in numbers) or self.width <= 0 or self.height <= 0:
            raise InputError("box", numbers, "give finite numbers, width and height above 0")


@dataclass(frozen=True)
class Expected:
    """One window of a design, as its scan should show it.

    ``window_mm`` (width, height) of the opening; ``picture`` the picture area relative to the opening's top left
    corner as shown in the scan (it may reach under the lips: negative x or y). ``rebate_edge`` leaves ``rebate_mm`` of
    clear border visible. ``heights_mm[j, i]`` predicted film surface above the glass at ``heights_y_mm[j]``,
    ``heights_x_mm[i]`` from the opening's corner; ``band_mm`` (low, high) heights that are sharp.
    """

    window_mm: tuple[float, float]
    picture: Box | None = None
    rebate_edge: EdgeName | None = None
    rebate_mm: float = 0.0
    heights_x_mm: F64 | None = None
    heights_y_mm: F64 | None = None
    heights_mm: F64 | None = None
    band_mm: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        if min(self.window_mm) <= 0:
            raise InputError("window_mm", self.window_mm, "give a width and a height above 0")
        if self.band_mm is not None and not self.band_mm[0] < self.band_mm[1]:
            raise InputError("band_mm", self.band_mm, "give the lower height first")
        if self.heights_mm is not None:
            x, y = self.heights_x_mm, self.heights_y_mm
            if x is None or y is None or self.heights_mm.shape != (len(y), len(x)):
                raise InputError("heights_mm", self.heights_mm.shape, "give x and y of its columns and rows")
            if not np.isfinite(self.heights_mm).all():
                raise InputError("heights_mm", "not finite", "give a height at every place")
