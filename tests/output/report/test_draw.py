"""Drawings: well formed, true to size, every dimension written, the cut where the design has material, same bytes."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from holders.core.lengths import measure
from holders.design.model import Design
from holders.design.parts.sections import area_of, section
from holders.design.resolve import design
from holders.geometry.outline import Region, circle, rectangle
from holders.output.draw import apart, dimension
from holders.output.draw import section as cutting
from holders.output.draw.canvas import Picture, View, number, text_width
from holders.output.draw.film import _runs as film_runs
from holders.output.draw.plan import plan
from holders.output.draw.sheet import HEIGHT, WIDTH, drawing, fitted, plan_scale, ratio
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.fixtures_design import FLARE, LEDGE, OPENING, OUTER, POCKET, TOP, UNDER, frame_part, lid_part, made
from tests.presets_made import SHIPPED

NS = "{http://www.w3.org/2000/svg}"


def texts(data: bytes) -> list[str]:
    return [e.text or "" for e in ET.fromstring(data).iter(f"{NS}text")]


def as_svg(picture: Picture) -> bytes:
    return picture.svg("t")


@pytest.mark.parametrize("route", ["print", "laser"])
def test_sheet_is_well_formed_and_true_to_its_paper(route: str) -> None:
    root = ET.fromstring(drawing(made(route)))
    assert root.tag == f"{NS}svg"
    assert root.get("width") == f"{WIDTH:g}mm"
    assert root.get("height") == f"{HEIGHT:g}mm"
    assert root.get("viewBox") == f"0 0 {WIDTH:g} {HEIGHT:g}"  # so one user unit is one mm on paper


def test_sheet_names_every_main_length() -> None:
    said = texts(drawing(made()))
    for length in (120, 150, 80, 100, 20, 30):  # outer size, window, window's place
        assert measure(length) in said
    assert measure(0.8) in said  # foot protrusion
    assert measure(2.4) in said  # ledge
    assert measure(3.2) in said  # ledge above the glass
    joined = " ".join(said)
    assert "plane of the picture 3.2" in joined
    assert "sharpest height 3.1 ± 0.1" in joined
    assert "sharp 2.5 to 3.7" in joined
    assert "1 frame: 120 x 150 x 4.4" in joined
    assert "4 feet, diameter 10" in joined


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_every_shipped_preset_draws_inside_its_sheet(path: Path) -> None:
    holder = design(resolve(load(path)))
    data = drawing(holder)
    assert drawing(holder) == data
    said = texts(data)
    for value in (holder.outer.width, holder.outer.height, holder.windows[0].opening.width):
        assert measure(value) in said
    root = ET.fromstring(data)
    for element in root.iter(f"{NS}svg"):
        for x, y, _ in absolute(element):
            assert -0.5 <= x <= WIDTH + 0.5
            assert -0.5 <= y <= HEIGHT + 0.5


def absolute(root: ET.Element, dx: float = 0.0, dy: float = 0.0) -> list[tuple[float, float, str]]:
    """Every text's place on the sheet, following the groups' shifts."""
    found = []
    for element in root:
        shift = re.match(r"translate\(([-\d.]+) ([-\d.]+)\)", element.get("transform", ""))
        x, y = (dx + float(shift[1]), dy + float(shift[2])) if shift else (dx, dy)
        if element.tag == f"{NS}text":
            found.append((x + float(element.get("x", 0)), y + float(element.get("y", 0)), element.text or ""))
        found += absolute(element, x, y)
    return found


def test_plan_is_to_scale() -> None:
    holder = made()
    picture = plan(holder, 0.5, dimensions=False)
    assert picture.width == pytest.approx(121 * 0.5 + 4)
    assert picture.height == pytest.approx(151 * 0.5 + 4)
    drawn = [p.get("d", "") for p in ET.fromstring(as_svg(picture)).iter(f"{NS}path")]
    outer = next(d for d in drawn if d.count("A") >= 8)
    xs = [float(m) for m in re.findall(r"[ML]([-\d.]+) ", outer)]
    assert min(xs) == pytest.approx(2 + OUTER.x * 0.5, abs=2.1)
    assert f"A{number(4 * 0.5)} " in outer  # corner radius 4 at half size


def test_plan_reads_the_right_way_up() -> None:
    view = View(10.0, 100.0, 0.0, 0.0, 0.5, 0.5)
    assert view.at(0, 0) == (10, 100)
    assert view.at(20, 40) == (20, 80)  # away from home is up the paper


def test_upright_cut_shows_ledge_pocket_and_chamfer() -> None:
    y = cutting.quiet_y(made())
    shape = cutting.cut_through(frame_part(), y)
    left = shape.intersection(shapely.box(0, 0, 60, 10))
    ledge, wall = OPENING.x - OUTER.x, POCKET.x - OUTER.x
    chamfer = FLARE * (LEDGE - 0.8 - UNDER) / 2
    assert left.area == pytest.approx(ledge * (LEDGE - UNDER) - chamfer + wall * (TOP - LEDGE), rel=1e-9)
    for z in (UNDER + 0.1, LEDGE - 0.4, LEDGE + 0.1):  # and agrees with the level cuts
        flat = section(frame_part(), z).intersection(shapely.LineString([(0, y), (60, y)])).length
        upright = shape.intersection(shapely.LineString([(0, z), (60, z)])).length
        assert upright == pytest.approx(flat, abs=0.01)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_the_cut_runs_clear_of_notches(path: Path) -> None:
    holder = design(resolve(load(path)))
    y = cutting.quiet_y(holder)
    window = holder.windows[0]
    assert window.opening.y < y < window.opening.top
    top = max((p for p in holder.parts if not p.name.startswith("lid")), key=lambda p: p.z1)
    level = area_of(top.slabs[-1].region)

    def wall(at: float) -> float:
        line = shapely.LineString([(window.film.x - 30, at), (window.film.x, at)])
        return float(level.intersection(line).length)

    low, high = window.opening.y + 3, window.opening.top - 3
    most = max(wall(low + (high - low) * k / 40) for k in range(41))
    assert wall(y) >= most - 0.05


def test_parts_pulled_apart_stand_over_each_other() -> None:
    together = apart.pulled_apart(made(lid=False), 100)
    with_lid = apart.pulled_apart(made(lid=True), 100)
    assert with_lid.height > together.height + 5
    flats = len(list(ET.fromstring(as_svg(with_lid)).iter(f"{NS}path")))
    assert flats > len(list(ET.fromstring(as_svg(together)).iter(f"{NS}path")))


def test_walls_that_look_away_are_not_drawn() -> None:
    square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    seen = {(a, b) for a, b, _ in apart._facing(square, 1.0)}
    assert seen == {((0.0, 0.0), (10.0, 0.0)), ((0.0, 10.0), (0.0, 0.0))}  # the two that face the home corner
    inside = {(a, b) for a, b, _ in apart._facing(square, -1.0)}
    assert inside == {((10.0, 0.0), (10.0, 10.0)), ((10.0, 10.0), (0.0, 10.0))}


def test_dimension_writes_the_length_and_turns_when_narrow() -> None:
    picture = Picture(100, 50)
    dimension.across(picture, 10, 60, 30, 100.0, 20)
    dimension.across(picture, 70, 72, 30, 4.05, 20)
    dimension.along(picture, 10, 40, 5, 60.5, 8)
    found = list(ET.fromstring(as_svg(picture)).iter(f"{NS}text"))
    assert [e.text for e in found] == ["100", "4.05", "60.5"]
    assert [e.get("transform") is not None for e in found] == [False, True, True]


def test_chains_leave_out_what_is_too_small() -> None:
    picture = Picture(100, 50)
    dimension.chain_across(picture, [(0, 0), (10, 20), (10, 20.01), (30, 60)], 30, 20)
    assert texts(as_svg(picture)) == ["20", "39.99"]


@pytest.mark.parametrize(
    ("value", "words"), [(5.0, "5"), (0.1, "0.1"), (17.254, "17.25"), (-0.001, "0"), (120, "120")]
)
def test_lengths_are_written_without_needless_zeros(value: float, words: str) -> None:
    assert measure(value) == words


def test_arcs_are_drawn_as_arcs() -> None:
    picture, view = Picture(50, 50), View(0, 50, 0, 0, 2.0, 2.0)
    picture.outlines([circle(10, 10, 3), rectangle(0, 0, 20, 20, 4)], view)
    data = next(d for p in ET.fromstring(as_svg(picture)).iter(f"{NS}path") if "A" in (d := p.get("d", "")))
    assert data.count("A6 6 ") == 2
    assert data.count("A8 8 ") == 4
    assert " 0 0 0 " in data  # anticlockwise on the bed is anticlockwise on the paper


def test_scales_are_the_usual_ones_and_the_plan_fits() -> None:
    assert ratio(0.5) == "1 : 2"
    assert ratio(2.0) == "2 : 1"
    small = made()
    assert plan_scale(small) == 1.0
    large = replace(small, glass=replace(small.glass, width=310.0, height=437.0))
    assert plan_scale(large) == 0.5


def test_hostile_titles_are_only_text() -> None:
    holder = made(title='<script>alert("x")</script> & 🎞 ' + "long " * 50)
    data = drawing(holder)
    root = ET.fromstring(data)
    assert not list(root.iter(f"{NS}script"))
    assert any(t.startswith("<script>") and t.endswith("…") for t in texts(data))


def test_long_words_are_cut_to_their_room() -> None:
    assert fitted("short", 100, 3) == "short"
    cut = fitted("x" * 500, 50, 3)
    assert text_width(cut, 3) <= 50
    assert cut.endswith("…")


def test_lids_at_several_places_are_all_cut() -> None:
    holder: Design = made()
    lid = lid_part(quantity=2)
    two = replace(holder, parts=(holder.parts[0], lid))
    assert drawing(two) != drawing(holder)
    assert "2 lid frame" in " ".join(texts(drawing(two)))


def test_no_dashed_line_runs_through_lettering() -> None:
    """Where the lamp area's edge would cross a text, paper is left bare behind it."""
    strips = next(path for path in SHIPPED if path.stem == "35mm-strips")
    drawn = design(resolve(load(strips)))
    assert sum(len(part.grooves) for part in drawn.parts) == 2
    far = replace(drawn, lamp=replace(drawn.lamp, x=-500.0))
    crossed, clear = (plan(one, 0.5).svg("plan").count(b'fill="#fff"') for one in (drawn, far))
    assert crossed - clear == 2


