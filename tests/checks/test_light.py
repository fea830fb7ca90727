"""View factors against numbers integrated another way, and the veil that comes of them."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holders.checks.film.flare import veil_limit
from holders.checks.light import film_scatter, strip_view_factor, veil


def by_quadrature(distance: float, height: float) -> float:
    """A small level face and a wall of the given height, endless both ways: the definition integrated.

    F = integral of cos a cos b / (pi r^2) over the wall; along the endless side with y = r0 tan u.
    """
    u, du = np.linspace(-math.pi / 2, math.pi / 2, 20001, retstep=True)
    z = (np.arange(4000) + 0.5) * height / 4000
    r0 = np.hypot(distance, z)  # nearest point of each line of the wall
    # cos a = z / r, cos b = distance / r, r = r0 / cos u, dy = r0 / cos^2 u du
    along = np.sum(np.cos(u) ** 2) * du / math.pi
    return float(np.sum(z * distance / r0**3) * height / 4000 * along)


@pytest.mark.parametrize(("distance", "height"), [(1.0, 3.0), (2.0, 2.8), (4.0, 1.0)])
def test_a_plain_wall(distance: float, height: float) -> None:
    handbook = 0.5 * (1 - 1 / math.sqrt(1 + (height / distance) ** 2))  # Siegel and Howell, from memory
    assert strip_view_factor([(distance, height)]) == pytest.approx(handbook, rel=1e-12)
    assert strip_view_factor([(distance, height)]) == pytest.approx(by_quadrature(distance, height), rel=1e-4)


def test_a_wall_at_the_face_fills_half_of_what_it_sees() -> None:
    assert strip_view_factor([(0.0, 3.0)]) == 0.5
    assert strip_view_factor([(3.0, 0.0)]) == 0.0


def test_a_slope_away_from_the_window_shows_less_wall() -> None:
    plain, sloped = strip_view_factor([(1.0, 3.0)]), strip_view_factor([(1.0, 0.8), (3.2, 3.0)])
    assert sloped == pytest.approx(0.5 * (1 - 3.2 / math.hypot(3.2, 3.0)), rel=1e-12)
    assert sloped < plain


def test_the_limit_is_a_density_of_two_that_looks_one_point_nine_four() -> None:
    assert -math.log10(10**-2.0 + veil_limit()) == pytest.approx(1.94, abs=1e-12)


def test_matt_black_passes_at_any_wall_and_white_at_none_that_is_near() -> None:
    scatter = film_scatter(1.48)
    assert scatter == pytest.approx(0.05 + 0.0375, abs=2e-4)  # Fresnel at n = 1.48: 0.0375
    for index in (1.48, 1.53, 1.64):  # acetate, glass, polyester
        assert veil(0.05, 0.5, film_scatter(index)) < veil_limit()
    assert veil(0.8, 0.1, scatter) > veil_limit()
