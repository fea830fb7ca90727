"""Cutting outlines with arcs: areas are exact, arcs stay the same arcs, and cutting in two loses nothing."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.geometry.clip import ArcBook, transposed
from holders.geometry.outline import (
    Bay,
    Outline,
    Region,
    Vertex,
    arc_of,
    area,
    bounds,
    circle,
    length,
    rectangle,
    region_area,
    walled,
)


def test_a_region_comes_back_as_it_was() -> None:
    bays = [Bay("left", 40.0, 20.0, 5.0, 4.0), Bay("head", 30.0, 12.0, -6.0, 2.0)]
    region = Region(walled(0, 0, 100, 80, 5, bays, 7), (circle(60, 40, 10), rectangle(20, 20, 10, 10, 1)))
    book = ArcBook()
    (back,) = book.regions(book.area_of(region))
    assert region_area(back) == pytest.approx(region_area(region), abs=1e-9)
    assert length(back.outer) == pytest.approx(length(region.outer), abs=1e-9)
    assert bounds(back.outer) == pytest.approx(bounds(region.outer), abs=1e-9)
    assert len(back.outer.vertices) == len(region.outer.vertices)
    assert len(back.holes) == 2
    assert all(area(hole) > 0 for hole in back.holes)


def test_a_circle_is_no_polygon_afterwards() -> None:
    book = ArcBook()
    (back,) = book.regions(book.polygon(circle(3, 4, 5)))
    assert all(v.bulge for v in back.outer.vertices)
    assert area(back.outer) == pytest.approx(25 * math.pi, rel=1e-12)
    for a, b in back.outer.segments():
        arc = arc_of(a, b)
        assert (arc.cx, arc.cy, arc.radius) == pytest.approx((3, 4, 5), abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(
    radius=st.floats(0.3, 9),
    cut=st.floats(-5, 105),
    along=st.booleans(),
    window=st.floats(0, 6),
)
def test_two_halves_make_the_whole(radius: float, cut: float, along: bool, window: float) -> None:
    region = Region(rectangle(0, 0, 100, 60, radius), (rectangle(20, 15, 60, 30, window),))
    book = ArcBook()
    shape = book.area_of(region)
    low = shapely.box(-10, -10, 200, cut) if along else shapely.box(-10, -10, cut, 200)
    halves = [*book.regions(shape.intersection(low)), *book.regions(shape.difference(low))]
    total = sum(region_area(half) for half in halves)
    # where the cut meets an arc its end lies on the chord; a tenth of the worst that this can do
    assert total == pytest.approx(region_area(region), abs=2.36e-2)
    for half in halves:
        assert area(half.outer) > 0
        x0, y0, x1, y1 = bounds(half.outer)
        assert -1e-9 <= x0 < x1 <= 100 + 1e-9
        assert -1e-9 <= y0 < y1 <= 60 + 1e-9


def test_a_straight_cut_leaves_no_corner_in_the_middle_of_an_edge() -> None:
    book = ArcBook()
    shape = book.polygon(rectangle(0, 0, 100, 60))
    joined = shapely.union_all([shape.intersection(shapely.box(-9, -9, 50, 99)), shapely.box(50, 0, 100, 60)])
    (back,) = book.regions(joined)
    assert len(back.outer.vertices) == 4


def test_slivers_are_left_out() -> None:
    book = ArcBook()
    assert book.regions(shapely.box(0, 0, 10, 1e-5)) == ()


def test_transposing_exchanges_the_axes_and_keeps_the_sense() -> None:
    outline = Outline((Vertex(0, 0), Vertex(4, 0, 0.4), Vertex(4, 2), Vertex(0, 1)))
    other = transposed(outline)
    assert area(other) == pytest.approx(area(outline))
    x0, y0, x1, y1 = bounds(outline)
    assert bounds(other) == pytest.approx((y0, x0, y1, x1))
    assert area(transposed(other)) == pytest.approx(area(outline))
    assert {(v.x, v.y) for v in transposed(other).vertices} == {(v.x, v.y) for v in outline.vertices}
