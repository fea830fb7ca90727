"""Drawings: well formed, true to size, every dimension written, the cut where the design has material, same bytes."""

from __future__ import annotations

import importlib.util
import re
import sys
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from types import ModuleType
from typing import Literal

import numpy as np
import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from holders.core.errors import HoldersError
from holders.core.lengths import measure
from holders.design.model import Design
from holders.design.parts.sections import area_of, section
from holders.design.resolve import design
from holders.facts.tables import paper
from holders.geometry.outline import Region, bounds, circle, rectangle
from holders.output.draw import apart, dimension
from holders.output.draw import section as cutting
from holders.output.draw.canvas import Picture, View, number, text_width
from holders.output.draw.drafting.balloons import pointers
from holders.output.draw.drafting.items import items
from holders.output.draw.drafting.lettering import fitted, spread, wrapped
from holders.output.draw.drafting.ordinates import Edge, Mark, row
from holders.output.draw.drafting.workplan import rows_of, workplan
from holders.output.draw.plan import plan
from holders.output.draw.relief import Field, colour_of, colour_scale, key_span, layers_of, relief
from holders.output.draw.sheet import BORDER, drawing, ratio, sheets_of, size_of
from holders.output.typeface import CAPITAL
from holders.preset.load import load, parse
from holders.preset.resolve import resolve
from tests.fixtures_design import FLARE, LEDGE, OPENING, OUTER, POCKET, TOP, UNDER, frame_part, lid_part, made
from tests.output.report import lettering
from tests.presets_made import SHIPPED

ROOT = Path(__file__).resolve().parents[3]
NS = "{http://www.w3.org/2000/svg}"


def texts(data: bytes) -> list[str]:
    return [e.text or "" for e in ET.fromstring(data).iter(f"{NS}text")]


def as_svg(picture: Picture) -> bytes:
    return picture.svg("t")


NOTCHED_MM = 3.0  # of the wall beside a pocket; finger notches go deeper, trays keep further off
PAPERS = {"a4": (297.0, 210.0), "letter": (279.4, 215.9)}  # ISO 216; ANSI/ASME Y14.1 size A


@pytest.mark.parametrize("route", ["print", "laser"])
@pytest.mark.parametrize("name", PAPERS)
def test_sheets_are_well_formed_and_true_to_their_paper(route: str, name: str) -> None:
    wide, high = PAPERS[name]
    for data in drawing(made(route), paper(name)):
        root = ET.fromstring(data)
        assert root.tag == f"{NS}svg"
        assert root.get("width") == f"{wide:g}mm"
        assert root.get("height") == f"{high:g}mm"
        assert root.get("viewBox") == f"0 0 {wide:g} {high:g}"  # so one user unit is one mm on paper


def test_small_paper_takes_the_drawing_on_a4() -> None:
    small = paper("a4").model_copy(update={"width_mm": 148.0, "height_mm": 210.0})
    assert size_of(small) == PAPERS["a4"]


def test_the_plan_names_every_place_from_the_home_corner() -> None:
    _, sheet = drawing(made())
    said = texts(sheet)
    for words in ("window 20", "window 100", "pocket 17.5", "window 30", "window 130", "120", "150", "0"):
        assert words in said, words
    joined = " ".join(said)
    assert "ledge 3.2" in joined  # above the glass
    assert "underside 0.8" in joined
    assert "ledge 2.4 above the underside" in joined
    assert "3.1 focus" in joined
    assert "Home corner cut off" in joined or "corners R 4" in joined


def test_the_list_names_every_part_with_its_number() -> None:
    holder = made(lid=True)
    rows = items(holder)
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    assert {item.part for item in rows if item.part} == {part.name for part in holder.parts}
    said = texts(drawing(holder)[0])
    for item in rows:
        assert str(item.number) in said
        assert item.size in said
    assert ("anti-slip foot", 4) in [(row.title, row.quantity) for row in rows]
    assert rows[-1].title == "film"


