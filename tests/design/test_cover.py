"""Laws of the glass cover: it goes in, stays in, reaches over every lip, and its catches stand where they may."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from shapely.affinity import translate

from holders.checks.frame.walls import Wall
from holders.checks.runner import run
from holders.core.errors import InputError
from holders.design.held.film_in_holder import designed
from holders.design.held.film_ranges import comparison
from holders.design.model import Design, Rect, Role
from holders.design.parts.sections import area_of, polygon, section
from holders.design.resolve import design
from holders.facts.habits import habit
from holders.film.models import Kind
from holders.fittings.cover.check import CoverRule
from holders.fittings.cover.pane import Pane, plate_weight_n
from holders.fittings.cover.plate import (
    FLOOR_MM,
    LEAST_COVERED_MM,
    LEAST_REACH_MM,
    catches_each,
)
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from tests.design.test_laws import keep_laws
from tests.presets_made import changed, job, kept_or_refused, presets

PRESET = Path(__file__).parent.parent.parent / "presets" / "5x7-glass-cover.toml"
LASER: dict[str, Any] = {
    "route": "laser",
    "film": {"format": "4x5"},
    "material": {"name": "acrylic-cast", "sheets_mm": [1.5, 2.0, 3.0]},
    "lip": {"all_mm": 2.5},
}


def box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def keep_cover_laws(wanted: Job, made: Design) -> None:
    """Every law of the plate and its catches."""
    pane, table = made.find(Pane), wanted.preset.cover
    assert pane is not None
    assert table is not None
    ledge = made.heights.drawn_ledge
    top = ledge + made.pocket_depth
    assert pane.z0 == pytest.approx(ledge + made.film_thickness)
    assert pane.z1 - pane.z0 == pytest.approx(table.thickness_mm)
    assert top - pane.z1 >= table.gap_mm - 1e-6
    frame = [part for part in made.parts if part.in_frame]
    assert len(pane.places) == len(made.windows)
    for rect, window in zip(pane.places, made.windows, strict=True):
        # it goes in with its clearance, and pushed aside it still reaches over every lip
        assert window.pocket.inset(*(table.clearance_mm - 1e-6,) * 4).contains(rect)
        aside_x = window.pocket.width - rect.width
        aside_y = window.pocket.height - rect.height
        covered = window.opening.inset(
            -LEAST_COVERED_MM, -LEAST_COVERED_MM, -LEAST_COVERED_MM, -LEAST_COVERED_MM
        )
        for dx in (-aside_x / 2, aside_x / 2):
            for dy in (-aside_y / 2, aside_y / 2):
                assert Rect(rect.x + dx, rect.y + dy, rect.width, rect.height).contains(covered, 1e-6)
        plate = box(rect)
        for part in frame:
            for z in (pane.z0 + 1e-3, (pane.z0 + pane.z1) / 2, pane.z1 - 1e-3):
                assert section(part, z).intersection(plate).area < 1e-4
    keep_catch_laws(wanted, made)


def keep_catch_laws(wanted: Job, made: Design) -> None:
    pane, table = made.find(Pane), wanted.preset.cover
    assert pane is not None
    assert table is not None
    found = [part for part in made.parts if part.name.startswith("catch")]
    count = sum(part.quantity for part in found)
    assert count == pane.catches
    assert 2 * count == len(pane.pins)
    assert count / len(made.windows) in catches_each(table, wanted.preset.route, wanted.material)
    if not found:
        assert made.total_height == pytest.approx(max(p.z1 for p in made.parts))
        return
    windows = shapely.union_all([box(w.opening) for w in made.windows])
    pockets = [box(w.pocket) for w in made.windows]
    frame = [part for part in made.parts if part.in_frame]
    # without lettering, which is a fraction of a millimetre deep and keeps a distance of its own from holes
    bare_frame = [replace(part, grooves=()) for part in frame if part.z1 > pane.z1]
    top_of_frame = shapely.union_all([section(part, part.z1 - 1e-3) for part in bare_frame])
    spots = shapely.MultiPoint(pane.pins)
    radius = habit("dowel") / 2
    for part in found:
        assert part.z0 == pytest.approx(max(p.z1 for p in frame))
        assert part.z0 > pane.z1
        bare = area_of(part.slabs[0].region)
        assert bare.is_valid
        for dx, dy in part.places:
            catch = translate(bare, dx, dy)
            assert made.outer.contains(Rect(*_of(catch)))
            assert catch.distance(windows) > 0  # never in the picture, nor near it
            met = [p for p in pockets if catch.intersection(p).area > 1e-6]
            assert len(met) == 1  # over its own plate and no other
            # only the nose is over the pocket: with the slot closed the whole catch lies beside it
            nose = catch.intersection(met[0]).bounds
            across = min(nose[2] - nose[0], nose[3] - nose[1])
            assert 0 < across < pane.spring.slot
            if made.calibration is not None:
                assert catch.intersection(box(made.calibration)).area == 0
            for hole in catch.interiors:  # over their pins, which find material all round
                middle = shapely.Polygon(hole).centroid
                assert spots.distance(middle) < 1e-6
                ring = middle.buffer(radius + 0.4) - middle.buffer(radius + 0.01)
                assert ring.difference(top_of_frame).area < 1e-3
    assert pane.reach + pane.clearance - 2 * pane.clearance >= LEAST_REACH_MM - 1e-6
    assert pane.spring.strain(pane.spring.slot) <= wanted.material.spring_strain
    assert made.total_height == pytest.approx(found[0].z1)
    # no pin comes through
    under = min(part.z0 for part in frame)
    top = max(part.z1 for part in frame)
    assert top - pane.pin_depth - under >= FLOOR_MM - 1e-6
    assert pane.pin_length < pane.pin_depth + found[0].z1 - found[0].z0


def _of(shape: shapely.Polygon) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = shape.bounds
    return x0, y0, x1 - x0, y1 - y0


@st.composite
def covered_presets(draw: st.DrawFn) -> dict[str, Any]:
    made = draw(presets())
    made.pop("lid", None)
    made["cover"] = draw(
        st.fixed_dictionaries(
            {},
            optional={
                "thickness_mm": st.floats(0.8, 4).map(lambda v: round(v, 2)),
                "clearance_mm": st.floats(0.2, 1).map(lambda v: round(v, 2)),
                "gap_mm": st.floats(0, 0.6).map(lambda v: round(v, 2)),
                "face": st.sampled_from(("etched", "coated", "plain")),
                "catches": st.integers(0, 8),
                "catch_thickness_mm": st.floats(0.8, 6).map(lambda v: round(v, 1)),
            },
        )
    )
    return made


def attempt(data: dict[str, Any]) -> bool:
    return kept_or_refused(data, keep_laws, keep_cover_laws)


COMMON = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.filter_too_much]}


TIGHT_GLASS = {  # its square corners would meet the rounded ones of a pocket that is made for the film's clearance
    "holders_preset": 1,
    "title": "a weir",
    "route": "laser",
    "bed": {"name": "a4-wide"},
    "film": {"format": "4x5", "emulsion": "down"},
    "material": {"name": "acrylic-cast"},
    "cover": {"thickness_mm": 1.0, "catches": 0, "gap_mm": 0.0, "clearance_mm": 0.25},
}


@settings(max_examples=25, **COMMON)
@example(TIGHT_GLASS)
@given(covered_presets())
def test_any_cover_keeps_the_laws_or_is_refused(data: dict[str, Any]) -> None:
    attempt(data)


@pytest.mark.slow
@settings(max_examples=1500, **COMMON)
@given(covered_presets())
def test_many_covers(data: dict[str, Any]) -> None:
    attempt(data)


@pytest.mark.parametrize(
    "changes",
    [
        {"cover": {}},
        {"cover": {"catches": 2}, "layout": {"count": 2, "turn": "always"}},
        {"cover": {"catches": 0}, "layout": {"count": "fill"}},
        {**LASER, "cover": {"thickness_mm": 2.0}},
        {**LASER, "cover": {"thickness_mm": 2.0}, "feet": {}},
        {"route": "knife", "material": {"name": "mat-board", "sheets_mm": [1.4, 2.6]}, "cover": {}},
        {"film": {"format": "8x10"}, "lip": {"all_mm": 2.5}, "cover": {"catches": 2}},
    ],
    ids=["plain", "two turned", "filled", "laser", "laser on feet", "knife", "8x10"],
)
def test_these_are_made(changes: dict[str, Any]) -> None:
    assert attempt(changed(**changes))


def test_a_measured_plate_is_taken_as_it_is() -> None:
    table = {"width_mm": 99.8, "length_mm": 124.9, "thickness_mm": 1.9}
    made = design(job(cover=table))
    assert made.find(Pane) is not None
    (rect,) = made.find(Pane).places
    sizes = (rect.width, rect.height) if not made.windows[0].turned else (rect.height, rect.width)
    assert sizes == pytest.approx((99.8, 124.9))
    turned = design(job(cover=table, layout={"turn": "always"})).find(Pane)
    assert turned is not None
    assert (turned.places[0].width, turned.places[0].height) == pytest.approx((124.9, 99.8))


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("cover.width_mm", {"cover": {"width_mm": 105.0}}),
        ("cover.width_mm", {"cover": {"width_mm": 90.0}}),
        ("cover.clearance_mm", {"cover": {"clearance_mm": 1.6}}),
        ("cover", {"cover": {}, "lid": {}}),
        ("cover", {"cover": {}, "film": {"format": "mount-50"}}),
        ("cover.catches", {"cover": {"catches": 2}, "route": "knife", "material": {"name": "mat-board"}}),
        ("cover.catches", {"cover": {"catches": 4}, "layout": {"count": "fill"}}),
        ("layout.pocket_depth_mm", {"cover": {}, "layout": {"pocket_depth_mm": 2.0}}),
        ("cover.thickness_mm", {**LASER, "cover": {"thickness_mm": 3.0}}),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(field: str, changes: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refusal:
        design(job(**changes))
    assert refusal.value.field == field


def test_the_film_is_pressed_under_the_plate() -> None:
    """Film that arches without a cover stays below the plate with one, and the share in focus does not fall."""
    curly = {"film": {"format": "5x7"}, "base": {"curl_per_m": 4.0, "curl_high_per_m": 5.0}}
    bare, bare_film = designed(job(**curly))
    made, film = designed(job(**curly, cover={"thickness_mm": 6.0}))  # heavy enough for that curl
    assert film.support is not None
    assert film.support.kind is Kind.COVER
    assert bare_film.surface is not None
    assert film.surface is not None
    assert bare_film.surface.max_rise_mm > 1.0
    # the rise is between points of contact, so within the 2 um of play and the solver's grid
    assert film.surface.max_rise_mm < 0.02
    assert made.sag is not None
    assert made.sag.lift_mm == 0.0
    assert bare.sag is not None
    assert made.sag.pressed_down_n > 0 == bare.sag.pressed_down_n
    assert made.sag.in_band_fraction >= bare.sag.in_band_fraction


def test_the_comparison_tells_of_the_cover_first() -> None:
    """The glass lies on the film without play; the lid frame beside it in the table has its usual play."""
    wanted = resolve(load(PRESET))
    made, film = designed(wanted)
    rows = comparison(wanted.base, film)
    assert [row[0] for row in rows[:4]] == ["glass cover on top"] * 2 + ["ledge only"] * 2
    assert made.sag is not None
    assert float(rows[0][2]) == pytest.approx(made.sag.max_mm, abs=0.006)
    assert float(rows[0][3]) < 0.02


STRONG: dict[str, Any] = {
    "film": {"format": "5x7"},
    "lip": {"all_mm": 2.5},
    "base": {"curl_low_per_m": 3.5, "curl_per_m": 4.0, "curl_high_per_m": 5.0},
}


def test_film_that_pushes_harder_than_the_plate_weighs_lifts_it_to_its_catches() -> None:
    """At 4 per m a 5x7 sheet asks for about 2.5 N; a 2 mm plate weighs 1.1 N, one of 6 mm 3.3 N."""
    light, film = designed(job(**STRONG, cover={}))
    assert light.sag is not None
    assert light.find(Pane) is not None
    assert light.sag.lid is not None
    assert film.surface is not None
    assert plate_weight_n(light.find(Pane)) == pytest.approx(1.09, abs=0.01)
    room = light.heights.drawn_ledge + light.pocket_depth - light.find(Pane).z1
    assert 0 < light.sag.lift_mm < room  # it need not rise the whole way
    assert film.surface.pressed_down_n == pytest.approx(plate_weight_n(light.find(Pane)), rel=6e-3)
    shipped, _ = designed(resolve(load(PRESET)))
    assert shipped.sag is not None
    assert shipped.sag.lift_mm == 0.0
    heavy, film = designed(job(**STRONG, cover={"thickness_mm": 6.0}))
    assert heavy.sag is not None
    assert heavy.sag.lift_mm == 0.0
    assert 2.0 < heavy.sag.pressed_down_n < 3.0
    wanted = job(**STRONG, cover={})
    told = [f for made in (light, heavy) for f in run(wanted, made) if "to lie flat" in f.subject]
    assert f"cold glass cover rise {light.sag.lift_mm:.2f} mm" in told[0].title
    # neither weighs the double of 2.5 N, but film of every curl of its kind lifts them by next to nothing
    assert all(f.measured < f.limit for f in told)
    for made in (light, heavy):
        most = max([made.sag.lift_mm, *(one.lid_rise_mm for one in made.sag.curled if one.inside)])
        assert 0 < most < 0.2 * wanted.bed.focus_band_mm
    assert [f.level for f in told] == ["pass", "pass"]
    # where other curls are not known, it warns
    alone = [replace(made, sag=replace(made.sag, curled=())) for made in (light, heavy)]
    told = [f for made in alone for f in run(wanted, made) if "to lie flat" in f.subject]
    assert [f.level for f in told] == ["warn", "warn"]


def test_catches_stop_a_plate_that_strong_film_lifts() -> None:
    strong = {**STRONG, "base": {"curl_low_per_m": 8.0, "curl_per_m": 12.0, "curl_high_per_m": 14.0}}
    made, film = designed(job(**strong, cover={"thickness_mm": 1.0}))
    assert made.sag is not None
    assert made.find(Pane) is not None
    assert film.surface is not None
    pane = made.find(Pane)
    room = made.heights.drawn_ledge + made.pocket_depth - pane.z1
    # as far as the noses are from the glass, and as far as its own weight, shared by four, would lift one
    gives = pane.spring.lift_mm(plate_weight_n(pane) / 4, 2000.0, job().material.poisson)
    assert made.sag.lift_mm == pytest.approx(room + gives)
    assert film.surface.pressed_down_n > plate_weight_n(made.find(Pane))


def test_a_plate_that_no_catch_stops_rises_until_it_is_balanced() -> None:
    made, film = designed(job(**STRONG, cover={"catches": 0, "thickness_mm": 1.0}))
    assert film.surface is not None
    assert made.find(Pane) is not None
    assert made.sag is not None
    assert made.sag.lift_mm > 0
    assert film.surface.pressed_down_n == pytest.approx(plate_weight_n(made.find(Pane)), rel=6e-3)


def test_pins_in_sheets_stand_as_far_from_the_pocket_as_their_sheet_is_thick() -> None:
    """A bridge as wide as its sheet is thick (a cutting service's published advice on kerf), where there is room."""
    thick = {**LASER, "material": {"name": "acrylic-cast", "sheets_mm": [2.0, 3.0, 5.0]}}
    made = design(job(**thick, cover={"thickness_mm": 4.0}))
    pane = made.find(Pane)
    assert pane is not None
    wall = next(slab for part in made.parts for slab in part.slabs if slab.name == "wall")
    (pocket,) = (window.pocket for window in made.windows)
    assert wall.z1 - wall.z0 == pytest.approx(5.0)  # more than the catch itself asks for
    for x, y in pane.pins:
        away = max(pocket.y - y, y - pocket.top, pocket.x - x, x - pocket.right) - habit("dowel") / 2
        assert away >= wall.z1 - wall.z0 - 1e-9


@pytest.mark.parametrize("material", ["acrylic-cast", "acrylic-extruded", "plywood-birch"])
def test_a_catch_of_sheet_has_no_thin_place_and_holds_its_plate(material: str) -> None:
    """As wide as the sheet is thick all round its pins: a cutting service's published advice, as the check `wall`
    states it. Upside down and jolted the nose gives by less than the plate is thick.
    """
    wanted = job(
        route="laser", material={"name": material}, film={"format": "4x5"}, cover={"thickness_mm": 2.0}
    )
    made = design(wanted)
    catches = [part for part in made.parts if part.role is Role.CATCH]
    assert catches
    for part in catches:
        thick = part.z1 - part.z0
        holes = [polygon(hole) for hole in part.slabs[0].region.holes]
        rim = polygon(part.slabs[0].region.outer).exterior
        assert len(holes) == 2
        assert min(hole.distance(rim) for hole in holes) >= thick - 1e-6
        assert holes[0].distance(holes[1]) >= thick - 1e-6
    assert {one.level for one in Wall().check(wanted, made)} == {"pass"}
    held = [one for one in CoverRule().check(wanted, made) if "twice the plate" in one.subject]
    assert [one.level in ("pass", "warn") for one in held] == [True]


def test_springs_that_would_let_the_plate_go_are_left_out() -> None:
    """MDF bears a strain of 0.2 %: its springs are so long that twice the plate's weight lifts them off the glass."""
    soft = job(route="laser", material={"name": "mdf"}, film={"format": "4x5"}, cover={"thickness_mm": 2.0})
    assert not [part for part in design(soft).parts if part.role is Role.CATCH]
    asked = job(
        route="laser",
        material={"name": "mdf"},
        film={"format": "4x5"},
        cover={"thickness_mm": 2.0, "catches": 2},
    )
    held = [one for one in CoverRule().check(asked, design(asked)) if "twice the plate" in one.subject]
    assert [one.level for one in held] == ["stop"]
