"""Film that curls both ways alike, as a drying emulsion bends it: a dome or one cylinder when free, neither when held.

Free, in closed form: a small sheet is a dome of the natural curl k both ways; a large one cannot stretch so, and is a
cylinder of (1 + ν) k (least bending energy with the other curvature at nothing: Mansfield, The Bending and Stretching
of Plates, and Freund, J. Mech. Phys. Solids 48 (2000) 1159, both from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from holders.design.held.dried import both_ways, dried_per_m
from holders.design.held.warm_film import warm_film
from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.surface import solve_surface
from tests.presets_made import job
from tests.simulators.lidded_shell import Film, Mesh, Model

LEDGE = Support(kind=Kind.LEDGE, lips=Lips.all_round(2.0), ledge_height_mm=30.0)
STUFF = {"thickness_mm": 0.18, "modulus_mpa": 4750.0, "poisson": 0.38}


def alike(side_mm: float, long_mm: float, curl_per_m: float, thickness_mm: float, density: float) -> Surface:
    """A sheet next to weightless, on its ledge, that would curl both ways alike."""
    sheet = Sheet(
        width_mm=side_mm,
        height_mm=long_mm,
        density_kg_m3=density,
        curl_x_per_m=curl_per_m,
        curl_y_per_m=curl_per_m,
        **{**STUFF, "thickness_mm": thickness_mm},
    )
    return solve_surface(sheet, LEDGE, resolution=8, tol=1e-6)


def bends_per_m(found: Surface) -> tuple[float, float]:
    """Curvature of the middle half across and along, by a parabola through it, 1/m."""
    z, n, m = found.deflection, len(found.x), len(found.y)
    i, j = slice(n // 4, 3 * n // 4 + 1), slice(m // 4, 3 * m // 4 + 1)
    across = np.polyfit(found.x[i], z[m // 2, i], 2)[0]
    along = np.polyfit(found.y[j], z[j, n // 2], 2)[0]
    return 2000 * abs(across), 2000 * abs(along)


def test_a_small_sheet_is_a_dome() -> None:
    assert bends_per_m(alike(20.0, 26.0, 0.1, 0.18, 10.0)) == pytest.approx((0.1, 0.1), rel=0.02)


def test_a_large_one_is_a_cylinder_of_more_curl() -> None:
    """The wider it is for its thickness, the nearer: the rims turn up over a length that goes with its root."""
    thin, thick = (sorted(bends_per_m(alike(100.0, 130.0, 3.0, *one))) for one in ((0.02, 0.1), (0.18, 10.0)))
    one, other = thin
    assert other == pytest.approx(1.38 * 3.0, rel=0.02)
    assert 0.95 * other < thick[1] < other
    assert one < 0.02 * other


def test_so_what_is_measured_free_is_shared_out_both_ways() -> None:
    """Natural curls whose free cylinder is the one stated: k_x + ν k_y (held straight along y)."""
    across, along = both_ways(9.0, 8.0, 0.0, 0.38)
    assert across + 0.38 * along == pytest.approx(9.0)
    assert along == pytest.approx(8.0 / 1.38)
    assert both_ways(4.0, 0.0, 1.5, 0.38) == (4.0, 1.5)


def test_a_shell_of_it_is_held_the_same() -> None:
    """A 4x5 sheet of 2 per m both ways on its ledge, against the geometrically exact shell: within 2 % or 0.01 mm."""
    film = Film(99.0, 125.0, 0.18, 4750.0, 0.38, 1390.0, curl_x_per_m=-2.0, curl_y_per_m=-2.0)
    known, found = Model(film, None, 3.0, Mesh(1, 8), quarter=True).solve("flat")
    assert found.stable
    sheet = Sheet(
        width_mm=99.0,
        height_mm=125.0,
        density_kg_m3=1390.0,
        curl_x_per_m=2.0,
        curl_y_per_m=2.0,
        emulsion="down",
        **STUFF,
    )
    support = Support(kind=Kind.LEDGE, lips=Lips.all_round(3.0), ledge_height_mm=30.0)
    ours = solve_surface(sheet, support, resolution=8, tol=1e-6)
    assert abs(ours.max_rise_mm - known.highest_mm) < max(0.01, 0.02 * known.highest_mm)


def test_how_much_of_a_curl_is_drying() -> None:
    """None inside where few are bare; nearly all of the excess far beyond; against films drawn one by one."""
    wanted = job(film={"format": "35mm-strip"}, base={"back_coat": "unknown"})
    air, base = warm_film(wanted), wanted.base
    assert air is not None
    rng = np.random.default_rng(3)
    count = 200_000
    own = rng.triangular(base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m, count)
    shares = rng.choice(np.array(air.coat_shares), count)
    way = rng.uniform(*air.span, count)
    part = shares * (air.cold_per_m + way * (air.warm_per_m - air.cold_per_m))
    for curl in (base.curl_high_per_m + 2.0, base.curl_high_per_m + 6.0, base.curl_per_m + air.warm_per_m):
        near = np.abs(own + part - curl) < 0.5
        assert dried_per_m(base, air, curl) == pytest.approx(part[near].mean(), abs=0.6)
    assert dried_per_m(base, None, 9.0) == 0.0
