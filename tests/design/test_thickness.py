"""The thinnest place of shapes whose least width is known."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate
from shapely.geometry import MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from holders.geometry.thickness import _eroded, _is_rib, is_thin, thinnest


def box(x: float, y: float, w: float, h: float) -> Polygon:
    return shapely.box(x, y, x + w, y + h)


PLATE = box(0, 0, 100, 80)
WIDTHS: dict[str, tuple[BaseGeometry, float, float, float]] = {  # shape, least width, about where
    "frame": (PLATE - box(5, 5, 90, 70), 5.0, math.nan, math.nan),
    "web": (PLATE - box(10, 10, 30, 60) - box(41.3, 10, 30, 60), 1.3, 40.65, 40),
    "waist": (Polygon([(0, -5), (5, -0.25), (10, -5), (10, 5), (5, 0.25), (0, 5)]), 0.5, 5, 0),
    "point near the rim": (PLATE - box(10, 10, 80, 60) - Polygon([(50, 1), (55, 11), (45, 11)]), 1.0, 50, 0.5),
    "rib": (PLATE.union(box(100, 40, 10, 0.7)), 0.7, 105, 40.35),
    "round-ended rib": (PLATE.union(box(100, 40, 10, 1)).union(Point(110, 40.5).buffer(0.5, 32)), 1.0, 105, 40.5),
    "recess near the rim": (PLATE - Point(4.4, 4.4).buffer(4, 64), 0.4, math.nan, math.nan),
    "two recesses": (PLATE - Point(20, 20).buffer(4, 64) - Point(28.37, 20).buffer(4, 64), 0.37, 24.185, 20),
    "rounded window": (PLATE - box(10, 10, 80, 60).buffer(-0.5).buffer(0.5), 10.0, math.nan, math.nan),
    "island": (MultiPolygon([PLATE, box(200, 0, 1.5, 20)]), 1.5, 200.75, 10),
    "ring": (Point(0, 0).buffer(20, 64) - Point(0, 0).buffer(18.9, 64), 1.1, math.nan, math.nan),
    "notch beside a hole": (PLATE - box(40, 20, 20, 60) - box(60.6, 30, 9.4, 30), 0.6, 60.3, 45),
}  # fmt: skip


@pytest.mark.parametrize("name", WIDTHS)
def test_least_width_is_found(name: str) -> None:
    shape, width, x, y = WIDTHS[name]
    found = thinnest(shape, 15.0)
    assert found is not None
    assert found.width == pytest.approx(width, abs=0.01)
    if not math.isnan(x):
        assert (found.x, found.y) == pytest.approx((x, y), abs=1.0)
    assert shape.contains(Point(found.x, found.y))


SOUND: dict[str, BaseGeometry] = {
    "plate": PLATE,
    "rounded plate": PLATE.buffer(-5).buffer(5, 32),
    "sharp corner": Polygon([(0, 0), (50, 0), (0, 20)]),
    "sharper corner": Polygon([(0, 0), (50, 0), (0, 4)]),
    "horn beside a circle": PLATE.union(box(100, 0, 20, 20) - Point(110, 10).buffer(10, 64)),
    "wide tab": PLATE.union(box(100, 40, 5, 10)),
    "shallow bite": PLATE - box(40, 79.8, 20, 5),
    "small step": PLATE.union(box(100, 40, 0.3, 0.3)),
    "slanted corner": PLATE - Polygon([(-1, -1), (7, -1), (-1, 7)]),
}


@pytest.mark.parametrize("name", SOUND)
def test_corners_and_steps_raise_no_false_alarm(name: str) -> None:
    assert thinnest(SOUND[name], 3.0) is None


@settings(max_examples=40, deadline=None)
@given(width=st.floats(0.2, 6.0), angle=st.floats(0, 180), length=st.floats(15, 60))
def test_a_web_at_any_angle_has_its_own_width(width: float, angle: float, length: float) -> None:
    holes = [
        box(50 + width / 2, 40 - length / 2, 20, length),
        box(50 - width / 2 - 20, 40 - length / 2, 20, length),
    ]
    shape = rotate(box(-30, -40, 160, 160) - shapely.union_all(holes), angle, origin=(50, 40))
    found = thinnest(shape, 8.0)
    assert found is not None
    assert found.width == pytest.approx(width, abs=0.01)


@given(width=st.floats(0.3, 5.0), share=st.floats(0.1, 0.97))
@settings(max_examples=30, deadline=None)
def test_thin_means_narrower_than(width: float, share: float) -> None:
    shape = PLATE - box(width, 10, 40, 60)
    assert not is_thin(shape, width * share)
    assert is_thin(shape, width / share)


def test_an_empty_section_has_no_thin_place() -> None:
    assert thinnest(Polygon(), 1.0) is None


def test_a_piece_that_touches_only_along_the_outline_has_no_root() -> None:
    """Nothing is left of its boundary beside the shape's own; this ended in an error before."""
    square = shapely.box(0, 0, 4, 4)
    assert not _is_rib(square, square)


def test_arcs_depart_from_a_circle_by_the_share_of_the_radius_stated() -> None:
    """A window's corner, eroded by 5 mm, is a quarter circle of chords: 1 - cos(90°/2n) of the radius, 0.0012."""
    left = _eroded(PLATE - box(20, 20, 60, 40), 5.0)
    assert 1 - Point(20, 20).distance(left) / 5.0 == pytest.approx(0.0012, abs=5e-5)


@pytest.mark.parametrize("start", range(5))
def test_a_rib_is_one_wherever_its_outline_begins(start: int) -> None:
    """The root of a rib of 10 x 0.7 mm, in two lines where the outline begins in its middle, is one root."""
    ring = [(0.0, 0.35), (0.0, 0.0), (10.0, 0.0), (10.0, 0.7), (0.0, 0.7)]
    edge = shapely.LineString(ring[1:]).buffer(1e-6)
    assert _is_rib(Polygon([*ring[start:], *ring[:start]]), edge)
