"""Where sharpness cannot be seen, the film's measured height says it: a place in the sharp band is sharp.

Sharpness counts wherever the scan shows it: it sees more than height (a shaken carriage, dust under the glass).
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RegularGridInterpolator
from scipy.stats import norm

from holders.measure.finished.blur.judge import LEAST_JUDGED, MOST_SIGMA, RIM_BLUR
from holders.measure.finished.blur.pattern import classify
from holders.measure.finished.blur.transfer import disc_share
from holders.measure.finished.reduce import F64
from holders.measure.finished.sharpness import SharpnessMap

SURE = 0.85  # chance from which a place is called sharp, or soft


def decided(
    map_: SharpnessMap, places: tuple[F64, F64], z_mm: F64, sigma_mm: F64, band_mm: tuple[float, float],
    band_sigma_mm: float,
) -> SharpnessMap:  # fmt: skip
    """The map with what geometry decides of the places that the scan does not.

    Parameters
    ----------
    map_:
        What sharpness says; places that it judges stay as they are.
    places:
        x (columns) and y (rows) of the heights, mm in the same scan.
    z_mm, sigma_mm:
        (y, x) measured heights above the glass with their standard deviation, nan where not known.
    band_mm, band_sigma_mm:
        Heights that are sharp, and how well their place is known.
    """
    if min(len(p) for p in places) < 2 or map_.grid.size == 0:
        return map_
    yy, xx = np.meshgrid(map_.y_mm, map_.x_mm, indexing="ij")
    at = np.stack([yy, xx], axis=-1)
    z, sigma = (
        np.asarray(RegularGridInterpolator((places[1], places[0]), v, bounds_error=False)(at), float)
        for v in (z_mm, sigma_mm)
    )
    spread = np.hypot(sigma, band_sigma_mm)
    low, high = band_mm
    with np.errstate(invalid="ignore"):
        chance = norm.cdf((high - z) / spread) - norm.cdf((low - z) / spread)
        sure = (chance > SURE) | (chance < 1 - SURE)
    judged = np.isfinite(map_.grid)
    new = np.isfinite(chance) & sure & ~judged
    if not new.any():
        return map_
    off = np.abs(z - (low + high) / 2) / ((high - low) / 2)
    grid = np.where(new, np.abs(disc_share(RIM_BLUR * off)), map_.grid)
    defocus = np.where(new, off, map_.defocus)
    in_band = np.where(new, chance > 0.5, map_.in_band)
    known = judged | new
    found = replace(
        map_, grid=grid, defocus=defocus, in_band=in_band, by_geometry=float(new.mean()),
        judged_fraction=float(known.mean()),
    )  # fmt: skip
    if map_.in_band_fraction is not None:
        return found
    share, doubt = _share(map_, chance, judged, z, spread, band_mm)
    if known.mean() < LEAST_JUDGED or doubt > MOST_SIGMA:
        return found
    pattern, explained = classify(defocus, known)
    return replace(
        found,
        in_band_fraction=share,
        in_band_sigma=doubt,
        pattern=pattern,
        explained=explained,
        roughly=share,
    )


def _share(
    map_: SharpnessMap, chance: F64, judged: NDArray[np.bool_], z: F64, spread: F64, band_mm: tuple[float, float]
) -> tuple[float, float]:  # fmt: skip
    """Share of the film in the band, and its standard deviation: a measured film is off as a whole."""
    known = np.isfinite(chance) | judged
    part = np.where(judged, map_.in_band.astype(float), np.nan_to_num(chance))
    low, high = band_mm
    share = [
        float(
            np.where(judged, map_.in_band, (low <= z + k * spread) & (z + k * spread <= high))[known].mean()
        )
        for k in (0, -1, 1)
    ]
    return float(part[known].mean()), max(0.02, *(abs(other - share[0]) for other in share[1:]))
