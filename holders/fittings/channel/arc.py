"""The arc of a strip channel and what it adds to drawings and sheet."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

from holders.core.lengths import measure
from holders.design.model import Fitted
from holders.geometry.outline import Point


def drop_mm(radius: float, inner: float, x: float) -> float:
    """How far the arc lies below its height at ``inner``, ``x`` from its middle, mm (negative: above it)."""
    return math.sqrt(radius**2 - inner**2) - math.sqrt(radius**2 - x**2)


def where_mm(radius: float, inner: float, drop: float) -> float:
    """How far from the middle the arc has fallen by ``drop``: the inverse of :func:`drop_mm`."""
    return math.sqrt(radius**2 - (math.sqrt(radius**2 - inner**2) - drop) ** 2)


@dataclass(frozen=True, slots=True)
class Channel(Fitted):
    """The arc of a strip channel and its rails, across the strip; distances from the strip's middle, mm.

    ``low`` are the outer corners of the lower terraces from the ledge down, a layer each (the last is the floor's);
    ``high`` the inner corners of the lid's rails from its underside down, a layer each. ``lips``, ``lid_lips`` and
    ``rail_ends`` are how far from the film's head and foot edge the ledge and the lid reach over it, and where the
    lid's rails begin.
    """

    radius: float
    middle: float  # x of the first strip's middle on the bed
    inner: float  # outer corner of the top terrace: where the film lies at the ledge's height
    window: float  # half the window's width
    half: float  # half the film's width
    layer: float
    low: tuple[float, ...]
    high: tuple[float, ...]
    roof: float  # from the ledge to the lid's underside
    lid_edge: float  # half the width of the lid's opening
    play: float  # between film and lid
    length: float  # of the film
    lips: tuple[float, float]
    lid_lips: tuple[float, float]
    rail_ends: tuple[float, float]

    holds_film: ClassVar[bool] = True
    film_drawn: ClassVar[str] = "on its arc"

    def drop_mm(self, from_middle_mm: float) -> float:
        """How far the arc has fallen below the ledge."""
        return drop_mm(self.radius, self.inner, from_middle_mm)

    def drawn(self) -> tuple[str, ...]:
        """The arc and its terraces."""
        words = (
            f"The film lies on its arc, R {measure(self.radius, 0)}, on terraces {measure(self.layer)} high."
        )
        return (words,)

    def terraces(self) -> tuple[Point, ...]:
        """The lower rails."""
        found: list[Point] = []
        for k, corner in enumerate(self.low[:-1]):
            found += [(corner, k * self.layer), (corner, (k + 1) * self.layer)]
        return tuple(found)

    def floor_mm(self) -> float:
        """The depth of all terraces."""
        return (len(self.low) - 1) * self.layer

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """The strip between its rails."""
        return (
            "The strip arches over its window, its long edges on the terraced rails; the lid's rails press both edges "
            "down. Nothing touches it over the pictures. Take the lid off before you move a strip along.",
        )
