"""Single steps of drawing, read back from the SVG or held against plane geometry."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import shapely
from reportlab.platypus import CondPageBreak

from holders.design.parts.sections import section
from holders.design.resolve import design
from holders.geometry.outline import Point
from holders.geometry.rect import Rect
from holders.measure.finished.clipping import Clipping
from holders.output.draw import film as film_drawn
from holders.output.draw import plan
from holders.output.draw import section as cut_drawn
from holders.output.draw.apart import _edges, _segment
from holders.output.draw.canvas import Picture, View
from holders.output.draw.drafting.detail import _above
from holders.output.draw.drafting.further import _joint
from holders.output.draw.drafting.notes import _wall
from holders.output.draw.film import _map_size
from holders.output.draw.relief import LABEL, Field, bar
from holders.output.draw.section import Slice
from holders.output.draw.sheet import _key
from holders.output.formats.letters import load_fonts
from holders.output.sheet.blocks import Items, Section, Words
from holders.output.sheet.flow import SMALL, _block
from holders.output.sheet.pdf import _story
from holders.output.sheet.pictures import DOT_MM, code_of
from holders.output.sheet.replay import arc_curves
from holders.output.words.inspected import doubts
from tests.output.report.lettering import read
from tests.presets_made import job


@pytest.mark.parametrize("sides", [(101.6, 127.0), (127.0, 101.6), (36.0, 228.0)])
def test_the_map_of_a_film_has_the_films_proportions(
    sides: tuple[float, float], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(film_drawn, "_sides_of", lambda _: sides)
    monkeypatch.setattr(film_drawn, "_lying", lambda _: False)
    film: Any = None
    for key in (True, False):
        wide, high = _map_size(film, 180.0, key)
        assert wide / high == pytest.approx(sides[0] / sides[1])
        assert wide < 180.0


def test_a_code_has_four_modules_of_bare_paper_all_round() -> None:
    """ISO/IEC 18004: a quiet zone four modules wide on all four sides."""
    code = code_of(job().preset)
    assert code is not None
    places = [
        [float(v) for v in re.findall(r"-?[\d.]+", d)]
        for d in re.findall(r' d="(M[^"]*Z)"', code.svg.decode())
    ]
    x = [v for one in places for v in one[0::2]]
    y = [v for one in places for v in one[1::2]]
    assert (min(x), min(y)) == pytest.approx((4 * DOT_MM, 4 * DOT_MM))
    assert (code.width_mm - max(x), code.height_mm - max(y)) == pytest.approx((4 * DOT_MM, 4 * DOT_MM))


@pytest.mark.parametrize("large", [False, True])
@pytest.mark.parametrize("sweep", [False, True])
@pytest.mark.parametrize("end", [(6.0, 8.0), (-6.0, 8.0), (8.0, -6.0), (-8.0, -6.0)])
def test_an_arc_turns_as_its_flags_say(end: Point, large: bool, sweep: bool) -> None:
    """Two circles of radius 10 go through both ends, 10 apart: 60° the short way, 300° the long one (SVG 1.1, F.6)."""
    curves = arc_curves((0.0, 0.0), end, 10.0, large, sweep)
    assert curves[-1][2] == pytest.approx(end)
    at, turned = (0.0, 0.0), 0.0
    for c1, c2, to in curves:
        a, b = (math.atan2(q[1] - p[1], q[0] - p[0]) for p, q in ((at, c1), (c2, to)))
        turned += (b - a + math.pi) % (2 * math.pi) - math.pi
        at = to
    assert math.degrees(turned) == pytest.approx((300 if large else 60) * (1 if sweep else -1))


def test_the_key_shows_each_line_level_before_its_words() -> None:
    picture = Picture(200.0, 30.0)
    _key(picture, design(job(feet={})), 10.0, 20.0, 180.0)
    drawn = read(picture.svg("key"))
    samples = [s for s, _ in drawn.lines if s.geom_type == "LineString" and len(s.coords) == 2]
    assert [one.words for one in drawn.texts][:2] == ["film as cut", "foot below"]
    assert len(samples) >= 2
    for shape, text in zip(samples, drawn.texts, strict=False):
        (x0, y0), (x1, y1) = shape.coords
        assert y0 == y1
        assert x1 - x0 == pytest.approx(12.0)
        assert x1 < text.room.bounds[0]
        assert text.room.bounds[1] < y0 < text.room.bounds[3]


def test_walls_that_go_on_are_no_edges() -> None:
    """A square whose right side goes on below: the other three, in one line."""
    ring = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    lines = _edges(ring, ring, {_segment((10.0, 10.0), (10.0, 0.0))})
    seen = {_segment(a, b) for line in lines for a, b in pairwise(line)}
    assert seen == {_segment(*pair) for pair in (((0, 0), (10, 0)), ((10, 10), (0, 10)), ((0, 10), (0, 0)))}


@pytest.mark.parametrize("high", [12.0, 20.0, 28.0, 60.0])
def test_heights_beside_the_bar_do_not_run_into_each_other(high: float) -> None:
    picture = Picture(40.0, high + 10.0)
    bar(picture, Field(np.array([[3.0, 3.45]]), 2.0, 4.0), (5.0, 5.0), high)
    texts = read(picture.svg("bar")).texts
    tops = sorted(text.room.bounds[1] for text in texts)
    assert len(tops) >= 2
    assert min(np.diff(tops)) >= LABEL + 0.8 - 1e-3


@pytest.mark.parametrize("tables", [{}, {"lid": {}}])
def test_corners_are_told_of_the_wall_over_the_first_window(tables: dict[str, Any]) -> None:
    """The wall's opening, of a cut through the frame just below its top: of a lidded one wider than the pocket."""
    made = design(job(layout={"finger_notches": False}, **tables))
    (frame,) = [part for part in made.parts if part.in_frame]
    middle = shapely.Point(*centre(made.mine[0].opening))
    below_top = max(slab.z1 for slab in frame.slabs) - 0.05
    shapes = [shapely.Polygon(ring) for ring in shapely.get_parts(section(frame, below_top))[0].interiors]
    hole = next(shape for shape in shapes if shape.contains(middle))
    wall = _wall(made)
    assert (wall.x, wall.y, wall.right, wall.top) == pytest.approx(hole.bounds, abs=0.02)
    assert (wall.width > made.mine[0].pocket.width + 1.0) is bool(tables)