def test_openings_notches_and_feet_are_dimensioned() -> None:
    """The marks say where the design's own rectangles and circles are, measured from the holder's corner."""
    path = next(p for p in SHIPPED if p.stem == "8x10-printed")
    holder = design(resolve(load(path)))
    o, rows = holder.outer, rows_of(holder)
    window = holder.windows[0]
    below = {mark.words: mark.at for mark in rows.below if mark.at < o.width / 2}
    assert below["window"] == pytest.approx(window.opening.x - o.x)
    assert below["pocket"] == pytest.approx(window.pocket.x - o.x)
    feet = sorted({round(foot.y - o.y, 2) for foot in holder.feet})
    assert sorted(round(m.at, 2) for m in rows.right if "foot" in m.words) == pytest.approx(feet, abs=0.02)
    zone = holder.calibration
    assert zone is not None
    low, high = (m.at + o.x for m in rows.above if "opening" in m.words)
    assert low <= zone.x
    assert high >= zone.right
    notches = [m.at for m in rows.above if "notch" in m.words]
    assert len(notches) == 2
    middle = window.film.x + window.film.width / 2 - o.x
    assert sum(notches) / 2 == pytest.approx(middle, abs=0.05)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_no_lettering_of_a_shipped_preset_meets_a_line_or_other_lettering(path: Path) -> None:
    holder = design(resolve(load(path)))
    for name in PAPERS:
        for page, sheet in enumerate(sheets_of(holder, paper(name)), 1):
            clear(sheet, f"{path.stem}, {name}, sheet {page}")


def clear(sheet: Picture, words: str) -> None:
    """Lettering stands free, is at least 2.5 mm high, and stays within the border."""
    found = lettering.read(as_svg(sheet))
    assert found.texts, words
    assert lettering.crossings(found) == [], words
    assert lettering.outside(found, sheet.width, sheet.height, BORDER) == [], words
    assert lettering.smallest(found) >= 2.5 - 1e-3, words  # ISO 3098-1: the least size for drawings on A4


