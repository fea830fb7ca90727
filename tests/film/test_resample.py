"""Heights between the points of a grid, against scipy's spline and against a cubic, which it must give back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline, RectBivariateSpline

from holders.film.resample import resampled, spline_rows
from tests.tolerance import within


@settings(max_examples=40, deadline=None)
@given(st.integers(4, 60), st.integers(4, 60), st.integers(0, 10_000))
def test_it_is_scipys_bivariate_spline(m: int, n: int, seed: int) -> None:
    """Reference: scipy.interpolate.RectBivariateSpline (FITPACK), degree 3, no smoothing, on uneven grids."""
    rng = np.random.default_rng(seed)
    x, y = (np.cumsum(rng.uniform(0.5, 2.0, k)) for k in (m, n))
    z = rng.normal(size=(n, m))
    at_x, at_y = (np.sort(rng.uniform(v[0], v[-1], 31)) for v in (x, y))
    found = resampled(x, y, z, at_x, at_y)
    expected = RectBivariateSpline(y, x, z)(at_y, at_x)
    assert within(found - expected, 1e-9 * np.abs(expected).max())


def test_one_direction_is_scipys_cubic_spline() -> None:
    """Reference: scipy.interpolate.CubicSpline, not-a-knot; beyond the ends too."""
    x = np.array([0.0, 1.0, 1.5, 4.0, 4.2, 7.0])
    points = np.linspace(-0.5, 7.5, 50)
    found = spline_rows(x, points)
    for k, values in enumerate(np.eye(x.size)):
        assert found[:, k] == pytest.approx(CubicSpline(x, values)(points), abs=1e-12)


def test_a_cubic_comes_back() -> None:
    x, points = np.array([-1.0, 0.0, 2.0, 3.0, 5.0]), np.linspace(-1, 5, 25)
    assert spline_rows(x, points) @ (x**3 - 4 * x) == pytest.approx(points**3 - 4 * points, abs=1e-11)


@pytest.mark.parametrize("nodes", [[0.0, 1.0, 2.0], [0.0, 2.0, 1.0, 3.0], [0.0, 1.0, 1.0, 2.0]])
def test_too_few_or_unordered_nodes_are_refused(nodes: list[float]) -> None:
    with pytest.raises(ValueError, match="four nodes"):
        spline_rows(np.array(nodes), np.array([0.5]))
