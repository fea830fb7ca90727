"""The catch's hairpin against closed forms: long legs, a thick ring's stress, a beam's end lift."""

from __future__ import annotations

import math

import numpy as np
import pytest

from holders.fittings.cover.spring import Spring, long_enough


def test_long_legs_bend_as_two_beams_whose_levers_run_out_and_back() -> None:
    """Legs of 200 mm beside a ring of 2.5 mm: 2 F L³/3 E I by Castigliano, the ring's own F L² pi R/E I beside it."""
    spring = Spring(leg=1.0, slot=4.0, length=200.0, back=0.0, thick=3.0)
    second = 3.0 * 1.0**3 / 12
    plain = 2 * 200**3 / (3 * 2000 * second)
    assert 1 / spring.force_n(1.0, 2000.0) == pytest.approx(
        plain + math.pi * 2.5 * 200**2 / (2000 * second), rel=2e-3
    )


def test_the_rings_inner_face_is_strained_as_plane_sections_ask() -> None:
    """Sections stay plane, so strain goes with 1 - r_n/r: r_n where the force is nothing, its moment by midpoints."""
    spring = Spring(leg=2.0, slot=4.0, length=30.0, back=0.0, thick=3.0)
    moment = spring.force_n(2.0, 1.0) * (30.0 + spring.radius)
    r = 2.0 + (np.arange(200_000) + 0.5) * 2.0 / 200_000
    neutral = 1.0 / np.mean(1.0 / r)
    shape = 1.0 - neutral / r
    scale = moment / (3.0 * 2.0 * np.mean(shape * (r - neutral)))
    assert spring.strain(2.0) == pytest.approx(scale * (neutral / 2.0 - 1.0), rel=1e-6)
    # a curved beam of R/c = 10 is strained 1.07 times as a straight one: Roark's table, rectangle (from memory)
    slender = Spring(leg=2.0, slot=18.0, length=30.0, back=0.0, thick=3.0)
    straight = 6 * slender.force_n(2.0, 1.0) * (30.0 + 10.0) / (3.0 * 2.0**2)
    assert slender.strain(2.0) / straight == pytest.approx(1.07, abs=0.01)


def test_the_lift_is_no_less_than_the_legs_alone_give() -> None:
    """2 F L³/3 E I upright; with a ring of little width and hardly any twist it comes near that."""
    spring = Spring(leg=3.0, slot=0.1, length=100.0, back=0.0, thick=3.0)
    legs = 2 * 100**3 / (3 * 2000 * 3.0 * 3.0**3 / 12)
    assert legs < spring.lift_mm(1.0, 2000.0, 0.38) < 1.3 * legs


def test_the_shortest_spring_that_lasts_is_taken() -> None:
    spring = long_enough(1.6, 2.9, 3.6, 3.0, 2.9, 0.008)
    assert spring is not None
    assert spring.strain(2.9) <= 0.008 < Spring(1.6, 2.9, spring.length - 0.5, 3.6, 3.0).strain(2.9)
    assert long_enough(1.6, 2.9, 3.6, 3.0, 2.9, 1e-5) is None