def centre(rect: Rect) -> Point:
    return rect.x + rect.width / 2, rect.y + rect.height / 2


@pytest.mark.parametrize(("off", "another"), [(4.9, False), (5.5, True), (-5.5, True)])
def test_a_window_off_by_more_than_5_mm_is_another_s(off: float, another: bool) -> None:
    found: Any = SimpleNamespace(
        placement=SimpleNamespace(window_error_mm=(0.2, off), doubts=(), rebate_seen=None),
        clipping=Clipping((0.0,), (0.0,)),
    )
    assert bool(doubts(found)) is another


@pytest.mark.parametrize(("numbered", "marks"), [(True, ["1.", "2."]), (False, ["\u2013"] * 2)])
def test_a_list_whose_order_counts_is_numbered(numbered: bool, marks: list[str]) -> None:
    load_fonts()
    assert [one.bulletText for one in _block(Items(("cut", "glue"), numbered), 200.0, 700.0, SMALL)] == marks


def test_a_section_begins_on_a_new_column_where_less_than_25_mm_are_left() -> None:
    """72 points to the inch."""
    load_fonts()
    sections = [
        Section(key, key.title(), (Words("words"),), leaf=leaf)
        for key, leaf in (("a", 1), ("b", 2), ("c", 3))
    ]
    content: Any = SimpleNamespace(title="t", subtitle="s", sections=sections)
    breaks = [
        one.height for one in _story(content, SMALL, 500.0, 240.0, 700.0) if isinstance(one, CondPageBreak)
    ]
    assert len(breaks) == 3
    assert breaks == pytest.approx([25.0 * 72 / 25.4] * 3)


def test_the_whole_length_is_dimensioned_from_end_to_end(monkeypatch: pytest.MonkeyPatch) -> None:
    made, seen = design(job()), []
    monkeypatch.setattr(plan.dimension, "along", lambda *given: seen.append(given[1:4]))
    view = View(20.0, 200.0, made.outer.x, made.outer.y, 0.5, 0.5)
    plan._dimensions(Picture(300.0, 300.0), made, view, made.outer)
    assert seen[-1] == pytest.approx((200.0, 200.0 - made.outer.height / 2, 20.0 - 1.0 - 2 * plan.STEP_MM))


def test_the_window_s_edge_is_shown_from_the_wall_beyond_the_pocket_on(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made, seen = design(job()), []
    monkeypatch.setattr(cut_drawn, "draw", lambda *given: seen.append(given[3]))
    cut_drawn.edge(made, 170.0)
    wall = (
        made.mine[0].pocket.x - 9.0
    )  # so much of a wide wall, and of a narrow one all, with some ground beside it
    assert seen[0].x0 == pytest.approx(max(wall, made.outer.x - 1.5))
    assert seen[0].x1 == pytest.approx(made.mine[0].opening.x + 7.0)
    assert seen[0].y == cut_drawn.quiet_y(made)


def test_the_joint_that_is_drawn_is_one_of_the_frame() -> None:
    """Whichever part's seams are listed first: the lid in pieces has joints of its own."""
    made = design(job(film={"format": "8x10"}, printer={"name": "p220"}, lid={}))
    assert {seam.role.in_frame for seam in made.seams} == {True, False}
    drawn = [_joint(one, 170.0, 120.0) for one in (made, replace(made, seams=made.seams[::-1]))]
    assert drawn[0] is not None
    assert drawn[1] is not None
    assert drawn[0][1].svg("joint") == drawn[1][1].svg("joint")


def test_a_lower_sheet_that_stands_back_is_named_as_a_step() -> None:
    """A ledge of two sheets of 1.5 mm: the lower one's opening is wider than the window's."""
    made = design(job(route="laser", material={"name": "plywood-birch", "sheets_mm": [1.5]}))
    window, outer = made.mine[0], made.outer
    marks = {
        mark.words: mark.at
        for mark in _above(made, window, Slice(centre(outer)[1], outer.x - 1, window.opening.x + 7))
    }
    lower = min((slab for part in made.parts for slab in part.slabs), key=lambda slab: slab.z0)
    back = max(
        x for x in (min(v.x for v in hole.vertices) for hole in lower.region.holes) if x < window.opening.x
    )
    assert marks["step"] == pytest.approx(back - outer.x)
    assert marks["window"] == pytest.approx(window.opening.x - outer.x)
    assert marks["step"] < marks["window"]
