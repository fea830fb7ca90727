"""Steel bars on a lid, as weight and as stiffness: whoever weighs or bends a lid asks here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from holders.design.model import Design, Part, Rect
from holders.facts.constants import GRAVITY_M_S2, constant

STEEL_POISSON = 0.3  # any table of materials, from memory


@dataclass(frozen=True, slots=True)
class LaidBar:
    """A bar where it lies: seen from above, and between two heights above the glass, mm."""

    rect: Rect
    z0: float
    z1: float

    @property
    def weight_n(self) -> float:
        """Its weight, N."""
        volume = self.rect.width * self.rect.height * (self.z1 - self.z0)
        return volume * 1e-9 * constant("steel-density") * GRAVITY_M_S2

    @property
    def upright(self) -> bool:
        """Whether it runs along y."""
        return self.rect.height > self.rect.width

    @property
    def stiffness_nmm2(self) -> float:
        """E I of its section against bending up and down, N mm²."""
        wide = self.rect.width if self.upright else self.rect.height
        return constant("steel-modulus") * wide * (self.z1 - self.z0) ** 3 / 12

    @property
    def torsion_nmm2(self) -> float:
        """G J of its section, N mm²: a rectangle's torsion constant (Roark's Formulas, from memory)."""
        wide = self.rect.width if self.upright else self.rect.height
        low, long = sorted((wide, self.z1 - self.z0))
        constant_mm4 = low**3 / 3 * long - 0.21 * low**4 * (1 - low**4 / (12 * long**4))
        return constant("steel-modulus") / (2 * (1 + STEEL_POISSON)) * constant_mm4

    def span(self) -> tuple[float, float]:
        """From where to where it runs, on the axis along which it lies."""
        r = self.rect
        return (r.y, r.top) if self.upright else (r.x, r.right)


def bars_of(design: Design) -> tuple[LaidBar, ...]:
    """All bars on the lids of a holder."""
    plates = (plate for made in design.fitted for plate in made.plates if plate.on_lid)
    return tuple(LaidBar(rect, plate.z0, plate.z1) for plate in plates for rect in plate.places)


def bars_on(part: Part, bars: Sequence[LaidBar]) -> tuple[LaidBar, ...]:
    """Of these, the ones on a lid where it is drawn; its other places have the same."""
    x0, y0, x1, y1 = part.box
    box = Rect(x0, y0, x1 - x0, y1 - y0)
    return tuple(bar for bar in bars if box.overlaps(bar.rect))
