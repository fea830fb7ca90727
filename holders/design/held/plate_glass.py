"""The sag of a glass plate on its four edges, as a grid: linear theory, which its stiffness makes exact enough."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from holders.film.models import Sheet

TERMS = 39  # odd terms of Navier's double series; the middle is then right to 1e-5 of itself
POINTS = 41


def plate_sag_mm(
    width_mm: float,
    height_mm: float,
    thickness_mm: float,
    *,
    modulus_mpa: float,
    poisson: float,
    density_kg_m3: float,
) -> tuple[NDArray[Any], NDArray[Any], NDArray[Any]]:
    """(x, y, w): positions in mm and ``w[j, i]``, how far the plate hangs below its edges at ``y[j], x[i]``, mm.

    Navier's series for a simply supported plate under its own weight; Timoshenko and Woinowsky-Krieger, Theory of
    Plates and Shells, § 28 (from memory).
    """
    plate = Sheet(
        width_mm=width_mm,
        height_mm=height_mm,
        thickness_mm=thickness_mm,
        modulus_mpa=modulus_mpa,
        poisson=poisson,
        density_kg_m3=density_kg_m3,
    )
    x, y = np.linspace(0, width_mm, POINTS), np.linspace(0, height_mm, POINTS)
    m = np.arange(1, TERMS + 1, 2)
    sin_x = np.sin(np.outer(x, m) * np.pi / width_mm)
    sin_y = np.sin(np.outer(y, m) * np.pi / height_mm)
    square = (m[:, None] / height_mm) ** 2 + (m[None, :] / width_mm) ** 2
    amplitude = 16 * plate.pressure_mpa / (np.pi**6 * plate.rigidity_nmm) / (np.outer(m, m) * square**2)
    return x, y, sin_y @ amplitude @ sin_x.T
