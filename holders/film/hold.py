"""What keeps a lid or a glass cover down on the film: its weight, what lies on it, and magnets against their gap.

The pull of a pair of equal magnets, one above the other, is that of two cylinders magnetised evenly along their axis,
each taken as two charged discs (Coulomb's model, from memory; on its axis it gives the field of a cylinder magnet that
e-magnetica.pl prints). Two such discs of radius R at a distance d pull each other with
(Br²/µ0) π R² ∫ J1²(q)/q exp(-q d/R) dq, and four pairs of discs add up. Two long magnets that touch come to the
Br² A/2µ0 of the handbooks; far apart the pull is that of two dipoles.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field

MU_0 = 4e-7 * math.pi  # H/m
REMANENCE_T = 1.2  # sintered neodymium, the weakest grade commonly sold: from memory
MAGNET_DENSITY_KG_M3 = 7500.0  # sintered neodymium: from memory
FARTHEST = 400.0  # end of the integral; beyond it J1² is taken as its mean, 1/(pi q)
STEPS = 40_000

Length = Annotated[float, Field(gt=0, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, allow_inf_nan=False)]


class MagnetPairs(BaseModel):
    """Pairs of equal disc magnets, one of each in the lid and one below it in the frame.

    ``gap_mm`` is the distance between their faces while the lid rests: air, glue and any material between them.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    pairs: Annotated[int, Field(ge=1)]
    diameter_mm: Length
    thickness_mm: Length
    gap_mm: NotNegative = 0.0
    remanence_t: Length = REMANENCE_T

    def pull_n(self, rise_mm: float) -> float:
        """Pull of all pairs on a lid that has risen so far, N."""
        return self.pairs * pair_pull_n(
            self.diameter_mm, self.thickness_mm, self.gap_mm + rise_mm, self.remanence_t
        )


class Hold(BaseModel):
    """What keeps one lid or glass cover down.

    ``weight_n`` is its own weight with its magnets', ``extra_n`` a force that does not change as it rises (a scanner's
    lid on it, a hand). ``most_rise_mm`` is how far it can rise until something stops it (catches).
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    weight_n: NotNegative
    extra_n: NotNegative = 0.0
    magnets: MagnetPairs | None = None
    most_rise_mm: NotNegative | None = None

    def force_n(self, rise_mm: float = 0.0) -> float:
        """What it presses with when it has risen so far, N."""
        pull = 0.0 if self.magnets is None else self.magnets.pull_n(rise_mm)
        return self.weight_n + self.extra_n + pull


def pair_pull_n(
    diameter_mm: float, thickness_mm: float, gap_mm: float, remanence_t: float = REMANENCE_T
) -> float:
    """Pull between two equal disc magnets on one axis, N.

    Parameters
    ----------
    diameter_mm, thickness_mm:
        Of each magnet.
    gap_mm:
        Between the faces that look at each other.
    remanence_t:
        Of the material, T.

    Source: the charged-disc model in the head of this module.
    """
    radius = diameter_mm / 2
    near, middle, far = (_discs((gap_mm + k * thickness_mm) / radius) for k in (0, 1, 2))
    area_m2 = math.pi * (radius * 1e-3) ** 2
    return remanence_t**2 / MU_0 * area_m2 * max(0.0, near - 2 * middle + far)


def _discs(distance: float) -> float:
    """∫ J1²(q)/q exp(-q distance) dq from 0 to infinity; ``distance`` in radii."""
    from scipy.special import expn  # noqa: PLC0415 - most lids have no magnets

    q, weight = _grid()
    tail = float(expn(2, FARTHEST * distance)) / (math.pi * FARTHEST)
    return float(weight @ np.exp(-q * distance)) + tail


@lru_cache(maxsize=1)
def _grid() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Middles of equal steps and J1²(q)/q times the step there."""
    from scipy.special import j1  # noqa: PLC0415

    step = FARTHEST / STEPS
    q = (np.arange(STEPS) + 0.5) * step
    return np.asarray(q, dtype=float), np.asarray(j1(q) ** 2 / q * step, dtype=float)
