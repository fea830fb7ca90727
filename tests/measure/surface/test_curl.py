"""The curl that a measured surface tells: recovered within its sigma, and not told where the holder hides it."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from holders.measure.surface.curl import fit_curl, waves

F64 = NDArray[np.float64]
X, Y = (v.ravel() for v in np.meshgrid(np.linspace(0, 1, 20), np.linspace(0, 1, 24)))
WIDE = 0.09  # m


def arc(curl_per_m: float) -> F64:
    """A film 90 mm wide that rises as an arc between its edges, mm: chord squared times curl over eight, a parabola."""
    return np.asarray(3.0 + 1000 * curl_per_m * WIDE**2 / 8 * 4 * X * (1 - X))


def root_of(random: np.random.Generator) -> tuple[F64, F64]:
    """A measurement's covariance root, a tilt and a bowl, and one error drawn from it, mm."""
    cap = 16 * X * (1 - X) * Y * (1 - Y)
    root = np.stack([np.full(len(X), 0.02), 0.03 * cap, 0.02 * (2 * X - 1)], axis=1)
    return root, root @ random.standard_normal(3)


def test_the_curl_comes_back_within_its_sigma() -> None:
    # true by construction: R = c^2 / (8 h), the sagitta of a circle
    random, hits = np.random.default_rng(3), []
    for _ in range(40):
        true = float(random.uniform(-0.5, 1.5))
        root, error = root_of(random)
        unsure = waves(X, Y)
        z = arc(true) + error + unsure @ random.standard_normal(unsure.shape[1])
        found = fit_curl(z, root, arc, (-2.0, 3.0), unsure)
        hits.append(abs(found.per_m - true) < 2 * found.sigma_per_m)
        assert found.sigma_per_m < 0.2
    assert np.mean(hits) >= 0.85


def test_film_that_is_pressed_flat_tells_no_curl() -> None:
    root, error = root_of(np.random.default_rng(1))
    found = fit_curl(3.0 + error, root, lambda k: np.full(len(X), 3.0 + 0.002 * k), (-4.0, 8.0), waves(X, Y))
    assert found.open_low
    assert found.open_high
    assert found.sigma_per_m == pytest.approx(3.0)


def test_a_surface_that_no_curl_explains_says_less() -> None:
    root, _ = root_of(np.random.default_rng(1))
    bowl = 0.5 * np.sin(3 * np.pi * X) * np.sin(2 * np.pi * Y)
    plain = fit_curl(arc(1.0), root, arc, (-2.0, 3.0), waves(X, Y))
    odd = fit_curl(arc(1.0) + bowl, root, arc, (-2.0, 3.0), waves(X, Y))
    assert odd.sigma_per_m > 2 * plain.sigma_per_m
    assert odd.rest_mm > 0.2
