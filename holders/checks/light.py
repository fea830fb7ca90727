"""Light that an edge beside the picture throws at it: view factors, and the share of white that comes of it.

The lamp is taken as an even, diffuse plane much wider than any edge is high, and the film over the edge as fully clear:
the most light that there can be. An edge then gets at most half of what the lamp gives (a face at right angles to a
wide plane), scatters its reflectance of that, and the film's underside scatters a share of what comes from there toward
the lens. Every step is an upper bound.
"""

from __future__ import annotations

from holders.facts.habits import habit

EDGE_SEES_LAMP = 0.5  # a vertical face under a wide horizontal plane (any table of view factors)


def film_scatter(refractive_index: float) -> float:
    """Share of the light from below that the film's underside scatters back at most.

    What one face reflects at right angles, ((n - 1) / (n + 1))^2 (Fresnel), all of it taken as scattered, and what the
    picture's own grain adds.
    """
    return ((refractive_index - 1) / (refractive_index + 1)) ** 2 + habit("grain-scatter")


def veil(reflectance: float, view_factor: float, scatter: float) -> float:
    """Stray light at the film as a share of white, at most."""
    return EDGE_SEES_LAMP * reflectance * view_factor * scatter
