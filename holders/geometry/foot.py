"""A foot as seen from above: round, or a strip along a rail."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.geometry.outline import Outline, Point, circle, rectangle
from holders.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class Foot:
    """An anti-slip foot: its middle on the underside and its size, mm."""

    x: float
    y: float
    diameter_mm: float  # of a round one; the width of a strip
    raise_mm: float = 0.0  # how much higher than the middle it stands, to follow a tilted bed
    length_mm: float = 0.0  # of a strip; 0: it is round
    upright: bool = False  # the strip lies along y

    @property
    def half(self) -> tuple[float, float]:
        """Half its size across and along the bed."""
        wide, long = self.diameter_mm / 2, max(self.length_mm, self.diameter_mm) / 2
        return (wide, long) if self.upright else (long, wide)

    @property
    def box(self) -> Rect:
        """The rectangle that it takes."""
        across, along = self.half
        return Rect(self.x - across, self.y - along, 2 * across, 2 * along)

    @property
    def core(self) -> tuple[Rect, float]:
        """A rectangle and how far the foot reaches round it: a round one's middle and radius, or the strip itself."""
        return (self.box, 0.0) if self.length_mm else (Rect(self.x, self.y, 0.0, 0.0), self.diameter_mm / 2)

    @property
    def bears(self) -> tuple[Point, ...]:
        """Where it carries: a round one in its middle, a strip at both ends, half its width from them."""
        in_by = max(0.0, self.length_mm - self.diameter_mm) / 2
        if in_by <= 0:
            return ((self.x, self.y),)
        if self.upright:
            return (self.x, self.y - in_by), (self.x, self.y + in_by)
        return (self.x - in_by, self.y), (self.x + in_by, self.y)

    @property
    def area_mm2(self) -> float:
        """What it presses on."""
        across, along = self.half
        return 4 * across * along if self.length_mm else math.pi * self.diameter_mm**2 / 4

    def outline(self, grow_mm: float = 0.0) -> Outline:
        """From above, larger all round by ``grow_mm``."""
        if not self.length_mm:
            return circle(self.x, self.y, self.diameter_mm / 2 + grow_mm)
        box = self.box.grown(grow_mm)
        return rectangle(box.x, box.y, box.width, box.height)