def script(name: str) -> ModuleType:
    """A script of the project as a module."""
    spec = importlib.util.spec_from_file_location(name, ROOT / "scripts" / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def random_designs(count: int, seed: int) -> Iterator[tuple[str, Design]]:
    """Designs from random and changed presets, those that can be made."""
    stress, number = script("stress_presets"), 0
    while count:
        number += 1
        try:
            yield f"{seed}/{number}", design(resolve(parse(stress.case(seed, number), "random")))
            count -= 1
        except HoldersError:
            continue


@pytest.mark.parametrize("count", [6, pytest.param(100, marks=pytest.mark.slow)])
def test_no_lettering_of_a_random_preset_meets_a_line_or_other_lettering(count: int) -> None:
    for name, holder in random_designs(count, seed=9):
        for page, sheet in enumerate(sheets_of(holder), 1):
            clear(sheet, f"case {name}, sheet {page}")


@pytest.mark.parametrize("side", ["below", "left"])
def test_running_lengths_have_a_dimension_line_from_their_origin(side: Literal["below", "left"]) -> None:
    """One line from the circle at the origin to the farthest place, crossed there by an extension line each."""
    picture = Picture(100, 100)
    marks = [Mark(0.0, ""), Mark(3.0, "wall"), Mark(4.0, "window"), Mark(60.0, "")]
    row(picture, marks, Edge(side, 40.0, lambda along: 20.0 + along, 15.0, 85.0))
    found = lettering.read(as_svg(picture))
    shapes = [shape for shape, _ in found.lines]
    (origin,) = [shape for shape in shapes if len(shape.coords) > 8]
    long = max(shapes, key=lambda shape: shape.length)
    assert long.length == pytest.approx(60.0, abs=0.01)
    assert shapely.Polygon(origin.coords).covers(shapely.Point(long.coords[0]))
    for mark in marks:
        at = 20.0 + mark.at
        spot = (
            shapely.Point(at, long.coords[0][1]) if side == "below" else shapely.Point(long.coords[0][0], at)
        )
        crossing = [s for s in shapes if s is not long and s is not origin and s.distance(spot) < 0.02]
        assert len(crossing) == (1 if mark.at == 0 else 2), mark  # its extension line, and a stroke


def test_what_crosses_is_seen() -> None:
    picture = Picture(100, 50)
    picture.text((10, 10), "weir", 5.0)
    picture.text((40, 10), "mill", 5.0)
    assert lettering.crossings(lettering.read(as_svg(picture))) == []
    picture.line((8, 8), (30, 8))
    picture.text((44, 12), "stack", 5.0, turned=True)
    assert len(lettering.crossings(lettering.read(as_svg(picture)))) == 2
    assert min(map(lettering.capital_share, (False, True))) == pytest.approx(CAPITAL, abs=1e-3)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_every_part_is_pointed_at_where_it_is_seen(path: Path) -> None:
    holder = design(resolve(load(path)))
    view = apart.pulled_apart(holder, 150.0, 170.0)
    rows = items(holder)
    found = pointers(view.painted, rows, view.picture.width)
    assert {row.number for row in rows} == {pointer.number for pointer in found}
    for pointer in found:
        key = rows[pointer.number - 1].part or rows[pointer.number - 1].kind
        at = shapely.Point(pointer.at)
        assert [one.key for one in view.painted if one.shape.contains(at)][-1] == key


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
    job = resolve(load(path))
    holder = design(job)
    y = cutting.quiet_y(holder)
    window = holder.windows[0]
    assert window.opening.y < y < window.opening.top
    # loose stops lie on the frame, or beside it, and are no wall of it
    top = max((p for p in holder.parts if p.in_frame), key=lambda p: p.z1)
    level = area_of(top.slabs[-1].region)
    reach = 30.0
    if (
        job.preset.layout.light
    ):  # trays are no notches: there the strip beside its opening counts, which every notch cuts
        inner = max(x for hole in level.interiors for x, _ in hole.coords if x < window.film.x)
        reach = window.film.x - inner + NOTCHED_MM

    def wall(at: float) -> float:
        line = shapely.LineString([(window.film.x - reach, at), (window.film.x, at)])
        return float(level.intersection(line).length)

    low, high = window.opening.y + 3, window.opening.top - 3
    walls = [wall(low + (high - low) * k / 40) for k in range(41)]
    assert wall(y) >= max(walls) - 0.05
    notched = any(grip.edge == "left" for grip in window.grips or ())
    if job.preset.layout.light and notched:
        assert min(walls) < max(walls) - 1.0  # the strip does see notches


def test_a_holder_without_a_pocket_shows_none() -> None:
    """Its film lies on top of the board: no pocket, no wall and no clearance are there to be measured."""
    (path,) = [path for path in SHIPPED if path.stem == "8x10-one-board"]
    holder = design(resolve(load(path)))
    words = [said for data in drawing(holder) for said in texts(data)]
    text = " ".join(words)
    assert "no pocket" in text
    assert [w for w in words if "pocket" in w and "no pocket" not in w] == []
    assert "wall" not in text
    assert "clearance" not in text
    assert {"film", "window", "ledge"} <= set(re.findall(r"[a-z]+", text))


def test_parts_pulled_apart_stand_over_each_other() -> None:
    together = apart.pulled_apart(made(lid=False), 100)
    with_lid = apart.pulled_apart(made(lid=True), 100)
    assert with_lid.picture.height > together.picture.height + 5
    assert len(with_lid.painted) > len(together.painted)
    low = apart.pulled_apart(made(lid=True), 100, 60)
    assert low.picture.height <= 60 + 1e-6
    assert {"film", "feet", "frame", "lid"} == {one.key for one in with_lid.painted}


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


def test_scales_are_written_as_on_drawings() -> None:
    assert ratio(0.5) == "1 : 2"
    assert ratio(0.4) == "1 : 2.5"
    assert ratio(2.0) == "2 : 1"
    small = made()
    large = replace(small, outer=replace(small.outer, width=310.0, height=437.0))
    assert workplan(small, 170.0, 175.0).scale > workplan(large, 170.0, 175.0).scale


@given(
    wanted=st.lists(st.floats(-20, 120), max_size=12).map(sorted),
    pitch=st.floats(0.5, 8),
)
def test_places_in_a_row_keep_their_distance(wanted: list[float], pitch: float) -> None:
    found = spread(wanted, pitch, 0.0, 100.0)
    assert len(found) == len(wanted)
    steps = [b - a for a, b in pairwise(found)]
    assert all(0.0 - 1e-9 <= at <= 100.0 + 1e-9 for at in found)
    assert all(step >= pitch - 1e-9 for step in steps)
    free = [at for at in wanted if 0 <= at <= 100]
    if free == wanted and all(b - a >= pitch for a, b in pairwise(wanted)):
        assert found == pytest.approx(wanted)


def test_hostile_titles_are_only_text() -> None:
    holder = made(title='<script>alert("x")</script> & 🎞 ' + "long " * 50)
    for data in drawing(holder):
        root = ET.fromstring(data)
        assert not list(root.iter(f"{NS}script"))
        assert any(t.startswith("<script>") and t.endswith("…") for t in texts(data))


def test_long_words_are_cut_to_their_room() -> None:
    assert fitted("short", 100, 3) == "short"
    cut = fitted("x" * 500, 50, 3)
    assert text_width(cut, 3) <= 50
    assert cut.endswith("…")
    lines = wrapped("the weir and the mill " * 9 + "x" * 90, 50, 3)
    assert all(text_width(line, 3) <= 50 for line in lines)
    assert "".join(lines).startswith("the weir and the")


def test_lids_at_several_places_are_all_cut() -> None:
    holder: Design = made()
    lid = lid_part(quantity=2)
    two = replace(holder, parts=(holder.parts[0], lid))
    assert drawing(two) != drawing(holder)
    assert ("lid frame", 2) in [(row.title, row.quantity) for row in items(two)]


def test_no_dashed_line_runs_through_lettering() -> None:
    """Where the lamp area's edge would cross a text, paper is left bare behind it."""
    strips = next(path for path in SHIPPED if path.stem == "35mm-strips")
    drawn = design(resolve(load(strips)))
    lamp = shapely.box(drawn.lamp.x, drawn.lamp.y, drawn.lamp.right, drawn.lamp.top).exterior
    texts = [
        shapely.MultiLineString(groove.strokes).envelope for part in drawn.parts for groove in part.grooves
    ]
    written = sum(text.intersects(lamp) for text in texts)
    assert 2 <= written < len(texts)  # most lettering; the pockets' numbers stand inside
    far = replace(drawn, lamp=replace(drawn.lamp, x=-500.0))
    crossed, clear = (plan(one, 0.5).svg("plan").count(b'fill="#fff"') for one in (drawn, far))
    assert crossed - clear == written


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


def test_the_relief_hatches_what_is_out_of_the_band_and_covers_the_map_once() -> None:
    """Areas of the layers add up to the map; a tilted plane's soft strips are as wide as plane geometry says."""
    u = (np.arange(60) + 0.5) / 60
    z = np.tile(2.0 + 2.0 * u, (60, 1))  # from 2 to 4 mm from left to right; sharp from 2.5 to 3.25
    picture = Picture(140, 110)
    field = Field(z, 2.5, 3.25)
    layers = relief(picture, field, (10.0, 10.0, 100.0, 80.0))
    areas: dict[str, float] = {}
    for element in ET.fromstring(as_svg(picture)).iter(f"{NS}path"):
        if element.get("stroke") is None and element.get("fill") != "#fff" and element.get("d"):
            rings = [
                shapely.Polygon([(float(x), float(y)) for x, y in re.findall(r"([-\d.]+) ([-\d.]+)", part)])
                for part in element.get("d", "").split("Z")
                if part
            ]
            fill = element.get("fill", "")
            areas[fill] = areas.get(fill, 0.0) + sum(ring.area for ring in rings)
    colours = {layers.colour(k, field) for k in range(len(layers.edges) - 1)}
    assert sum(area for fill, area in areas.items() if fill in colours) == pytest.approx(8000.0, rel=1e-3)
    assert areas["url(#material)"] == pytest.approx(0.25 * 8000, rel=0.02)  # below 2.5
    assert areas["url(#other)"] == pytest.approx(0.375 * 8000, rel=0.02)  # above 3.25
    light = [
        sum(int(layers.colour(k, field)[i : i + 2], 16) for i in (1, 3, 5))
        for k in range(len(layers.edges) - 1)
    ]
    assert light == sorted(light)  # higher is lighter, so that a copy in black and white reads alike
    assert len(set(light)) == len(light)


def test_colours_are_fixed_to_the_focus_band() -> None:
    """The same place in the band has the same colour in any holder, and higher is lighter in every step."""
    for place in (-2.0, -1.0, -0.3, 0.0, 0.7, 1.0, 2.5):
        colours = {
            colour_of((low + high) / 2 + place * (high - low) / 2, low, high)
            for low, high in ((2.5, 3.5), (1.0, 1.25), (3.2, 9.2))
        }
        assert len(colours) == 1, place
    scale = colour_scale(2.5, 3.7)
    light = [(z, sum(int(colour[i : i + 2], 16) for i in (1, 3, 5))) for z, colour in scale]
    assert all(a < b if 2.5 <= z <= 3.7 else a <= b for (z, a), (_, b) in pairwise(light))
    assert light[0][1] < light[20][1] < light[-21][1] < light[-1][1]
    assert scale[len(scale) // 2][0] == pytest.approx(3.1)
    flat = Field(np.full((5, 5), 3.05), 2.5, 3.7)
    assert key_span(flat) == pytest.approx((2.2, 4.0))  # one band and a half, however flat the film
    assert key_span(Field(np.array([[1.9, 4.3]]), 2.5, 3.7)) == pytest.approx((1.9, 4.3))


def test_a_flat_film_is_one_layer() -> None:
    assert len(layers_of(np.full((5, 5), 3.0)).edges) == 2
    edges = layers_of(np.linspace(2.61, 3.49, 50).reshape(5, 10)).edges
    assert edges[0] <= 2.61
    assert edges[-1] >= 3.49
    assert len(edges) <= 10


def test_a_split_frame_has_its_joint_beside_the_list() -> None:
    """The tongue's places are the design's own, from the home corner."""
    (path,) = [path for path in SHIPPED if path.stem == "8x10-small-printer"]
    holder = design(resolve(load(path)))
    said = texts(drawing(holder)[0])
    joint = holder.seams[0].joints[0]
    assert any(words.startswith(f"Joint {joint.letter} from above") for words in said)
    x0, _, x1, _ = bounds(joint.tongue)  # arcs and all
    lettered = sorted(
        float(words.split()[0]) for words in said if re.fullmatch(r"[\d.]+ tongue(, neck)?", words)
    )
    assert lettered[:2] == pytest.approx([x0 - holder.outer.x, x1 - holder.outer.x], abs=0.011)
    assert f"{measure(holder.seams[0].at_mm - holder.outer.y)} seam" in said


def test_what_is_laid_in_is_listed_from_the_glass_up() -> None:
    stems = {
        "8x10-wet-mount": ["glass plate", "film", "overlay film"],
        "5x7-glass-cover": ["film", "glass cover"],
    }
    for path in (path for path in SHIPPED if path.stem in stems):
        rows = items(design(resolve(load(path))))
        assert [row.title for row in rows if row.kind in ("pane", "film")] == stems[path.stem]


@pytest.mark.parametrize("name", ["8x10-printed", "mixed-formats"])
def test_the_magnet_itself_is_listed_not_its_pit_alone(name: str) -> None:
    """What is bought is the disc that the preset names; the pit is wider. Both stand on the paper uncut."""
    preset = load(next(path for path in SHIPPED if path.stem == name))
    assert preset.lid is not None
    across_mm, thick_mm = preset.lid.magnet_diameter_mm, preset.lid.magnet_thickness_mm
    holder = design(resolve(preset))
    row = next(row for row in items(holder) if row.kind == "magnet")
    assert row.size == f"Ø {across_mm:g} x {thick_mm:g}"
    assert row.quantity == 2 * preset.lid.magnets * len(holder.windows)
    pit_mm = float(re.findall(r"pit Ø ([\d.]+)", row.title)[0])
    assert across_mm < pit_mm <= across_mm + 0.5
    said = texts(drawing(holder)[0])
    assert row.size in said
    assert row.title in said  # in one line
