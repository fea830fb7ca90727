"""The hairpin spring of a catch: how it bends aside and how it holds, by beam theory.

Two legs side by side, joined by a half ring at one end. At the other end the outer leg is fast to its pad, and the
inner one carries the nose; so a force on the nose bends both legs, and the ring most.

Sources: beams by Castigliano's theorem (any handbook of mechanics); the ring's inner fibre by Winkler and Bach, the
twisted rectangle by Saint-Venant (both as in Roark's Formulas for Stress and Strain, from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spring:
    """A hairpin, mm: its legs' width and clear distance, from the nose to the ring, back to the pad, its thickness."""

    leg: float
    slot: float
    length: float
    back: float
    thick: float

    @property
    def radius(self) -> float:
        """Of the ring's middle line."""
        return (self.slot + self.leg) / 2

    @property
    def bent(self) -> float:
        """The integral of the squared lever over legs and ring, mm^3."""
        legs = (2 * self.length**3 + self.back**3) / 3
        ring, away = self.radius, self.length
        return legs + ring * (math.pi * away**2 + 4 * away * ring + math.pi * ring**2 / 2)

    def force_n(self, aside_mm: float, modulus_mpa: float) -> float:
        """What bends the nose so far aside, in the plane of the sheet."""
        return aside_mm * modulus_mpa * self.thick * self.leg**3 / 12 / self.bent

    def strain(self, aside_mm: float) -> float:
        """The greatest strain with the nose so far aside: at the ring's inner face, farthest from the nose."""
        moment = self.force_n(aside_mm, 1.0) * (self.length + self.radius)  # over the modulus
        inner = self.slot / 2
        neutral = self.leg / math.log((inner + self.leg) / inner)
        eccentric = self.radius - neutral
        return moment * (neutral - inner) / (self.leg * self.thick * eccentric * inner)

    def lift_mm(self, force_n: float, modulus_mpa: float, poisson: float) -> float:
        """How far a force from below lifts the nose, at most: the ring counted as straight, at the longest lever."""
        upright = self.leg * self.thick**3 / 12
        ring, beside = math.pi * self.radius, self.slot + self.leg
        bends = (2 * self.length**3 + self.back**3) / 3 + ring * (self.length + self.radius) ** 2
        twists = beside**2 * (self.length + self.back + ring)
        return force_n * (
            bends / (modulus_mpa * upright) + twists * 2 * (1 + poisson) / (modulus_mpa * self._torsion)
        )

    def lift_strain(self, force_n: float, modulus_mpa: float) -> float:
        """The strain that goes with that lift, at the ring."""
        return 6 * force_n * (self.length + self.radius) / (modulus_mpa * self.leg * self.thick**2)

    @property
    def _torsion(self) -> float:
        short, long = sorted((self.leg, self.thick))
        ratio = short / long
        return long * short**3 * (1 / 3 - 0.21 * ratio * (1 - ratio**4 / 12))


def long_enough(
    leg: float, slot: float, back: float, thick: float, aside_mm: float, most_strain: float
) -> Spring | None:
    """The shortest spring up to 80 mm long that ``aside_mm`` strains by ``most_strain`` at most; None where none is."""
    for half in range(16, 161):
        spring = Spring(leg, slot, half / 2, back, thick)
        if spring.strain(aside_mm) <= most_strain:
            return spring
    return None
