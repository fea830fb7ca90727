"""Outlines with true arcs: area, bounds, length, offset, mirror, against closed forms and a polygon library."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.geometry.offset import grown
from holders.geometry.outline import (
    QUARTER,
    Bay,
    Outline,
    Region,
    Vertex,
    arc_of,
    area,
    bounds,
    circle,
    length,
    middle_of,
    mirrored,
    moved,
    points,
    rectangle,
    region_area,
    walled,
)

BAYS = (
    Bay("head", 40.0, 20.0, 6.0, 4.0),
    Bay("head", 70.0, 8.0, -2.0, 1.0),
    Bay("foot", 50.0, 12.0, 3.0, 3.0),
    Bay("left", 30.0, 10.0, 4.0, 0.0),
    Bay("right", 55.0, 14.0, 5.0, 2.0),
)


def wavy() -> Outline:
    return walled(0.0, 0.0, 100.0, 80.0, 5.0, BAYS)


def fine(outline: Outline, chord: float = 1e-6) -> shapely.Polygon:
    return shapely.Polygon(points(outline, chord))


SHAPES = {
    "square": rectangle(3, 4, 10, 20),
    "rounded": rectangle(-3, 4, 30, 20, 6),
    "circle": circle(5, -6, 7),
    "wavy": wavy(),
    "cut corner": walled(1, 2, 50, 40, 2.0, (), corner_cut=8.0),
    "cut corner, no radius": walled(1, 2, 50, 40, 0.0, (Bay("foot", 30.0, 12.0, 3.0, 3.0),), corner_cut=8.0),
    "half moon": Outline((Vertex(0, 0, 1.0), Vertex(10, 0))),
    "three quarters": Outline((Vertex(0, 0, math.tan(math.radians(270) / 4)), Vertex(10, 0))),
}


def test_areas_in_closed_form() -> None:
    assert area(rectangle(0, 0, 30, 20, 5)) == pytest.approx(600 - (4 - math.pi) * 25, abs=1e-10)
    assert area(circle(1, 2, 3)) == pytest.approx(9 * math.pi, abs=1e-12)
    ring = Region(rectangle(0, 0, 10, 10), (circle(5, 5, 2),))
    assert region_area(ring) == pytest.approx(100 - 4 * math.pi, abs=1e-12)
    # the slanted corner is half a square of its leg
    assert area(walled(0, 0, 50, 40, 0, (), corner_cut=8)) == pytest.approx(2000 - 32, abs=1e-10)
    # a bay with rounded far corners: rectangle less two quarter corners
    with_bay = walled(0, 0, 100, 80, 0, (BAYS[0],))
    assert area(with_bay) == pytest.approx(8000 + 20 * 6 - 2 * (1 - math.pi / 4) * 16, abs=1e-10)


def test_lengths_in_closed_form() -> None:
    assert length(rectangle(0, 0, 30, 20, 5)) == pytest.approx(2 * (20 + 10) + 10 * math.pi)
    assert length(circle(0, 0, 3)) == pytest.approx(6 * math.pi)


@pytest.mark.parametrize("name", SHAPES)
def test_agrees_with_a_fine_polygon(name: str) -> None:
    outline, judge = SHAPES[name], fine(SHAPES[name])
    assert judge.is_valid
    assert abs(area(outline)) == pytest.approx(judge.area, rel=2e-6)
    assert length(outline) == pytest.approx(judge.length, rel=2e-6)
    assert bounds(outline) == pytest.approx(judge.bounds, abs=2e-5)
    assert shapely.LinearRing(points(outline, 0.01)).is_ccw == (area(outline) > 0)


@pytest.mark.parametrize("name", SHAPES)
@pytest.mark.parametrize("chord", [0.1, 0.005, 0.0005])
def test_points_keep_the_chord_error(name: str, chord: float) -> None:
    outline = SHAPES[name]
    off = shapely.hausdorff_distance(fine(outline, chord).exterior, fine(outline, 1e-6).exterior)
    assert off <= chord * 1.0001
    rough = shapely.LinearRing(points(outline, chord))
    for a, b in outline.segments():  # the middle of an arc is where chords stray most
        assert rough.distance(shapely.Point(middle_of(a, b))) <= chord * 1.0001


def test_arc_of_a_quarter_turn() -> None:
    arc = arc_of(Vertex(10, 0, QUARTER), Vertex(0, 10))
    assert (arc.cx, arc.cy, arc.radius) == pytest.approx((0, 0, 10), abs=1e-12)
    assert arc.sweep == pytest.approx(math.pi / 2)
    assert middle_of(Vertex(10, 0, QUARTER), Vertex(0, 10)) == pytest.approx((10 / math.sqrt(2),) * 2)
    turned = arc_of(Vertex(0, 10, -QUARTER), Vertex(10, 0))
    assert (turned.cx, turned.cy) == pytest.approx((0, 0), abs=1e-12)
    with pytest.raises(ValueError, match="straight"):
        arc_of(Vertex(0, 0), Vertex(1, 1))


def test_bounds_count_the_belly_of_an_arc() -> None:
    half = Outline((Vertex(0, 0, 1.0), Vertex(10, 0)))  # turns left from left to right: bellies downward
    assert bounds(half) == pytest.approx((0, -5, 10, 0))


@pytest.mark.parametrize("name", SHAPES)
def test_moved_and_mirrored_keep_size_and_sense(name: str) -> None:
    outline = SHAPES[name]
    x0, y0, x1, y1 = bounds(outline)
    assert bounds(moved(outline, 3, -2)) == pytest.approx((x0 + 3, y0 - 2, x1 + 3, y1 - 2))
    assert area(moved(outline, 3, -2)) == pytest.approx(area(outline))
    seen = mirrored(outline, 7.0)
    assert area(seen) == pytest.approx(area(outline))
    assert bounds(seen) == pytest.approx((14 - x1, y0, 14 - x0, y1), abs=1e-9)
    flipped = shapely.affinity.scale(fine(outline), -1, 1, origin=(7, 0))
    assert flipped.symmetric_difference(fine(seen)).area < 1e-3
    again = mirrored(seen, 7.0)
    assert fine(again).symmetric_difference(fine(outline)).area < 1e-6


@pytest.mark.parametrize(
    "bay",
    [Bay("head", 3.0, 20.0, 5.0), Bay("left", 79.0, 4.0, 2.0), Bay("foot", 50.0, 101.0, 2.0)],
)
def test_bay_that_does_not_fit_is_refused(bay: Bay) -> None:
    with pytest.raises(ValueError, match="does not fit"):
        walled(0, 0, 100, 80, 5, (bay,))


def test_bays_that_touch_each_other_are_refused() -> None:
    with pytest.raises(ValueError, match="does not fit"):
        walled(0, 0, 100, 80, 5, (Bay("head", 40, 20, 5), Bay("head", 55, 20, 5)))


CONVEX = ("square", "rounded", "circle", "cut corner")


@pytest.mark.parametrize("name", CONVEX)
@pytest.mark.parametrize("amount", [0.1, 1.0, -0.1, -1.0])
def test_offset_of_convex_outlines_in_closed_form(name: str, amount: float) -> None:
    outline = SHAPES[name]
    got = area(grown(outline, amount))
    if name in ("rounded", "circle"):  # smooth all round: Steiner's formula
        assert got == pytest.approx(area(outline) + length(outline) * amount + math.pi * amount**2, rel=1e-12)
    if name == "square":
        assert got == pytest.approx((10 + 2 * amount) * (20 + 2 * amount), rel=1e-12)
    judge = fine(outline, 1e-6).buffer(amount, join_style="mitre", mitre_limit=10)
    assert got == pytest.approx(judge.area, rel=1e-5)


@pytest.mark.parametrize("amount", [0.1, 0.5, -0.1, -0.5])
def test_offset_of_a_wavy_outline_against_a_polygon_library(amount: float) -> None:
    # every corner here is line to line or tangent, where both mean the same mitre
    bays = tuple(bay for bay in BAYS if bay.edge != "foot")
    outline = walled(0.0, 0.0, 100.0, 80.0, 5.0, (*bays, Bay("foot", 50.0, 12.0, 4.0, 3.0)))
    judge = fine(outline, 1e-4).buffer(amount, join_style="mitre", mitre_limit=10)
    got = fine(grown(outline, amount))
    assert got.symmetric_difference(judge).area < 0.01  # of 8,000 mm²; the library works on chords
    assert shapely.hausdorff_distance(got.exterior, judge.exterior) < 0.001


def test_offset_where_an_arc_meets_a_line_at_a_right_angle() -> None:
    # a half round bay of radius 3 about (50, 0): the shifted edge y = 0.5 and the arc of radius 2.5 meet by Pythagoras
    outline = walled(0.0, 0.0, 100.0, 80.0, 5.0, (Bay("foot", 50.0, 6.0, 3.0, 3.0),))
    inner = {(round(v.x, 9), round(v.y, 9)) for v in grown(outline, -0.5).vertices}
    outer = {(round(v.x, 9), round(v.y, 9)) for v in grown(outline, 0.5).vertices}
    for sign in (-1, 1):
        assert (round(50 + sign * math.sqrt(2.5**2 - 0.5**2), 9), 0.5) in inner
        assert (round(50 + sign * math.sqrt(3.5**2 - 0.5**2), 9), -0.5) in outer


def test_offset_keeps_arcs_as_arcs() -> None:
    outline = rectangle(0, 0, 30, 20, 5)
    radii = [arc_of(a, b).radius for a, b in grown(outline, 0.7).segments() if a.bulge]
    assert radii == pytest.approx([5.7] * 4)
    inside = [arc_of(a, b).radius for a, b in grown(outline, -0.7).segments() if a.bulge]
    assert inside == pytest.approx([4.3] * 4)


def test_offset_does_not_mind_the_sense_of_turning() -> None:
    forward = rectangle(0, 0, 30, 20, 5)
    backward = Outline(tuple(Vertex(b.x, b.y, -a.bulge) for a, b in reversed(list(forward.segments()))))
    assert area(backward) == pytest.approx(-area(forward))
    assert abs(area(grown(backward, 1.0))) == pytest.approx(area(grown(forward, 1.0)))
    assert grown(forward, 0) is forward


@pytest.mark.parametrize(
    ("outline", "amount"),
    [(circle(0, 0, 1), -1.0), (circle(0, 0, 1), -1.5), (rectangle(0, 0, 2, 8), -1.01), (wavy(), -12.0)],
)
def test_offset_larger_than_the_feature_is_an_error(outline: Outline, amount: float) -> None:
    with pytest.raises(ValueError, match=r"vanish|inside out|no longer meet"):
        grown(outline, amount)


@settings(max_examples=60, deadline=None)
@given(
    width=st.floats(20, 300),
    height=st.floats(20, 300),
    radius=st.floats(0.5, 9),
    amount=st.floats(-0.45, 3),
)
def test_offset_there_and_back(width: float, height: float, radius: float, amount: float) -> None:
    outline = rectangle(0, 0, width, height, radius)
    back = grown(grown(outline, amount), -amount)
    assert bounds(back) == pytest.approx(bounds(outline), abs=1e-9)
    assert area(back) == pytest.approx(area(outline), rel=1e-12)
    assert bounds(grown(outline, amount)) == pytest.approx(
        (-amount, -amount, width + amount, height + amount), abs=1e-9
    )
