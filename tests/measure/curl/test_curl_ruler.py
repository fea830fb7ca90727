"""Curl from chord and rise: geometry's closed form, published strips, and a ruler's errors drawn at random."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holders.core.errors import InputError
from holders.facts.tables import film_base
from holders.measure.curl.result import chord_rise
from holders.measure.curl.ruler import curl_of, friction_bound_per_m, from_ruler, radius_mm


@pytest.mark.parametrize("radius", [20.0, 100.0, 250.0, 2000.0])
@pytest.mark.parametrize("angle", [0.1, 0.7, 1.5, 2.4])
def test_a_circles_own_chord_and_rise_give_its_curl(radius: float, angle: float) -> None:
    # a circle cut by a chord: c = 2 R sin a, h = R (1 - cos a), also beyond the half circle (a > 90 degrees)
    chord, rise = 2 * radius * math.sin(angle), radius * (1 - math.cos(angle))
    assert radius_mm(chord, rise) == pytest.approx(radius, rel=1e-12)
    assert curl_of(chord, rise) == pytest.approx(1000 / radius, rel=1e-12)
    assert chord_rise(1000 / radius, 2 * radius * angle) == pytest.approx((chord, rise), rel=1e-12)


def test_published_strips() -> None:
    # J. M. Calhoun, J. SMPE 43(4), 1944, Table 5: across fresh 35 mm film the sagitta was 0.03, 0.05 and 0.20 in;
    # the film is 1.377 in wide along its arc (computed: 5.0, 8.3 and 34.2 per m, the values of facts/data/bases.toml)
    width = 1.377 * 25.4
    for sagitta_in, curl in ((0.03, 5.0), (0.05, 8.3), (0.20, 34.2)):
        chord, rise = chord_rise(curl, width)
        assert rise == pytest.approx(sagitta_in * 25.4, abs=0.03)
        assert curl_of(chord, sagitta_in * 25.4) == pytest.approx(curl, rel=0.01)


def test_straight_film_has_no_curl_and_a_sigma() -> None:
    found = from_ruler(100.0, 0.0)
    assert found.curl_per_m == 0.0
    # 8 h / c^2 with two readings, each anywhere within half a millimetre
    assert found.sigma == pytest.approx(8000 / 100**2 * 0.5 / math.sqrt(3) * math.sqrt(2), rel=0.05)


@pytest.mark.parametrize(
    ("chord", "rise"), [(100.0, 5.0), (60.0, 12.0), (34.0, 1.3), (200.0, 100.0), (180.0, 60.0)]
)
def test_two_sigma_hold_what_a_ruler_misreads(chord: float, rise: float) -> None:
    # the judge draws the four readings at random, each evenly within +-0.5 mm, and takes the circle's own formula
    rng = np.random.default_rng(20)
    c = chord + rng.uniform(-0.5, 0.5, (20000, 2)).sum(1)
    h = np.maximum(0.0, rise + rng.uniform(-0.5, 0.5, (20000, 2)).sum(1))
    spread = 1000 / (c**2 / (8 * np.maximum(h, 1e-9)) + h / 2)
    true = 1000 / (chord**2 / (8 * rise) + rise / 2)
    sigma = from_ruler(chord, rise).sigma
    assert np.mean(np.abs(spread - true) <= 2 * sigma) >= 0.95
    assert sigma < 2.5 * np.std(spread) + friction_bound_per_m(chord)


def test_friction_bound_by_the_beam_itself() -> None:
    """The worst self-balanced load on a free beam, summed step by step: it bends it by the bound on average."""
    row = film_base("polyester")
    length, thick = 0.1, row.thickness_mm * 1e-3
    weight = 0.3 * row.density_kg_m3 * 9.80665 * thick  # N per m of length, for each m of height
    s = np.linspace(-length / 2, length / 2, 40001)
    load = np.where(np.abs(s) < length / 4, -weight, weight)
    shear = np.concatenate([[0.0], np.cumsum(0.5 * (load[1:] + load[:-1]) * np.diff(s))])
    moment = np.concatenate([[0.0], np.cumsum(0.5 * (shear[1:] + shear[:-1]) * np.diff(s))])
    assert abs(shear[-1]) < 1e-3 * weight * length
    assert abs(moment[-1]) < 1e-3 * np.abs(moment).max()
    stiffness = row.modulus_mpa * 1e6 * thick**3 / 12 / (1 - row.poisson**2)
    assert friction_bound_per_m(100.0) == pytest.approx(0.5 * np.abs(moment).max() / stiffness, rel=0.01)
    mean = float(np.abs(moment).mean()) / stiffness
    assert mean == pytest.approx(friction_bound_per_m(100.0), rel=0.05)
    # thinner, softer film is held further off, by rho / (E t^2)
    assert 1.7 < friction_bound_per_m(100.0, "triacetate") / friction_bound_per_m(100.0) < 2.5


@pytest.mark.parametrize(
    ("chord", "rise", "field"),
    [
        (0.0, 1.0, "--chord"), (-5.0, 1.0, "--chord"), (float("nan"), 1.0, "--chord"), (5000.0, 1.0, "--chord"),
        (100.0, -1.0, "--rise"), (100.0, float("inf"), "--rise"), (9.9, 3.0, "--chord"), (40.0, 200.0, "--rise"),
    ],
)  # fmt: skip
def test_impossible_lengths_are_refused_by_name(chord: float, rise: float, field: str) -> None:
    with pytest.raises(InputError) as refused:
        from_ruler(chord, rise)
    assert refused.value.field == field


def test_an_impossible_reading_is_refused() -> None:
    with pytest.raises(InputError, match="--reading"):
        from_ruler(100.0, 5.0, reading_mm=0.0)