@given(
    rings=st.lists(
        st.tuples(*[st.floats(0, 60)] * 2, *[st.floats(1, 30)] * 2, st.floats(0, 0.49)), max_size=4
    ),
    share=st.floats(0.01, 0.99),
)
def test_level_lines_are_cut_as_an_intersection_cuts_them(
    rings: list[tuple[float, float, float, float, float]], share: float
) -> None:
    # holes may overlap one another and the rim
    holes = tuple(rectangle(x, y, w, h, round_ * min(w, h)) for x, y, w, h, round_ in rings)
    region = Region(rectangle(0, 0, 70, 50, 6), holes)
    y = share * 50
    assume(
        all(min(abs(y - low), abs(y - low - high)) > 1e-6 for _, low, _, high, _ in rings)
    )  # not along an edge
    met = area_of(region).intersection(shapely.LineString([(-1, y), (71, y)]))
    expected = [p.bounds for p in shapely.get_parts(met) if p.length > 1e-5]
    found = [(a, b) for a, b in cutting.spans(region, (y,))[0] if b - a > 1e-5]
    assert sum(b - a for a, b in found) == pytest.approx(sum(p[2] - p[0] for p in expected), abs=1e-3)
    for a, b in found:
        assert any(p[0] - 1e-4 <= a and b <= p[2] + 1e-4 for p in expected)


