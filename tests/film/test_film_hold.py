"""The pull of magnets against closed forms."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from holders.film.hold import MU_0, Hold, MagnetPairs, pair_pull_n


def test_long_magnets_that_touch_pull_with_br_squared_a_over_two_mu_0() -> None:
    """The handbooks' limit: B fills the whole face."""
    area_m2 = math.pi * 2.5e-3**2
    assert pair_pull_n(5.0, 500.0, 0.0, 1.2) == pytest.approx(1.2**2 * area_m2 / (2 * MU_0), rel=2e-3)


@pytest.mark.parametrize(("across", "thick"), [(4.0, 1.0), (6.0, 2.0), (10.0, 3.0)])
def test_far_apart_they_are_dipoles(across: float, thick: float) -> None:
    """Two coaxial dipoles of moment Br V/mu0 at a distance r: 3 mu0 m^2/(2 pi r^4); a textbook formula, from memory."""
    gap = 25 * across
    moment = 1.2 / MU_0 * math.pi / 4 * across**2 * thick * 1e-9
    distance = (gap + thick) * 1e-3
    wanted = 3 * MU_0 * moment**2 / (2 * math.pi * distance**4)
    assert pair_pull_n(across, thick, gap, 1.2) == pytest.approx(wanted, rel=1e-2)


def axis_field_t(diameter_mm: float, thickness_mm: float, distance_mm: float, remanence_t: float) -> float:
    """Field on the axis of a cylinder magnet at a distance from its face, T: e-magnetica.pl, "magnet, cylindrical"."""
    r, far = diameter_mm / 2, distance_mm + thickness_mm
    return remanence_t / 2 * (far / math.hypot(r, far) - distance_mm / math.hypot(r, distance_mm))


def test_the_field_on_the_axis_at_the_face() -> None:
    """4 x 1 mm of 1.3 T: 0.29 T at its face; computed by hand from the formula that e-magnetica.pl prints."""
    assert axis_field_t(4.0, 1.0, 0.0, 1.3) == pytest.approx(0.2907, abs=5e-4)
    assert axis_field_t(4.0, 1.0, 13.0, 1.3) == pytest.approx(1.0e-3, rel=0.1)


@pytest.mark.parametrize("gap", [1.0, 2.0, 4.0])
def test_a_thin_wide_gap_pulls_less_than_the_axis_field_over_the_face(gap: float) -> None:
    """On the plane half way between the two the field is greatest on the axis: twice one magnet's field there.

    Maxwell's stress over the whole plane is at least what a face of the field's mean would give and the axis bounds it.
    """
    across, thick = 10.0, 3.0
    b = 2 * axis_field_t(across, thick, gap / 2, 1.2)
    wide = math.pi / 4 * (across + 2 * gap + 2 * thick) ** 2 * 1e-6
    assert 0 < pair_pull_n(across, thick, gap, 1.2) < b**2 * wide / (2 * MU_0)


def test_pull_falls_with_the_gap_and_adds_up() -> None:
    pulls = [pair_pull_n(4.0, 1.0, g) for g in (0.0, 0.2, 0.5, 1.0, 3.0, 10.0)]
    assert all(a > b > 0 for a, b in pairwise(pulls))
    pairs = MagnetPairs(pairs=2, diameter_mm=4.0, thickness_mm=1.0, gap_mm=0.4)
    hold = Hold(weight_n=0.1, extra_n=0.5, magnets=pairs)
    assert hold.force_n(0.1) == pytest.approx(0.6 + 2 * pair_pull_n(4.0, 1.0, 0.5))
