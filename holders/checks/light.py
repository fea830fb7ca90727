"""Light that an edge beside the picture throws at it: view factors, and the share of white that comes of it.

The lamp is taken as an even, diffuse plane much wider than any edge is high, and the film over the edge as fully clear:
the most light that there can be. An edge then gets at most half of what the lamp gives (a face at right angles to a
wide plane), scatters its reflectance of that, and the film's underside scatters a share of what comes from there toward
the lens. Every step is an upper bound.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from holders.facts.habits import habit

EDGE_SEES_LAMP = 0.5  # a vertical face under a wide horizontal plane (any table of view factors)


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


def film_scatter(refractive_index: float) -> float:
    """Share of the light from below that the film's underside scatters back at most.

    What one face reflects at right angles, ((n - 1) / (n + 1))^2 (Fresnel), all of it taken as scattered, and what the
    picture's own grain adds.
    """
    return ((refractive_index - 1) / (refractive_index + 1)) ** 2 + habit("grain-scatter")


def veil(reflectance: float, view_factor: float, scatter: float) -> float:
    """Stray light at the film as a share of white, at most."""
    return EDGE_SEES_LAMP * reflectance * view_factor * scatter
