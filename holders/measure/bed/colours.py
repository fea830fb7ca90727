"""How far a bed's colours focus apart: offsets of red, green and blue from their mean, over the places measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holders.measure.bed.record import Measured

NAMES = ("red", "green", "blue")


@dataclass(frozen=True)
class Colours:
    """``offset_mm`` of red, green and blue above the mean of the three, with ``sigma_mm``; ``places`` that show them.

    ``scatter_mm``: standard deviation of the offsets from place to place (0 with one place).
    """

    offset_mm: tuple[float, float, float]
    sigma_mm: tuple[float, float, float]
    scatter_mm: float
    places: int

    @property
    def apart_mm(self) -> float:
        """From the lowest to the highest colour."""
        return max(self.offset_mm) - min(self.offset_mm)


def colours_of(places: Sequence[Measured]) -> Colours | None:
    """Mean offsets with their standard errors; None where no place shows colours.

    A place's own sigma bounds an error from below: colours of one scan share most of their errors, so it is taken once.
    """
    seen = [p for p in places if p.colours_mm is not None]
    if not seen:
        return None
    heights = np.array([p.colours_mm for p in seen], float)
    offsets = heights - heights.mean(axis=1, keepdims=True)
    n = len(seen)
    own = float(np.sqrt(np.mean([p.sigma_mm**2 for p in seen]) / n))
    spread = offsets.std(axis=0, ddof=1) if n > 1 else np.zeros(3)
    sigma = np.maximum(spread / np.sqrt(n), own)
    red, green, blue = offsets.mean(axis=0).tolist()
    s = sigma.tolist()
    return Colours((red, green, blue), (s[0], s[1], s[2]), float(np.sqrt(np.mean(spread**2))), n)
