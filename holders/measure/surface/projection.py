"""Central projection of a flatbed's lens: where a point above the glass is seen, and the height that follows.

The lens sits over the middle of the glass width at the optical distance D from it. A point at ``x_mm`` from the axis
and ``z_mm`` above the glass is seen where its ray meets the glass, at x D / (D + z). Along the bed the carriage moves
with the lens, so there is no perspective that way.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]


def seen_at(x_mm: F64 | float, z_mm: F64 | float, lens_distance_mm: float) -> F64:
    """Where a point is seen on the glass, mm from the axis (x across from the axis, z above the glass, mm)."""
    return np.asarray(np.asarray(x_mm) * lens_distance_mm / (lens_distance_mm + np.asarray(z_mm)))


def height_from_move(move_mm: F64 | float, shift_mm: F64 | float, lens_distance_mm: float) -> F64:
    """Height above the glass of a point that was shifted by ``shift_mm`` and is seen to move by ``move_mm``."""
    return np.asarray(lens_distance_mm * (np.asarray(shift_mm) / np.asarray(move_mm) - 1.0))


def shift_from_move(move_mm: float, z_mm: float, lens_distance_mm: float) -> float:
    """Shift of a point at a known height ``z_mm`` that is seen to move by ``move_mm`` (mm)."""
    return move_mm * (lens_distance_mm + z_mm) / lens_distance_mm


def mm_of_height_per_mm(shift_mm: float, z_mm: float, lens_distance_mm: float) -> float:
    """How much height one mm of displacement stands for, at heights near ``z_mm`` (negative shift: negative)."""
    return -((lens_distance_mm + z_mm) ** 2) / (lens_distance_mm * shift_mm)