def test_words_are_written_so_that_they_are_read_again() -> None:
    picture = Picture(20, 10)
    words = "5 < 6 & \"7\" > 'é' – ±"
    picture.text((1, 2), words, bold=True, turned=True, halo=True)
    inner = Picture(2, 2)
    picture.place(inner, 1, 1)
    inner.line((0, 0), (1, 1))
    picture.place(inner, 3, 4)
    root = ET.fromstring(picture.svg(words))
    assert root.findtext(f"{NS}title") == words
    assert [e.text for e in root.iter(f"{NS}text")] == [words]
    assert [g.get("transform") for g in root.iter(f"{NS}g")] == [None, "translate(1 1)", "translate(3 4)"]


def test_every_soft_cell_of_a_map_is_covered_once() -> None:
    rng = np.random.default_rng(3)
    mask = rng.random((7, 9)) < 0.5
    seen = np.zeros_like(mask, dtype=int)
    for ring in film_runs(mask, 10.0, 20.0, 2.0, 3.0):
        (x0, y0), _, (x1, y1), _ = ring
        i0, i1, j0, j1 = (x0 - 10) / 2, (x1 - 10) / 2, (y0 - 20) / 3, (y1 - 20) / 3
        seen[round(j0) : round(j1), round(i0) : round(i1)] += 1
    assert (seen == mask).all()
    assert film_runs(np.zeros((3, 3), dtype=bool), 0, 0, 1, 1) == []
