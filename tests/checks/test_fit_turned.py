"""Turning a part on the plate, against trying every angle; hulls against shapely."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from holders.checks.making.machine import MachineFit
from holders.design.model import Part, Slab
from holders.design.pieces.fits import fits_turned
from holders.geometry.hull import convex_hull, hull_height, inside_by, longest_gap
from holders.geometry.outline import Region, rectangle
from tests.checks.make_design import job, make


def slack_by_trying(p: float, q: float, a: float, b: float) -> float:
    """The most that is left over in the tighter direction, over ten thousand angles."""
    best = -math.inf
    for k in range(10001):
        t = math.pi / 2 * k / 10000
        best = max(best, min(a - p * math.cos(t) - q * math.sin(t), b - p * math.sin(t) - q * math.cos(t)))
    return best


size = st.floats(5, 400)


@given(p=size, q=size, a=size, b=size)
@settings(max_examples=60, deadline=None)
def test_closed_form_agrees_with_trying(p: float, q: float, a: float, b: float) -> None:
    slack = slack_by_trying(p, q, a, b)
    assume(abs(slack) > 0.05)  # the angle grid is only so fine
    assert fits_turned(p, q, a, b) == (slack > 0)


def test_a_long_narrow_part_fits_the_diagonal_and_says_so() -> None:
    assert fits_turned(260, 20, 220, 220)
    assert not fits_turned(260, 60, 220, 220)
    small = job(printer={"build_x_mm": 222, "build_y_mm": 222, "margin_mm": 1.0})
    strip = Slab("strip", 0.5, 3.0, Region(rectangle(10, 10, 20, 260)))
    made = make(parts=(Part("strip", "strip", "print", "stuff", 1, (strip,)),))
    (found,) = MachineFit().check(small, made)
    assert (found.level, found.where) == ("pass", "strip (turned at an angle on the plate)")
    wide = Slab("strip", 0.5, 3.0, Region(rectangle(10, 10, 60, 260)))
    made = make(parts=(Part("strip", "strip", "print", "stuff", 1, (wide,)),))
    (found,) = MachineFit().check(small, made)
    assert found.level == "stop"


def test_margin_counts_on_both_sides() -> None:
    exact = {"build_x_mm": 215.0 + 4, "build_y_mm": 296.0 + 4, "margin_mm": 2.0}
    assert [f.level for f in MachineFit().check(job(printer=exact), make())] == ["pass"]
    tight = {**exact, "build_y_mm": 299.0}
    assert [f.level for f in MachineFit().check(job(printer=tight), make())] == ["stop"]


points = st.lists(st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=3, max_size=8)


@given(points=points, at=st.tuples(st.integers(-60, 60), st.integers(-60, 60)))
@settings(max_examples=100, deadline=None)
def test_hull_agrees_with_shapely(points: list[tuple[int, int]], at: tuple[int, int]) -> None:
    hull = convex_hull([(float(x), float(y)) for x, y in points])
    other = shapely.MultiPoint(points).convex_hull
    assume(other.geom_type == "Polygon")
    assert shapely.Polygon(hull).area == pytest.approx(other.area)
    inside = inside_by((float(at[0]), float(at[1])), hull)
    spot = shapely.Point(at)
    if inside > 1e-9:
        assert inside == pytest.approx(other.exterior.distance(spot))
    if inside < -1e-9:
        assert not other.contains(spot)


def test_points_in_line_span_nothing() -> None:
    hull = convex_hull([(0, 0), (10, 10), (20, 20)])
    assert hull_height(hull) == 0
    assert inside_by((10, 10), hull) == -math.inf
    assert longest_gap([(0, 0), (3, 4)]) == pytest.approx(5)
    assert longest_gap([]) == 0
    assert longest_gap([(7, 7)]) == 0
    assert hull_height(convex_hull([(0, 0), (30, 0), (30, 20), (0, 20)])) == pytest.approx(20)


def test_points_on_a_side_of_the_hull_break_it_up() -> None:
    corners: list[tuple[float, float]] = [(0, 0), (200, 0), (200, 300), (0, 300)]
    assert longest_gap(corners) == 300
    assert longest_gap([*corners, (0, 150), (200, 150)]) == 200
    assert longest_gap([*corners, (0.8, 100), (200, 150)]) == pytest.approx(200)  # a millimetre off is on it
    assert longest_gap([*corners, (5, 150), (200, 150)]) == 300  # well inside: the side hangs past it
    assert longest_gap([(0, 0), (0, 300), (200, 150)]) == 300  # a foot on the far side carries nothing here
