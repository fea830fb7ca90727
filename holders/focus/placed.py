"""Which pixels of a scan lie on the slope, and how high each is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.focus.cut import Part
from holders.focus.geometry import SlopeGeometry
from holders.focus.profile import F64
from holders.focus.spectra import Cells
from holders.focus.view import View


@dataclass(frozen=True)
class Placed:
    """A part of a view on a slope: height = ``base_mm`` + ``per_pixel_mm`` x stored pixel along.

    ``turn`` is the tangent by which the target is known to be turned, where that is known.
    """

    part: Part
    base_mm: float
    per_pixel_mm: float
    warnings: tuple[str, ...]

    def heights(self, cells: Cells) -> F64:
        """Heights of the cells' middles, mm."""
        a, b = self.part.along
        return np.asarray(self.base_mm + self.per_pixel_mm * (a + cells.centres(b - a)), dtype=float)

    @property
    def ends(self) -> tuple[float, float]:
        """Lowest and highest height on the part, mm."""
        h = [self.base_mm + self.per_pixel_mm * p for p in self.part.along]
        return min(h), max(h)


def place(view: View, geometry: SlopeGeometry) -> Placed:
    """Lay a plain slope on a scan."""
    far_end = geometry.reverse != view.flipped
    run = geometry.run_mm / view.pitch_mm
    length = min(int(run + 0.5), view.along)
    warnings = []
    told = f"the scan is {view.along * view.pitch_mm:.1f} mm long by its resolution, the run {geometry.run_mm:.1f} mm"
    if view.along > 1.02 * run:
        warnings.append(f"{told}: only the run is measured; is the resolution right?")
    elif view.along < 0.9 * run:
        warnings.append(f"{told}: the far part of the slope is not in it; is the resolution right?")
    span = (view.along - length, view.along) if far_end else (0, length)
    step = geometry.rise_mm / run
    base = geometry.start_height_mm + (step * view.along if far_end else 0.0)
    return Placed(Part(span, (0, view.across)), base, -step if far_end else step, tuple(warnings))
