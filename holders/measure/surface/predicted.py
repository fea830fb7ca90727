"""The surface that the plate model predicts, laid over the opening that a scan shows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RegularGridInterpolator

from holders.measure.surface.shapes import Shapes

F64 = NDArray[np.float64]


@dataclass(frozen=True)
class Predicted:
    """Predicted heights over the ledge, mm: ``above_mm[j, i]`` at ``y_mm[j]``, ``x_mm[i]``.

    Places are mm from the opening's top left corner as the scan shows it; ``size_mm`` its width and height.
    """

    x_mm: F64
    y_mm: F64
    above_mm: F64
    size_mm: tuple[float, float]

    def at(self, shapes: Shapes, x_mm: F64, y_mm: F64) -> F64:
        """Heights over the ledge at places in the scan (mm), the opening laid on the one that is seen."""
        p, q = shapes.seen_unit(x_mm, y_mm)
        return self.over(p, q)

    def over(self, p: F64, q: F64) -> F64:
        """Heights over the ledge at shares 0..1 of the opening's width and height."""
        place = RegularGridInterpolator(
            (self.y_mm, self.x_mm), self.above_mm, bounds_error=False, fill_value=None
        )
        where = np.stack([np.clip(q, 0, 1) * self.size_mm[1], np.clip(p, 0, 1) * self.size_mm[0]], axis=-1)
        return np.asarray(place(where), float)
