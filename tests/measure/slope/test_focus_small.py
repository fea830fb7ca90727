"""The small tools against the general-purpose library that has each of them too (scipy)."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import fft, ndimage, optimize, special
from scipy.interpolate import CubicSpline

from holders.measure.scan import small

RNG = np.random.default_rng(8)


@pytest.mark.parametrize("width", [3, 5, 7, 9])
@pytest.mark.parametrize("axis", [0, 1])
def test_running_median(width, axis):
    y = RNG.standard_normal((23, 31))
    size = (width, 1) if axis == 0 else (1, width)
    assert np.array_equal(
        small.running_median(y, width, axis), ndimage.median_filter(y, size, mode="nearest")
    )
    line = RNG.standard_normal(40)
    assert np.array_equal(
        small.running_median(line, width), ndimage.median_filter(line, width, mode="nearest")
    )


@pytest.mark.parametrize("width", [1, 4, 5, 40, 401])
def test_running_mean(width):
    y = RNG.standard_normal(700)
    assert small.running_mean(y, width) == pytest.approx(
        ndimage.uniform_filter1d(y, width, mode="nearest"), abs=1e-12
    )


@pytest.mark.parametrize("number", range(40))
def test_least_squares_without_negatives(number):
    rng = np.random.default_rng(number)
    rows, columns = int(rng.integers(1, 40)), int(rng.integers(1, 12))
    a = np.abs(rng.standard_normal((rows, columns))) if number % 2 else rng.standard_normal((rows, columns))
    b = rng.standard_normal(rows)
    mine, theirs = small.not_negative(a, b), optimize.nnls(a, b)[0]
    assert (mine >= 0.0).all()
    # where columns outnumber rows there is more than one answer: equally near, then
    near = [float(np.linalg.norm(a @ x - b)) for x in (mine, theirs)]
    assert near[0] == pytest.approx(near[1], rel=1e-6, abs=1e-6)
    if rows > columns:
        assert mine == pytest.approx(theirs, abs=1e-6)


@pytest.mark.parametrize("count", [3, 5, 8, 15])
def test_splines(count):
    knots = 2.0 * np.linspace(0.0, 1.0, count) ** 1.25
    u = np.concatenate([knots, RNG.uniform(0.0, 2.0, 100)])
    none = np.zeros(count)
    theirs = CubicSpline(knots, np.eye(count), bc_type=((1, none), (2, none)))
    value, slope = small.cardinal(knots, u)
    assert value == pytest.approx(theirs(u), abs=1e-12)
    assert slope == pytest.approx(theirs(u, 1), abs=1e-10)


@pytest.mark.parametrize("freedom", [2.0, 2.5, 3.0, 7.3, 40.0, 1e4])
@pytest.mark.parametrize("share", [0.6, 0.97725, 0.995])
def test_student(freedom, share):
    assert small.student_quantile(freedom, share) == pytest.approx(special.stdtrit(freedom, share), rel=1e-8)


def test_lengths_quick_to_transform():
    assert [small.smooth_length(n) for n in range(1, 400)] == [
        fft.next_fast_len(n, real=True) for n in range(1, 400)
    ]
