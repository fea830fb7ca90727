"""Lines of curled, straight and bent pieces, for tests."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]


def curve(pieces: Sequence[tuple[float, float]], turn: float = 0.0, step: float = 0.02) -> F64:
    """Points (n, 2), mm, of a line made of (length mm, curl per m) pieces, centred on the middle of its chord."""
    kappa = np.concatenate([np.full(round(length / step), curl / 1000) for length, curl in pieces])
    angle = np.cumsum(kappa) * step
    points = np.cumsum(np.column_stack([np.cos(angle), np.sin(angle)]), axis=0) * step
    chord = points[-1] - points[0]
    back = turn - np.arctan2(chord[1], chord[0])
    points = points @ np.array([[np.cos(back), np.sin(back)], [-np.sin(back), np.cos(back)]])
    return points - 0.5 * (points[0] + points[-1])
