"""Nesting: nothing overlaps by exact geometry, waste holds small parts, cuts go from the inside out, bounds hold."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.model import Rect
from holders.design.parts.sections import polygon
from holders.design.pieces.cutting import CutPart
from holders.design.resolve import design
from holders.geometry.outline import Outline, Vertex, area, bounds, circle, length, rectangle
from holders.preset.resolve import resolve
from holders.workshop.coupon.coupon import coupon
from holders.workshop.nest.cavity import inner_rectangle, largest_free
from holders.workshop.nest.cut_order import Speeds, cut_order, usual_speeds
from holders.workshop.nest.least import by_area, by_boxes
from holders.workshop.nest.nest import Nesting, StockSheet, material_area, nest, placed, turned
from holders.workshop.nest.nest_job import nest_job
from holders.workshop.nest.overlap import SLACK_MM, faults, outline_area
from tests.presets_made import job
from tests.workshop.nest_cases import cases, preset

BIG = (StockSheet(600, 400),)


def piece(
    w: float,
    h: float,
    holes: tuple[Outline, ...] = (),
    name: str = "p",
    quantity: int = 1,
    radius: float = 0.0,
) -> CutPart:
    return CutPart(name, name, "mdf", 3.0, quantity, rectangle(7, -3, w, h, radius), holes, (), 0.0)


def frame(w: float, h: float, bar: float, **more: object) -> CutPart:
    hole = rectangle(7 + bar, -3 + bar, w - 2 * bar, h - 2 * bar)
    return piece(w, h, (hole,), **more)  # type: ignore[arg-type]


# --- five holders ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "parts", "stock"), cases(), ids=[c[0] for c in cases()])
def test_five_holders(name: str, parts: tuple[CutPart, ...], stock: tuple[StockSheet, ...]) -> None:
    found = nest(parts, stock)
    assert not faults(found)
    assert len(found.placements) == sum(p.quantity for p in parts)
    # by area no nesting can do with fewer sheets; here the count equals the stronger bound by boxes, so it is best
    usable = (stock[0].width_mm - 2 * found.margin_mm) * (stock[0].height_mm - 2 * found.margin_mm)
    by_material = math.ceil(sum(material_area(p) * p.quantity for p in parts) / usable)
    assert by_material <= found.least_sheets <= len(found.sheets)
    assert len(found.sheets) == found.least_sheets
    assert found.kept_mm2 == pytest.approx(sum(material_area(p) * p.quantity for p in parts))
    assert found.kept_mm2 < found.used_mm2 <= sum(s.width_mm * s.height_mm for s in found.sheets)
    for use in found.sheets:
        assert 0 <= use.waste_share < 1


def test_windows_hold_the_small_parts() -> None:
    _, parts, stock = next(c for c in cases() if c[0].startswith("5"))
    found = nest(parts, stock)
    inside = [p for p in found.placements if p.inside is not None]
    assert {p.part for p in inside} >= {"lid", "coupon"}
    assert len(inside) == 11  # all but the six frames
    for spot in inside:
        assert spot.inside is not None
        host, n = found.placements[spot.inside], found.placements.index(spot)
        assert host.sheet == spot.sheet
        hole = found.pieces[spot.inside].inner[spot.hole or 0]
        window = polygon(placed(hole, found.pieces[spot.inside], host))
        assert window.contains(outline_area(found.pieces[n], spot))
    solid = [
        CutPart(p.name, p.title, p.material, p.thickness_mm, p.quantity, p.outer, (), (), 0.0) for p in parts
    ]
    assert nest(solid, stock).used_mm2 > found.used_mm2  # what the windows hold would take stock of its own


def test_a_window_saves_a_sheet() -> None:
    sheet = (StockSheet(312, 312),)
    small = piece(100, 100, name="small", quantity=4)
    assert len(nest([frame(300, 300, 20), small], sheet).sheets) == 1
    assert len(nest([piece(300, 300), small], sheet).sheets) == 2


# --- what overlap looks like -----------------------------------------------------------------------------------------


def test_an_overlap_is_seen() -> None:
    found = nest([piece(50, 40, quantity=2)], BIG)
    assert not faults(found)
    one, two = found.placements
    moved = Nesting(
        found.pieces,
        (one, type(two)(two.part, two.copy, two.sheet, one.x + 20, one.y + 5, two.rotation)),
        found.sheets,
        1,
        found.spacing_mm,
        found.margin_mm,
        found.turning,
    )
    assert faults(moved)
    assert "0.000 mm apart" in faults(moved)[0]


def test_too_near_and_over_the_edge_are_seen() -> None:
    found = nest([piece(50, 40, quantity=2)], BIG, turning="grain")
    one, two = found.placements
    near = type(two)(two.part, two.copy, 0, one.x + 51, one.y, two.rotation)
    bad = Nesting(found.pieces, (one, near), found.sheets, 1, 2.0, 5.0, "any")
    assert len(faults(bad)) == 1
    off = type(two)(two.part, two.copy, 0, 580, 100, two.rotation)
    bad = Nesting(found.pieces, (one, off), found.sheets, 1, 2.0, 5.0, "any")
    assert "leaves sheet 1" in faults(bad)[0]


def test_a_piece_that_lies_on_a_bar_is_seen() -> None:
    found = nest([frame(200, 150, 20, name="frame"), piece(60, 60, name="small")], BIG)
    small = found.placements[1]
    assert small.inside == 0
    on_bar = type(small)("small", 1, 0, found.placements[0].x + 5, found.placements[0].y + 5, 0, 0, 0)
    assert faults(Nesting(found.pieces, (found.placements[0], on_bar), found.sheets, 1, 2.0, 5.0, "any"))


# --- turning, grain, sheets ------------------------------------------------------------------------------------------


def test_turned_outline_keeps_its_arcs() -> None:
    shape = rectangle(0, 0, 30, 10, 3)
    quarter = turned(shape, 90)
    assert area(quarter) == pytest.approx(area(shape))
    assert length(quarter) == pytest.approx(length(shape))
    assert bounds(quarter) == pytest.approx((-10, 0, 0, 30))
    assert turned(shape, 0) is shape


def test_grain_keeps_pieces_along_the_sheet() -> None:
    parts = [piece(300, 100, quantity=2)]
    narrow = (StockSheet(320, 700),)
    assert {p.rotation for p in nest(parts, narrow, turning="grain").placements} == {0}
    with pytest.raises(InputError, match="quarter turns"):
        nest(parts, (StockSheet(120, 700),), turning="grain")
    assert {p.rotation for p in nest(parts, (StockSheet(120, 700),)).placements} == {90}


def test_offcuts_at_hand_are_used_first() -> None:
    stock = (StockSheet(130, 110, 1, "offcut"), StockSheet(600, 400))
    found = nest([piece(100, 80, quantity=1)], stock)
    assert [s.name for s in found.sheets] == ["offcut"]
    found = nest([piece(100, 80, quantity=4)], stock)
    assert not faults(found)
    with pytest.raises(InputError, match="larger sheet or more of them"):
        nest([piece(100, 80, quantity=4)], stock[:1])


def test_a_half_open_case_by_hand() -> None:
    # two 290 x 390 pieces with 2 mm between them and 5 mm of margin fill a sheet of 592 x 400 exactly
    parts = [piece(290, 390, quantity=2)]
    assert len(nest(parts, (StockSheet(592, 400),)).sheets) == 1
    assert len(nest(parts, (StockSheet(591.9, 400),)).sheets) == 2


@pytest.mark.parametrize(
    ("parts", "stock", "more", "word"),
    [
        ([], BIG, {}, "at least one"),
        ([piece(700, 20)], BIG, {}, "700.0 x 20.0"),
        ([piece(10, 10)], BIG, {"spacing_mm": -1}, "not negative"),
        ([piece(10, 10, quantity=201)], BIG, {}, "at most 200"),
        ([piece(10, 10)], (StockSheet(8, 8),), {}, "all margin"),
        (
            [piece(10, 10), CutPart("q", "q", "mdf", 2.0, 1, rectangle(0, 0, 5, 5), (), (), 0)],
            BIG,
            {},
            "one material",
        ),
    ],
)
def test_refusals(
    parts: list[CutPart], stock: tuple[StockSheet, ...], more: dict[str, float], word: str
) -> None:
    with pytest.raises(InputError, match=word):
        nest(parts, stock, **more)  # type: ignore[arg-type]


sides = st.floats(12, 280).map(lambda x: round(x, 2))


@st.composite
def shapes(draw: st.DrawFn) -> CutPart:
    w, h = draw(sides), draw(sides)
    radius = draw(st.sampled_from((0.0, 3.0)))
    if draw(st.booleans()) and min(w, h) > 40:
        bar = draw(st.floats(5, min(w, h) / 2 - 8).map(lambda x: round(x, 2)))
        hole = rectangle(7 + bar, -3 + bar, w - 2 * bar, h - 2 * bar, radius)
        return piece(w, h, (hole,), "frame", draw(st.integers(1, 2)), radius)
    if draw(st.booleans()):
        r = min(w, h) / 2
        return CutPart("disc", "disc", "mdf", 3.0, 1, circle(50, 50, r), (circle(50, 50, r * 0.8),), (), 0)
    return piece(w, h, (), "plain", draw(st.integers(1, 4)), radius)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    st.lists(shapes(), min_size=1, max_size=7),
    st.sampled_from(("any", "grain")),
    st.floats(0.5, 6),
    st.floats(0, 12),
)
def test_nothing_ever_overlaps(parts: list[CutPart], turning: str, spacing: float, margin: float) -> None:
    found = nest(parts, BIG, spacing_mm=spacing, margin_mm=margin, turning=turning)  # type: ignore[arg-type]
    assert not faults(found)
    assert len(found.placements) == sum(p.quantity for p in parts)
    assert found.least_sheets <= len(found.sheets)
    if turning == "grain":
        assert all(p.rotation == 0 for p in found.placements)
    for k, spot in enumerate(found.placements):
        x0, y0, _, _ = bounds(placed(found.pieces[k].outer, found.pieces[k], spot))
        assert (x0, y0) == pytest.approx((spot.x, spot.y), abs=1e-6)
    for number, use in enumerate(found.sheets):
        if use.offcut is None:
            continue
        free = shapely.box(use.offcut.x, use.offcut.y, use.offcut.right, use.offcut.top)
        for p, s in zip(found.pieces, found.placements, strict=True):
            if s.sheet == number:
                assert free.distance(outline_area(p, s)) >= spacing - SLACK_MM


# --- holes and offcuts -----------------------------------------------------------------------------------------------


def test_largest_rectangle_in_a_hole() -> None:
    found = inner_rectangle(rectangle(10, 20, 100, 60, 0.5), 2.0)
    assert found is not None
    assert (found.width, found.height) == pytest.approx((96, 56), abs=0.3)
    assert inner_rectangle(rectangle(0, 0, 3, 3), 2.0) is None
    # an L of 100 x 100 less 60 x 70: the upright leg 40 x 100 beats the lying one 100 x 30
    corners = ((0, 0), (100, 0), (100, 30), (40, 30), (40, 100), (0, 100))
    leg = inner_rectangle(Outline(tuple(Vertex(x, y) for x, y in corners)), 0.0)
    assert leg is not None
    assert (leg.width, leg.height) == pytest.approx((40, 100), abs=0.3)


def test_rectangle_in_a_circle_stays_inside() -> None:
    # the largest square in a circle of radius r has the area 2 r² (geometry); the search may miss a little
    found = inner_rectangle(circle(0, 0, 50), 0.0)
    assert found is not None
    inside = shapely.Point(0, 0).buffer(50.11, quad_segs=64)
    assert inside.contains(shapely.box(found.x, found.y, found.right, found.top))
    assert 0.93 * 5000 < found.width * found.height <= 5000 * 1.01


def test_largest_free_rectangle_by_hand() -> None:
    sheet = Rect(0, 0, 100, 60)
    assert largest_free(sheet, []) == sheet
    assert largest_free(sheet, [Rect(0, 0, 40, 60)]) == Rect(40, 0, 60, 60)
    assert largest_free(sheet, [Rect(0, 0, 100, 60)]) is None
    assert largest_free(sheet, [Rect(30, 20, 10, 10)]) == Rect(40, 0, 60, 60)


@given(
    st.lists(
        st.builds(Rect, st.integers(0, 9), st.integers(0, 9), st.integers(1, 5), st.integers(1, 5)),
        max_size=4,
    )
)
def test_largest_free_rectangle_against_trying_all(taken: list[Rect]) -> None:
    best = 0
    for x0 in range(10):
        for x1 in range(x0 + 1, 11):
            for y0 in range(10):
                for y1 in range(y0 + 1, 11):
                    mine = Rect(x0, y0, x1 - x0, y1 - y0)
                    if (x1 - x0) * (y1 - y0) > best and not any(mine.overlaps(t) for t in taken):
                        best = (x1 - x0) * (y1 - y0)
    found = largest_free(Rect(0, 0, 10, 10), taken)
    assert (0 if found is None else found.width * found.height) == best


# --- bounds ----------------------------------------------------------------------------------------------------------


def test_bounds_by_hand() -> None:
    assert by_area(10_001, (100, 100)) == 2
    # four boxes of 51 x 51 need a sheet of 100 x 100 each, though their area is just over one
    assert by_boxes([(51, 51)] * 4, (100, 100), True) == 4
    assert by_boxes([(50, 50)] * 4, (100, 100), True) == 1
    assert by_boxes([(34, 100)] * 3, (100, 100), False) == 2
    assert by_boxes([(216, 297)] * 3, (592, 392), True) == 2


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 10), st.integers(1, 10)), min_size=1, max_size=30), st.booleans())
def test_a_packing_never_beats_the_bound(boxes: list[tuple[int, int]], turn: bool) -> None:
    parts = [piece(10.0 * w, 10.0 * h) for w, h in boxes]
    found = nest(
        parts, (StockSheet(100, 100),), spacing_mm=0, margin_mm=0, turning="any" if turn else "grain"
    )
    sizes = [(10.0 * w, 10.0 * h) for w, h in boxes]
    assert by_boxes(sizes, (100.0, 100.0), turn) <= len(found.sheets)
    assert found.least_sheets <= len(found.sheets)


# --- cutting ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("index", [0, -1])
def test_inner_is_cut_before_outer(index: int) -> None:
    _, parts, stock = cases()[index]
    found = nest(parts, stock)
    for sheet in cut_order(found, usual_speeds("laser", 3.0)):
        kinds = [c.kind for c in sheet.cuts]
        assert kinds == sorted(kinds, key=lambda k: k != "mark")  # marks first
        shapes = [polygon(c.outline, 0.05) for c in sheet.cuts if c.outline is not None]
        for early, one in enumerate(shapes):
            for later in shapes[early + 1 :]:
                assert not one.contains(later)


def test_a_piece_in_a_window_is_cut_before_the_window() -> None:
    found = nest([frame(200, 150, 20, name="frame"), frame(80, 60, 10, name="lid")], BIG)
    (sheet,) = cut_order(found, usual_speeds("laser", 3.0))
    assert [(c.part, c.kind) for c in sheet.cuts] == [
        ("lid", "inner"), ("lid", "outer"), ("frame", "inner"), ("frame", "outer"),
    ]  # fmt: skip


def test_length_and_time_by_hand() -> None:
    # a plain square of 100 mm: 400 mm of cut at 10 mm/s, one start of 0.5 s, 5+5 mm of margin to travel at 100 mm/s
    found = nest([piece(100, 100)], BIG)
    (sheet,) = cut_order(found, Speeds(10.0, 50.0, 100.0, 0.5))
    assert sheet.cut_mm == pytest.approx(400)
    assert sheet.mark_mm == 0
    assert sheet.travel_mm == pytest.approx(math.hypot(5, 5))
    assert sheet.seconds == pytest.approx(40 + 0.5 + math.hypot(5, 5) / 100)


def test_speeds() -> None:
    assert usual_speeds("laser", 6.0).cut == pytest.approx(usual_speeds("laser", 3.0).cut / 2)
    assert usual_speeds("knife", 2.0).cut < usual_speeds("laser", 2.0).cut
    with pytest.raises(InputError):
        usual_speeds("print", 3.0)


# --- a whole job -----------------------------------------------------------------------------------------------------


def test_a_job_on_its_sheets() -> None:
    made = resolve(preset("8x10-acrylic-lid"))
    holder = design(made)
    piece_ = coupon("laser", "acrylic-cast", holder.parts[0].slabs[0].z1 - holder.parts[0].slabs[0].z0)
    found = nest_job(made, holder, more=piece_.parts, copies=2)
    assert [n.thickness_mm for n in found] == sorted(n.thickness_mm for n in found)
    placed_parts = [p.part for n in found for p in n.nesting.placements]
    assert placed_parts.count("coupon") == 1
    assert placed_parts.count("lid") == 2
    for nested in found:
        assert not faults(nested.nesting)
        assert len(nested.cuts) == len(nested.nesting.sheets)
        marks = sum(len(p.lettering) for p in nested.nesting.pieces)
        assert sum(c.kind == "mark" for s in nested.cuts for c in s.cuts) == marks
    # the test piece measures the kerf, so it is cut on the line
    kerfs = {p.name: p.kerf_mm for n in found for p in n.nesting.pieces}
    assert kerfs["coupon"] == 0.0
    assert kerfs["sheet-1-ledge"] == 0.18


def test_a_printed_job_has_no_sheets() -> None:
    made = job()
    assert nest_job(made, design(made)) == ()


def test_a_sheet_too_small_is_told() -> None:
    made = resolve(preset("8x10-mat-board"))
    with pytest.raises(InputError, match="needs 2"):
        nest_job(made, design(made), stock=(StockSheet(200, 300),))
