"""The lens's distance from two scans of one film, the second with its holder raised by a known height.

A film that is raised by H is seen smaller across the bed, by (D + z) / (D + z + H), and as long as before along it. The
move of its detail across is therefore a slope over the place across: -H / (D + z + H). A shift, a turn and a wobble
of the carriage make no such slope, and distortion only where it changes over the little that the picture moves.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.surface.search import Moves2D

F64 = NDArray[np.float64]

LEAST_MM, MOST_MM = 1.0, 20.0
THICKNESS_MM = (
    0.015  # standard deviation of a height measured with a plain caliper (its accuracy is about two of them)
)
DISTORTION_CHANGE = 0.001  # of the slope: what a distortion of some 0.1 % leaves
FREEDOM, STEPS = 4.0, 40
MOST_SHARE = 0.1  # a lens distance less sure than this says nothing


@dataclass(frozen=True)
class LensDistance:
    """From glass to lens: ``distance_mm`` with ``sigma_mm``; ``windows`` places that were matched."""

    distance_mm: float
    sigma_mm: float
    windows: int


def lens_from_moves(moves: Moves2D, raised_mm: float, ledge_mm: float, ledge_sigma_mm: float) -> LensDistance:
    """Lens distance from the moves between a scan and one raised by ``raised_mm``; heights and moves in mm.

    Raises
    ------
    InputError
        Raised by too little or too much, or the moves show no smaller picture: a contact sensor, or not raised.
    """
    check_raised(raised_mm)
    x = moves.x - moves.x.mean()
    rows, names = np.unique(np.round(moves.y, 4), return_inverse=True)
    weight, noise = np.ones(len(x)), 1.0
    slope, sigma = 0.0, math.inf
    for _ in range(STEPS):
        w = weight / (noise * moves.sigma_u) ** 2
        total = np.maximum(np.bincount(names, w), 1e-300)
        flat_x = x - (np.bincount(names, w * x) / total)[names]
        flat_u = moves.u - (np.bincount(names, w * moves.u) / total)[names]
        power = float(np.sum(w * flat_x**2))
        slope, sigma = float(np.sum(w * flat_x * flat_u)) / power, power**-0.5
        rest = (flat_u - slope * flat_x) / moves.sigma_u
        noise = max(0.5, float(np.sqrt(np.sum(weight * rest**2) / max(len(x) - len(rows) - 1, 1))))
        weight = (FREEDOM + 1) / (FREEDOM + (rest / noise) ** 2)
    # neighbouring windows share what does not fit (sag, distortion): every third is its own measurement
    sigma = math.sqrt(3) * sigma
    if slope > -3 * sigma or slope >= -raised_mm / 3000:
        raise InputError(
            "--raised", raised_mm, "the second scan's picture is not smaller across the bed: the scanner has a contact "
            "sensor, or the holder was not raised (the raised scan comes second)"
        )  # fmt: skip
    distance = raised_mm * (1 + slope) / -slope - ledge_mm
    share = math.hypot(sigma / slope, THICKNESS_MM / raised_mm, DISTORTION_CHANGE)
    found = LensDistance(distance, math.hypot(distance * share, ledge_sigma_mm), len(x))
    if share > MOST_SHARE or not 50 <= distance <= 3000:
        words = f"the lens's distance comes out as {distance:.0f} ± {found.sigma_mm:.0f} mm, too unsure to be of use"
        raise InputError(
            "--raised",
            raised_mm,
            f"{words}; raise the holder by 3 to 5 mm, and scan a film with more detail",
        )
    return found


def check_raised(raised_mm: float) -> None:
    """Refuse a height that cannot be used."""
    if not (math.isfinite(raised_mm) and LEAST_MM <= raised_mm <= MOST_MM):
        raise InputError(
            "--raised", raised_mm, f"give mm between {LEAST_MM:g} and {MOST_MM:g}; 3 to 5 are best"
        )
