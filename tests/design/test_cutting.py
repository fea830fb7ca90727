"""Paths for beam and knife against published worked examples; order, bridges, refusals."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.model import Cut, Part, Slab
from holders.design.pieces.cutting import cut_part
from holders.geometry.outline import Outline, Region, arc_of, bounds, circle, rectangle
from tests.fixtures_design import frame_part, sheet_parts


def plate(outer: Outline, *holes: Outline) -> Part:
    return Part(
        "plate", "plate", "laser", "acrylic-cast", 1, (Slab("plate", 0.0, 3.0, Region(outer, holes)),)
    )


def size(outline: Outline) -> tuple[float, float]:
    x0, y0, x1, y1 = bounds(outline)
    return x1 - x0, y1 - y0


def burnt(drawn: float, kerf: float, inside: bool) -> float:
    """What a beam leaves when it runs on the line: a hole grows, a part shrinks, by the whole kerf."""
    return drawn + kerf if inside else drawn - kerf


def test_a_cutting_service_s_worked_example() -> None:
    # https://snijlab.nl/en/p/495/kerf-width (read): kerf 0.2; 2.0 x 4.0 drawn gives a hole of 2.2 x 4.2 and a part
    # of 1.8 x 3.8. Drawn by us, both must come out at 2.0 x 4.0.
    assert burnt(2.0, 0.2, inside=True) == pytest.approx(2.2)
    assert burnt(4.0, 0.2, inside=False) == pytest.approx(3.8)
    hole = cut_part(plate(rectangle(-10, -10, 30, 30), rectangle(0, 0, 2.0, 4.0)), 0.2).inner[0]
    part = cut_part(plate(rectangle(0, 0, 2.0, 4.0)), 0.2).outer
    assert size(hole) == pytest.approx((1.8, 3.8))
    assert size(part) == pytest.approx((2.2, 4.2))
    assert [burnt(s, 0.2, inside=True) for s in size(hole)] == pytest.approx([2.0, 4.0])
    assert [burnt(s, 0.2, inside=False) for s in size(part)] == pytest.approx([2.0, 4.0])


def test_a_second_service_s_worked_example() -> None:
    # https://help.ponoko.com/en/articles/4442594-how-much-material-does-the-laser-burn-away (read): a 40 mm square
    # comes out at 39.8 mm with a kerf of 0.2
    assert burnt(40.0, 0.2, inside=False) == pytest.approx(39.8)
    drawn = size(cut_part(plate(rectangle(0, 0, 40, 40)), 0.2).outer)
    assert [burnt(s, 0.2, inside=False) for s in drawn] == pytest.approx([40.0, 40.0])


def test_round_holes_and_corners_change_their_radius_by_half_the_kerf() -> None:
    made = cut_part(plate(rectangle(0, 0, 60, 60, 6.0), circle(30, 30, 5)), 0.24)
    assert [arc_of(a, b).radius for a, b in made.inner[0].segments()] == pytest.approx([4.88, 4.88])
    assert [arc_of(a, b).radius for a, b in made.outer.segments() if a.bulge] == pytest.approx([6.12] * 4)


@given(kerf=st.floats(0, 0.5), width=st.floats(10, 300), height=st.floats(10, 300))
def test_any_kerf_comes_out_at_size(kerf: float, width: float, height: float) -> None:
    made = cut_part(
        plate(rectangle(0, 0, width + 20, height + 20), rectangle(10, 10, width, height, 1.0)), kerf
    )
    assert size(made.inner[0]) == pytest.approx((width - kerf, height - kerf), abs=1e-9)
    assert size(made.outer) == pytest.approx((width + 20 + kerf, height + 20 + kerf), abs=1e-9)
    assert made.box == pytest.approx((-kerf / 2, -kerf / 2, width + 20 + kerf / 2, height + 20 + kerf / 2))


def test_a_knife_follows_the_nominal_line() -> None:
    ledge, wall = sheet_parts()
    made = cut_part(wall, 0.0)
    assert made.outer == wall.slabs[0].region.outer
    assert made.inner == wall.slabs[0].region.holes
    assert made.thickness_mm == pytest.approx(2.0)
    assert [t.text for t in made.lettering] == ["AOI"]
    assert cut_part(ledge, 0.0).lettering == ()


def test_openings_are_cut_from_the_home_corner_on_each_to_its_neighbour() -> None:
    holes = [rectangle(x, y, 8, 8) for y in (10, 30) for x in (70, 10, 40)]
    made = cut_part(plate(rectangle(0, 0, 100, 60), *holes), 0.2)
    assert len(made.inner) == 6
    corners = [bounds(hole)[:2] for hole in made.inner]
    assert corners[0] == pytest.approx((10.1, 10.1))
    way = sum(math.dist(a, b) for a, b in pairwise(corners))
    drawn = [bounds(hole)[:2] for hole in holes]
    assert way < sum(math.dist(a, b) for a, b in pairwise(drawn))


@pytest.mark.parametrize("kerf", [-0.1, 1.5, math.nan, math.inf])
def test_an_absurd_kerf_is_refused(kerf: float) -> None:
    with pytest.raises(InputError, match=r"material\.kerf_mm"):
        cut_part(plate(rectangle(0, 0, 40, 40)), kerf)


def test_an_opening_narrower_than_the_kerf_is_refused_with_the_way_out() -> None:
    with pytest.raises(InputError, match="too small for this kerf"):
        cut_part(plate(rectangle(0, 0, 40, 40), rectangle(5, 5, 0.3, 20)), 0.4)


def test_only_a_plain_plate_can_be_cut() -> None:
    with pytest.raises(ValueError, match="no plain plate"):
        cut_part(frame_part(), 0.2)
    with_cut = plate(rectangle(0, 0, 40, 40))
    pit = Cut("pit", circle(20, 20, 3), 0, 1)
    with pytest.raises(ValueError, match="no plain plate"):
        cut_part(Part("p", "p", "laser", "x", 1, with_cut.slabs, (pit,)), 0.2)
