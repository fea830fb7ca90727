"""A target's own shape: sag against the beam equation solved numerically, and what is said of it."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from holders.core.errors import InputError
from holders.measure.slope.target.shape import TargetShape, beam_sag, beam_shape, bend_at, with_seen


def numeric_sag(thickness: float, span: float, density: float, modulus: float) -> np.ndarray:
    """The beam equation E I w'''' = q, ends supported, free to turn, by collocation; w at 0, 0.1 .. 1 of the span."""
    load = density * 1e-9 * 9.80665 * thickness  # N/mm for a strip 1 mm wide
    stiff = modulus * thickness**3 / 12.0
    x = np.linspace(0.0, 1.0, 41)

    def rate(_x, y):
        return np.stack([y[1], y[2], y[3], np.full_like(_x, load * span**4 / stiff)])

    found = solve_bvp(rate, lambda a, b: np.array([a[0], a[2], b[0], b[2]]), x, np.zeros((4, 41)))
    assert found.success
    return np.asarray(found.sol(np.linspace(0.0, 1.0, 11))[0])


@pytest.mark.parametrize(
    ("thickness", "span", "density", "modulus"),
    [(1.0, 150.0, 1190.0, 3000.0), (0.18, 80.0, 1390.0, 4500.0), (0.8, 300.0, 7850.0, 200000.0)],
)
def test_sag_is_that_of_the_beam_equation(thickness, span, density, modulus):
    w = numeric_sag(thickness, span, density, modulus)
    assert beam_sag(thickness, span, density, modulus) == pytest.approx(w[5], rel=1e-6)
    shape = [beam_shape(t) for t in np.linspace(0.0, 1.0, 11)]
    assert shape == pytest.approx(w / w[5], abs=1e-6)


def test_a_thin_plastic_ruler_sags_by_a_third_of_a_millimetre():
    # 5 * 1190e-9 * 9.80665 * 150^4 / (32 * 3000 * 1^2), by hand: 0.3077 mm
    bend = bend_at(TargetShape("acrylic-ruler", 1.0, 150.0), 0.5, 150.0, ruled=True)
    assert bend.below_mm == pytest.approx(0.3077, abs=0.0005)
    # a caliper's 7 % on the thickness is 14 % of the sag, the modulus adds 3.8 %
    assert bend.sigma_mm == pytest.approx(0.3077 * np.hypot(0.14, 0.0385), abs=0.002)
    assert bend.named


def test_an_unknown_thickness_is_counted():
    bend = bend_at(TargetShape(), 0.5, 150.0, ruled=True)
    assert not bend.named
    # between 1 and 3 mm the middle may sag 0.308 to 0.034 mm: evenly likely, that is 0.079 mm
    assert bend.sigma_mm == pytest.approx((0.3077 - 0.0342) / np.sqrt(12.0), rel=0.05)


def test_loose_film_may_bow_and_held_film_does_not():
    loose = bend_at(TargetShape("film"), 0.5, 80.0, ruled=False)
    held = bend_at(TargetShape("flat"), 0.5, 80.0, ruled=False)
    assert loose.below_mm == 0.0
    assert loose.sigma_mm > 0.2
    assert held.sigma_mm == 0.0
    assert bend_at(TargetShape("film"), 0.0, 80.0, ruled=False).sigma_mm == 0.0


def test_a_span_longer_than_the_run_reaches_beyond_both_ends():
    short = bend_at(TargetShape("acrylic-ruler", 1.0, 150.0), 0.0, 100.0, ruled=True)
    # the run's low end lies a sixth into the span
    assert short.below_mm == pytest.approx(0.3077 * beam_shape(1.0 / 6.0), abs=0.001)


def test_a_sag_that_is_seen_takes_part():
    told = bend_at(TargetShape("acrylic-ruler", 2.0, 150.0), 0.5, 150.0, ruled=True)
    agreed = with_seen(told, told.sag_mm, 0.05, 0.5)
    assert agreed.warnings == ()
    assert agreed.sigma_mm <= told.sigma_mm
    differs = with_seen(told, 0.6, 0.05, 0.5)
    assert differs.below_mm == pytest.approx(0.6)
    assert differs.sigma_mm >= 0.2
    assert "sags by 0.60 mm" in differs.warnings[0]
    assert with_seen(told, 0.0, np.inf, 0.5) == told


@pytest.mark.parametrize(
    ("values", "word"),
    [
        (("wooden-ruler", None, None), "--target"),
        (("film", -1.0, None), "--target-thickness"),
        ((None, None, float("nan")), "--span"),
    ],
)
def test_what_cannot_be_is_refused(values, word):
    with pytest.raises(InputError, match=word):
        TargetShape(*values)
