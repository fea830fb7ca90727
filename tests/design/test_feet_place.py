"""Where feet stand: out of the light, beside walls that a printer can make, and where the frame needs them."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

from holders.core.errors import InputError
from holders.design.model import Foot, Rect
from holders.design.plan.feet import FOOT_SLIP_MM, lit_below
from holders.design.resolve import design
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.study import study
from tests.presets_made import job
from tests.short import some


def box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def test_light_below_a_window_leans_toward_the_lens() -> None:
    """Similar triangles by hand: 3 mm up, 60 mm aside of a lens 300 mm away, the ray has moved by 0.6 mm."""
    right_of_it = lit_below(Rect(160, 50, 40, 60), 100.0, 300.0, 3.0)
    assert right_of_it.x == pytest.approx(160 - 0.6)
    assert right_of_it.right == pytest.approx(200)
    left_of_it = lit_below(Rect(0, 50, 40, 60), 100.0, 300.0, 3.0)
    assert (left_of_it.x, left_of_it.right) == (pytest.approx(0), pytest.approx(40.6))
    over_it = lit_below(Rect(80, 50, 40, 60), 100.0, 300.0, 3.0)
    assert over_it == Rect(80, 50, 40, 60)


@pytest.mark.parametrize(("stem", "most_mm"), [("whole-plate-glass", 0.12), ("35mm-strips", 0.08)])
def test_feet_at_mid_side_halve_the_sag_of_a_frame(stem: str, most_mm: float) -> None:
    """Six feet: two stand at mid-side, so the longest span is a good half, and the frame sags by a third or less.

    A beam's sag goes with the fourth power of its span, a frame's of rails in between; 0.28 and 0.21 mm with the
    same two feet beside the corners.
    """
    preset = load(Path(stem)).model_copy(update={"cover": None})  # the frame alone, without glass to carry
    found = study(preset)
    made = found.design
    middle = made.outer.y + made.outer.height / 2
    at_mid = [foot for foot in made.feet if abs(foot.y - middle) < 0.1 * made.outer.height]
    assert len(at_mid) == 2
    sag = next(f.measured for f in found.findings if f.code == "frame-sag" and "between" in f.subject)
    assert isinstance(sag, float)
    assert 0 < sag < most_mm


CASES: tuple[dict[str, Any], ...] = (
    {"film": {"format": "8x10"}, "feet": {"count": 6}},
    {"film": {"format": "8x10"}, "feet": {"count": 8, "recess_mm": 1.4}},
    {"film": {"format": "4x5"}, "layout": {"count": "fill"}, "feet": {"count": 8, "diameter_mm": 5.0}},
    {"film": {"format": "35mm-strip"}, "layout": {"count": "fill"}, "feet": {"count": 8, "diameter_mm": 4.0}},
    {"film": {"format": "5x7"}, "lid": {"magnets": 2}, "feet": {"count": 6}},
    {"film": {"format": "5x7"}, "printer": {"nozzle_mm": 0.8, "layer_mm": 0.3}, "feet": {"count": 6}},
    {"film": {"format": "4x5"}, "layout": {"outer_width_mm": 130, "outer_length_mm": 160}, "feet": {}},
)  # fmt: skip


@pytest.mark.parametrize("number", some(range(len(CASES)), 0, 3))
def test_no_foot_breaks_another_rule(number: int) -> None:
    """A recess leaves two lines of wall beside it and three layers above it, so that no wall rule is broken by it."""
    wanted = job(**CASES[number])
    found = study(wanted.preset)
    made = found.design
    assert wanted.printer is not None
    for foot in made.feet:
        core, radius = foot.core
        sole = box(core) if foot.length_mm else shapely.Point(foot.x, foot.y).buffer(radius, quad_segs=32)
        for window in made.windows:
            lit = lit_below(
                window.opening,
                wanted.bed.glass_width_mm / 2,
                wanted.bed.lens_distance_mm,
                made.heights.drawn_ledge,
            )
            assert sole.intersection(box(lit)).area < 1e-6
    bare = study(wanted.preset.model_copy(update={"feet": None}))
    before = {f.subject: f.level for f in bare.findings if f.code == "wall"}
    for f in found.findings:
        if f.code == "wall":
            assert f.level in ("pass", before.get(f.subject)), (f.where, f.measured)
        if f.code == "feet" and "centre of mass" not in f.subject:
            assert f.level == "pass", (f.title, f.measured, f.where)


def test_neighbours_keep_a_wall_between_their_recesses() -> None:
    made = design(job(film={"format": "5x7"}, printer={"nozzle_mm": 0.8, "layer_mm": 0.3}, feet={"count": 8}))
    near = min(
        math.dist((a.x, a.y), (b.x, b.y)) - a.diameter_mm
        for k, a in enumerate(made.feet)
        for b in made.feet[k + 1 :]
    )
    assert near >= 2 * FOOT_SLIP_MM + 2 * 0.8 - 1e-9


@pytest.mark.parametrize(
    "change",
    [
        {"film": {"format": "35mm-strip"}, "layout": {"count": "fill"}, "feet": {"count": 8, "diameter_mm": 28.0}},
        {"film": {"format": "8x10"}, "feet": {"count": 8, "diameter_mm": 30.0}},
    ],
)  # fmt: skip
def test_a_refusal_names_feet_that_do_fit(change: dict[str, Any]) -> None:
    with pytest.raises(InputError) as caught:
        design(job(**change))
    assert caught.value.field == "feet.count"
    words = str(caught.value)
    if "of at most" in words:
        size = float(words.split("of at most ")[1].split(maxsplit=1)[0])
        assert len(design(job(**{**change, "feet": {"count": 8, "diameter_mm": size}})).feet) == 8
    if "; take " in words and "take feet" not in words.split(" or ", maxsplit=1)[0]:
        count = int(words.split("; take ")[1].split(maxsplit=1)[0])
        assert len(design(job(**{**change, "feet": {**change["feet"], "count": count}})).feet) == count
    assert "of at most" in words or "; take " in words


def test_a_strip_bears_at_both_ends_and_a_round_foot_in_its_middle() -> None:
    """By hand: 8 x 30 mm bears 4 mm from its ends, so 22 mm apart, on 240 mm²; 8 mm round on 50.27 mm²."""
    strip = Foot(10.0, 20.0, 8.0, length_mm=30.0, upright=True)
    assert strip.bears == ((10.0, 9.0), (10.0, 31.0))
    assert strip.box == Rect(6.0, 5.0, 8.0, 30.0)
    assert strip.area_mm2 == pytest.approx(240.0)
    lying = replace(strip, upright=False)
    assert lying.bears == ((-1.0, 20.0), (21.0, 20.0))
    disc = Foot(10.0, 20.0, 8.0)
    assert (disc.bears, disc.box) == (((10.0, 20.0),), Rect(6.0, 16.0, 8.0, 8.0))
    assert disc.area_mm2 == pytest.approx(50.265, abs=1e-3)


def test_narrow_strips_carry_long_rails_in_the_middle() -> None:
    """The side rails of an 8x10 frame are 9 mm wide: strips of 4 mm lie along them, and the middle of each is held."""
    made = design(resolve(load(Path("8x10-printed"))))
    assert all(foot.length_mm == 30.0 and foot.upright for foot in made.feet)
    middle = made.outer.y + made.outer.height / 2
    assert sum(abs(foot.y - middle) < 5 for foot in made.feet) == 2
    lens = 216 / 2
    for foot in made.feet:
        assert made.outer.contains(foot.box)
        assert not any(foot.box.overlaps(lit_below(w.opening, lens, 300.0, 3.0)) for w in made.windows)


def test_strips_are_shortened_before_they_are_refused() -> None:
    long = design(job(film={"format": "4x5"}, feet={"length_mm": 60.0})).feet
    tight = design(
        job(film={"format": "4x5"}, layout={"count": "fill"}, feet={"count": 8, "length_mm": 120.0})
    ).feet
    assert {foot.length_mm for foot in long} == {60.0}
    (length,) = {foot.length_mm for foot in tight}
    assert 8.0 <= length < 120.0


@pytest.mark.parametrize("count", [4, 6, 8])
@pytest.mark.parametrize(
    ("route", "material"), [("laser", "acrylic-cast"), ("knife", "mounting-board"), ("print", "petg")]
)
def test_a_strip_that_keeps_nothing_from_what_is_beside_it_still_does_not_enter_it(
    route: str, material: str, count: int
) -> None:
    """Feet that are glued on may touch windows and calibration zone; eight of them once stood in the zone."""
    made = design(
        job(route=route, material={"name": material}, film={"format": "4x5"}, feet={"count": count})
    )
    assert made.calibration is not None
    assert len(made.feet) == count
    assert any(foot.length_mm for foot in made.feet)
    for foot in made.feet:
        for zone in (made.calibration, *(window.opening for window in made.windows)):
            assert not foot.box.overlaps(zone)
