"""How a bed's colours focus: offsets of red, green and blue from their mean, and each one's height over the glass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holders.core.errors import InputError
from holders.measure.bed.record import Measured
from holders.measure.bed.shape import BedShape, fit_shape
from holders.measure.scan.spectra import F64

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


@dataclass(frozen=True)
class ColourShapes:
    """Each colour's own heights of best focus over the glass: ``shapes`` of red, green and blue."""

    shapes: tuple[BedShape, BedShape, BedShape]

    def apart(self, x_mm: F64, y_mm: F64) -> F64:
        """From the lowest to the highest colour at places (n,), mm."""
        return np.asarray(np.ptp([shape.at(x_mm, y_mm)[0] for shape in self.shapes], axis=0))


def colour_shapes(places: Sequence[Measured]) -> ColourShapes | None:
    """Each colour's shape over the places that show colours; None where these are too few or lie on one line.

    A place's sigma is taken for each colour's; the colours of one scan share most of it, so that two of them are known
    against each other better than each above the glass.
    """
    seen = [p for p in places if p.colours_mm is not None]
    try:
        red, green, blue = (
            fit_shape([p.model_copy(update={"height_mm": p.colours_mm[k]}) for p in seen if p.colours_mm])
            for k in range(3)
        )
    except InputError:
        return None
    return ColourShapes((red, green, blue))
