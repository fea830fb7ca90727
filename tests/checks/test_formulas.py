"""Handbook values behind the checks, each with its source."""

from __future__ import annotations

import math

import pytest

from holders.checks.formulas import bow_curvature_per_m, bow_mm, cantilever_sag_mm, growth_mm, strip_sag_mm
from holders.checks.heat import Bow, Expansion, OwnWeight, Softening
from tests.checks.make_design import job, make

# computed per kelvin for t = 3 mm, L = 200 mm: alpha, curvature 1/m, height mm
PER_KELVIN = (
    (101e-6, 0.0337, 0.168),
    (72e-6, 0.0240, 0.120),
    (23e-6, 0.00767, 0.038),
    (4.5e-6, 0.0015, 0.0075),
)


@pytest.mark.parametrize(("alpha", "curvature", "height"), PER_KELVIN)
def test_bow_per_kelvin(alpha: float, curvature: float, height: float) -> None:
    kappa = bow_curvature_per_m(alpha, 1.0, 3.0)
    assert kappa == pytest.approx(curvature, rel=2e-3)
    assert bow_mm(kappa, 200.0) == pytest.approx(height, abs=0.0005)  # three places are given


def test_bow_is_the_arc_of_a_circle() -> None:
    radius_mm = 1000 / bow_curvature_per_m(65e-6, 5.0, 4.0)
    exact = radius_mm - math.sqrt(radius_mm**2 - 150.0**2)
    assert bow_mm(1000 / radius_mm, 300.0) == pytest.approx(exact, rel=1e-3)


def test_bow_of_equal_layers_is_the_bimetal_limit() -> None:
    """Two equal layers that differ by dalpha bend as 3 dalpha dT / (2 h).

    S. Timoshenko, Analysis of bi-metal thermostats, J. Opt. Soc. Am. 11 (1925) 233 (formula from memory); a worked
    example of a 3000 x 300 mm cantilever, dalpha 5e-6, 50 K, gives 5.625 mm (read). A linear gradient whose two
    halves differ by the same strain in the mean bends 4/3 as much, as it puts more strain far from the middle.
    """
    step = 3 * 5e-6 * 50 / (2 * 0.3)  # 1/m
    assert step / 1000 * 3000**2 / 2 == pytest.approx(5.625, abs=1e-9)
    warmer = 2 * 50 * 5e-6  # the gradient whose halves differ by as much in the mean
    assert bow_curvature_per_m(warmer, 1.0, 300.0) * 3 / 4 == pytest.approx(step, rel=1e-12)


def test_strip_sag_is_the_strip_limit_of_plate_tables() -> None:
    """5/384 = 0.0130208 q L^4 / D for a long simply supported plate (exact; plate tables print 0.01302)."""
    q = 1270 * 9.81 * 4.0 * 1e-9
    D = 2000 * 4.0**3 / 12
    assert strip_sag_mm(1270, 2000, 4.0, 250, 1.0) / (q * 250**4 / D) == pytest.approx(0.01302, abs=1e-5)
    assert strip_sag_mm(1270, 2000, 4.0, 250, 2.0) == pytest.approx(
        2 * strip_sag_mm(1270, 2000, 4.0, 250, 1.0)
    )


def test_cantilever_hangs_by_nine_point_six_beams() -> None:
    """Tip of a cantilever qL^4/8EI against the middle of a beam 5qL^4/384EI: 384/40 = 9.6."""
    assert cantilever_sag_mm(1000, 3000, 3, 100) == pytest.approx(9.6 * strip_sag_mm(1000, 3000, 3, 100, 1.0))


def test_growth_by_warmth() -> None:
    """Cast acrylic, 77e-6 per kelvin (a supplier's page, read): 300 mm grow 0.231 mm in 10 K."""
    assert growth_mm(300, 77e-6, 10, 0.0, 20.0) == pytest.approx(0.231)


def test_growth_by_damp() -> None:
    """Plywood, 2e-5 per % relative humidity (an association's bulletin, read second-hand): 0.12 mm in 300 for 20 %."""
    assert growth_mm(300, 0.0, 0.0, 2e-5, 20.0) == pytest.approx(0.12)


def test_growth_of_coated_polyester_film() -> None:
    """Coated film: about twice 8e-6 per % humidity, 40 to 80 µm on 500 mm for ±5 % (a film maker's page, read)."""
    assert growth_mm(500, 0.0, 0.0, 2 * 8e-6, 5.0) == pytest.approx(0.04)
    assert growth_mm(500, 0.0, 0.0, 2 * 8e-6, 10.0) == pytest.approx(0.08)


def test_bow_rule_reports_free_bow_less_its_own_weight() -> None:
    (found,) = Bow().check(job(bed={"face_difference_k": 6.0}), make())
    free = 65e-6 * 6 / 4.6 * 296**2 / 8
    pressed = 1270 * 9.81e-9 * 12 * 148**4 / (8 * 2000 * 4.6**2)
    assert found.measured == pytest.approx(free - pressed, abs=1e-4)
    assert found.limit == pytest.approx(0.3)
    assert f"free bow {free:.2f} mm" in found.where


def test_frame_sag_carries_the_lid_too() -> None:
    plain = next(OwnWeight().check(job(), make()))
    heavy = next(OwnWeight().check(job(), make(total_height=5.1 + 1.15)))
    assert plain.measured == pytest.approx(5 * 12 * 1270 * 9.81e-9 * 277**4 / (384 * 2000 * 4.6**2), abs=1e-4)
    assert float(heavy.measured or 0) == pytest.approx(float(plain.measured or 0) * 1.25, abs=2e-4)


def test_frame_cannot_hang_below_the_glass() -> None:
    (found,) = OwnWeight().check(job(material={"modulus_mpa": 50.0}), make())
    assert found.measured == pytest.approx(0.5)
    assert "rests on the glass" in found.where


def test_softening_adds_room_and_lamp() -> None:
    warm = job(preset={"room": {"ambient_c": 30.0}}, bed={"lamp_rise_k": 24.0}, material={"limit_c": 55.0})
    (found,) = Softening().check(warm, make())
    assert (found.level, found.measured, found.limit) == ("warn", 54.0, 45.0)
    hot = job(preset={"room": {"ambient_c": 30.0}}, bed={"lamp_rise_k": 26.0}, material={"limit_c": 55.0})
    assert [f.level for f in Softening().check(hot, make())] == ["stop"]


def test_expansion_counts_both_causes_and_states_them() -> None:
    outer, pocket = Expansion().check(job(material={"moisture_strain_per_rh": 2e-5}), make())
    assert outer.measured == pytest.approx(296 * (65e-6 * 10 + 2e-5 * 20), abs=1e-4)
    assert "20 % humidity" in outer.where
    assert pocket.measured == pytest.approx(125 * (48e-6 * 10 + 1.2e-5 * 20), abs=1e-4)
    assert pocket.limit == pytest.approx(0.6)
