"""Film that dries curls both ways: how much of a film's curl is its gelatin's drying, and what that is along the film.

An emulsion alike in all directions that shrinks on a flat base bends it as much along as across. A sheet cannot have
both (a dome would have to stretch), so it lies as a cylinder of 1 + ν times that curl, and that cylinder is what is
measured: the closed form for a sheet with natural curvatures k_x, k_y that is held straight along y is k_x + ν k_y.
Film that is held along its edges cannot choose: there both count. See docs/model.md, "Film, lid, curl, warmth".
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from holders.design.held.curl_odds import STEPS, quantile
from holders.design.other_films import WarmFilm
from holders.facts.models import FilmBase
from holders.film.models import Array

WAYS = 5  # from cold to warm
LEAST_PER_M, SHARE = 0.3, 0.02  # how far apart curls count as one: at least, and of all that there are


def both_ways(
    across_per_m: float, dried_per_m: float, along_per_m: float, poisson: float
) -> tuple[float, float]:
    """Natural curl across and along of film that lies as a cylinder of ``across_per_m`` when it is free, 1/m.

    ``dried_per_m`` of that it got by drying, both ways alike; ``along_per_m`` is what it curls along besides.
    """
    part = dried_per_m / (1 + poisson)
    return across_per_m - poisson * part, along_per_m + part


def dried_per_m(base: FilmBase, air: WarmFilm | None, curl_per_m: float) -> float:
    """How much of that curl films of a kind got by drying, averaged over those that curl so, 1/m."""
    if air is None or not (air.cold_per_m or air.warm_per_m):
        return 0.0
    span = base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m
    curls, dried = _films(span, air.coat_shares, air.cold_per_m, air.warm_per_m, air.span)
    wide = max(LEAST_PER_M, SHARE * float(np.ptp(curls)))
    at = min(max(curl_per_m, float(curls.min())), float(curls.max()))
    weight = np.exp(-0.5 * ((curls - at) / wide) ** 2)
    return float(weight @ dried / weight.sum())


@lru_cache(maxsize=32)
def _films(
    span: tuple[float, float, float],
    shares: tuple[float, ...],
    cold_per_m: float,
    warm_per_m: float,
    when: tuple[float, float],
) -> tuple[Array, Array]:
    """Films of equal chance: the curl of each, and how much of it is its drying."""
    own = np.array([quantile(*span, (k + 0.5) / STEPS) for k in range(STEPS)])
    ways = when[0] + (when[1] - when[0]) * (np.arange(WAYS) + 0.5) / WAYS
    dried = np.outer(shares, cold_per_m + ways * (warm_per_m - cold_per_m)).ravel()
    return np.add.outer(own, dried).ravel(), np.tile(dried, STEPS)
