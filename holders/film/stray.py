"""Stray light at the film as plain geometry: view factors, and how much of it still does not show."""

from __future__ import annotations

import math
from collections.abc import Iterable

DENSITY, MAY_ADD = 2.0, 0.06  # a dense part of a negative, and by how much less dense it may look


def strip_view_factor(corners_mm: Iterable[tuple[float, float]]) -> float:
    """View factor from a small level face to a long wall below it, all of the wall up to the face's own plane.

    Parameters
    ----------
    corners_mm:
        The wall's profile: for each corner how far it stands to the side and how far below the face's plane.

    Only the corner seen nearest to straight down counts (Nusselt's unit circle): F = (1 - sin t) / 2, where t is its
    angle from straight down. For a plain wall of height h at distance d that is (1 - 1 / sqrt(1 + (h/d)^2)) / 2, the
    handbooks' small face and long strip at right angles.
    """
    sines = [aside / math.hypot(aside, down) for aside, down in corners_mm if down > 0]
    return (1.0 - min(sines, default=1.0)) / 2.0


def veil_limit() -> float:
    """How much stray light, as a share of white, makes a density of 2.0 look 0.06 less."""
    return float(10**-DENSITY * (10**MAY_ADD - 1))
