"""Places whose sharpness a scan does not show are decided by the film's measured height."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.finished.geometry import decided
from holders.measure.finished.sharpness import SharpnessMap

X, Y = np.linspace(2.5, 97.5, 20), np.linspace(2.5, 117.5, 24)
BAND = (2.7, 3.3)


def blind(share: float | None = None) -> SharpnessMap:
    """A map that judges its left quarter alone, and finds it soft there."""
    grid = np.full((24, 20), np.nan)
    grid[:, :5] = 0.3
    return SharpnessMap(
        grid, X, Y, np.zeros((24, 20), bool), share, 0.3, 0.25, "unclear", 0.0, None,
        np.where(np.isfinite(grid), 2.0, np.nan), 18.0,
    )  # fmt: skip


def heights(sigma: float) -> tuple[np.ndarray, np.ndarray]:
    """Sharp to the left of x = 60, half a millimetre too low beyond it."""
    x = np.linspace(0, 100, 26)
    z = np.tile(np.where(x < 60, 3.0, 2.2), (31, 1))
    return z, np.full_like(z, sigma)


def call(map_: SharpnessMap, sigma: float, band_sigma: float = 0.02) -> SharpnessMap:
    z, s = heights(sigma)
    return decided(map_, (np.linspace(0, 100, 26), np.linspace(0, 120, 31)), z, s, BAND, band_sigma)


def test_what_the_scan_does_not_show_follows_from_height() -> None:
    found = call(blind(), 0.05)
    assert found.in_band_fraction == pytest.approx(
        0.35, abs=0.03
    )  # of 100 mm 25 soft by sight, 35 sharp, 40 too low
    assert found.judged_fraction == pytest.approx(0.95)  # one column lies on the very edge of the band
    assert found.by_geometry == pytest.approx(0.7)
    assert not found.in_band[:, :5].any()  # what was seen stays
    assert found.in_band[:, 6:11].all()
    assert not found.in_band[:, 13:].any()
    assert np.isfinite(found.grid).mean() == pytest.approx(0.95)


def test_heights_too_unsure_decide_nothing() -> None:
    found = call(blind(), 0.4)
    assert found.in_band_fraction is None
    assert np.isnan(found.grid[:, 6:11]).all()
    assert found.by_geometry < 0.45  # half a millimetre out is surely soft all the same


def test_unknown_heights_stay_unjudged_and_a_share_that_was_seen_stays() -> None:
    z, sigma = heights(0.05)
    z[:10] = np.nan
    found = decided(blind(0.4), (np.linspace(0, 100, 26), np.linspace(0, 120, 31)), z, sigma, BAND, 0.02)
    assert found.in_band_fraction == 0.4
    assert np.isnan(found.grid[0, 10])
    assert 0.3 < found.by_geometry < 0.7
