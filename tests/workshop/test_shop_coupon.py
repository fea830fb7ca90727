"""The test piece: can it be made by every route, and do its readings give back what went in."""

from __future__ import annotations

import math
import random
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.parts.sections import area_of, groove_area, polygon
from holders.design.parts.volume import volume, volume_by_sections
from holders.design.pieces.cutting import cut_part
from holders.facts.tables import material, printer
from holders.geometry.offset import grown
from holders.geometry.outline import bounds, rectangle
from holders.workshop.coupon.coupon import PLUG_MM, SQUARE_MM, STEPS_MM, Coupon, coupon, coupon_for
from holders.workshop.coupon.readback import (
    Measured,
    caliper_sigma,
    clearance_from,
    glue_line_from,
    height_correction_from,
    joint_clearance_from,
    kerf_from,
)
from tests.presets_made import job

ROUTES = [
    ("print", "petg", 3.0),
    ("laser", "mdf", 2.0),
    ("laser", "acrylic-cast", 5.0),
    ("knife", "mat-board", 1.4),
]


# --- the piece -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("route", "name", "thick"), ROUTES)
def test_it_can_be_made(route: str, name: str, thick: float) -> None:
    made = coupon(route, name, thick)  # type: ignore[arg-type]
    plate, tongue, plug = made.parts
    assert {p.process for p in made.parts} == {route}
    assert {p.material for p in made.parts} == {name}
    for part in made.parts:
        for slab in part.slabs:
            shape = area_of(slab.region)
            assert shape.is_valid
            assert isinstance(shape, shapely.Polygon)  # in one piece
    width, height = bounds(plate.slabs[0].region.outer)[2:]
    assert width < printer("p180").build_x_mm - 4  # fits the smallest printer, one small piece
    assert height < 60
    region = plate.slabs[0].region
    rings = [polygon(outline).exterior for outline in (region.outer, *region.holes)]
    web_mm = min(one.distance(two) for one, two in combinations(rings, 2))
    assert web_mm >= max(0.8, material(name).min_web_mm)
    # nothing lies on anything else
    boxes = [shapely.box(*bounds(p.slabs[0].region.outer)) for p in (plate, tongue, plug)]
    for k, one in enumerate(boxes):
        for two in boxes[k + 1 :]:
            assert one.distance(two) >= 4
    # the plug goes into every pocket but the first by the step engraved beside it
    assert made.pockets == pytest.approx([PLUG_MM + s for s in STEPS_MM])
    assert made.slots == pytest.approx([made.tongue_mm + s for s in STEPS_MM])
    holes = [bounds(h) for h in plate.slabs[0].region.holes]
    widths = sorted(round(b[2] - b[0], 6) for b in holes)
    assert widths == sorted(round(w, 6) for w in (*made.slots, *made.pockets, SQUARE_MM))


@pytest.mark.parametrize(("route", "name", "thick"), ROUTES)
def test_labels_stand_beside_their_openings(route: str, name: str, thick: float) -> None:
    plate = coupon(route, name, thick).parts[0]  # type: ignore[arg-type]
    texts = [g.text for g in plate.grooves]
    assert texts[:-1] == ["0", "10", "20", "30", "40"] * 2
    assert texts[-1].startswith(name)
    solid = area_of(plate.slabs[-1].region)
    for groove in plate.grooves:
        ink = groove_area(groove) if groove.width_mm else shapely.MultiLineString(groove.strokes)
        assert solid.buffer(1e-6).contains(ink)  # on the material, in no hole
        if groove.text == texts[-1]:
            continue
        middle = shapely.MultiLineString(groove.strokes).centroid
        nearest = min(plate.slabs[0].region.holes, key=lambda h: middle.distance(shapely.box(*bounds(h))))
        play = int(groove.text) / 100
        x0, _, x1, _ = bounds(nearest)
        assert (x1 - x0) - play == pytest.approx(PLUG_MM) or (x1 - x0) - play == pytest.approx(plate.z1)


def test_cut_routes_are_plain_plates_and_cut_on_the_line() -> None:
    made = coupon("laser", "mdf", 2.0)
    for part in made.parts:
        paths = cut_part(part, 0.0)
        assert paths.outer == part.slabs[0].region.outer
        assert part.z1 - part.z0 == 2.0
    assert made.heights == ()


def test_printed_stair() -> None:
    made = coupon("print", "petg", 3.0, 0.2)
    assert made.heights == (1.0, 2.0, 3.0)
    plate = made.parts[0]
    closed = volume(plate)
    assert closed is not None
    assert closed == pytest.approx(volume_by_sections(plate), rel=1e-6)
    odd = coupon("print", "petg", 3.1, 0.25, 0.3)
    above = [(h - 0.3) / 0.25 for h in odd.heights]
    assert above == pytest.approx([round(n) for n in above])  # a first layer of 0.3 mm and whole layers
    assert odd.heights == pytest.approx((1.05, 2.05, 3.05))  # by hand: 0.3 + 3, 7 and 11 layers of 0.25
    assert odd.tongue_mm == odd.heights[-1]


@pytest.mark.parametrize(
    ("thick", "layer", "first"),
    [
        (0.2, 0.2, 0.2),
        (12.0, 0.2, 0.2),
        (3.0, 1.5, 0.2),
        (math.nan, 0.2, 0.2),
        (3.0, 0.0, 0.2),
        (3.0, 0.2, 1.1),
    ],
)
def test_refusals_of_the_piece(thick: float, layer: float, first: float) -> None:
    with pytest.raises(InputError):
        coupon("print", "petg", thick, layer, first)


def test_coupon_of_a_job() -> None:
    assert coupon_for(job()).heights[-1] == 3.0
    made = coupon_for(job(route="laser", material={"name": "mdf", "sheets_mm": [2.0, 2.9]}))
    assert made.tongue_mm == 2.9


@settings(max_examples=30, deadline=None)
@given(st.sampled_from(("print", "laser", "knife")), st.floats(0.6, 10.0))
def test_any_thickness_makes_a_sound_piece(route: str, thick: float) -> None:
    made = coupon(route, "petg", thick, 0.2)  # type: ignore[arg-type]
    plate = area_of(made.parts[0].slabs[0].region)
    outer = area_of(type(made.parts[0].slabs[0].region)(made.parts[0].slabs[0].region.outer))
    holes = sum(w * (10 + s) for w, s in zip(made.slots, STEPS_MM, strict=True))
    holes += sum(w * w for w in made.pockets) + SQUARE_MM**2
    assert plate.area == pytest.approx(outer.area - holes, rel=1e-9)  # no two openings run into each other


# --- kerf ------------------------------------------------------------------------------------------------------------


def test_snijlab_worked_example() -> None:
    # https://snijlab.nl/en/p/495/kerf-width (read): 2.0 x 4.0 drawn -> hole 2.2 x 4.2, part 1.8 x 3.8: kerf 0.2
    found = kerf_from(holes=[(2.0, 2.2), (4.0, 4.2)], pieces=[(2.0, 1.8), (4.0, 3.8)])
    assert found.value == pytest.approx(0.2)
    assert found.count == 4
    assert found.sigma == pytest.approx(caliper_sigma() / 2)


def test_forty_millimetre_square() -> None:
    # https://help.ponoko.com/en/articles/4442594 (read): a 40 mm square at a kerf of 0.2 comes out 39.8 mm
    assert kerf_from(pieces=[(40.0, 39.8)]).value == pytest.approx(0.2)


@given(st.floats(0, 0.6), st.floats(5, 60))
def test_what_the_offset_takes_the_readings_give_back(kerf: float, size: float) -> None:
    drawn = rectangle(0, 0, size, size)
    hole, part = bounds(grown(drawn, kerf / 2)), bounds(grown(drawn, -kerf / 2))
    found = kerf_from(holes=[(size, hole[2] - hole[0])], pieces=[(size, part[2] - part[0])])
    assert found.value == pytest.approx(kerf, abs=1e-9)


def test_scatter_counts_when_it_is_worse_than_the_caliper() -> None:
    found = kerf_from(pieces=[(20.0, 19.7), (20.0, 19.9), (20.0, 19.8)])
    assert found.sigma == pytest.approx(0.1 / math.sqrt(3))


@pytest.mark.parametrize(
    "call",
    [
        kerf_from,
        lambda: kerf_from(holes=[(20.0, 19.8)]),  # mixed up
        lambda: kerf_from(pieces=[(20.0, 18.0)]),  # absurd
        lambda: kerf_from(pieces=[(20.0, math.nan)]),
    ],
)
def test_kerf_refusals(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(InputError):
        call()


# --- clearances ------------------------------------------------------------------------------------------------------


def test_clearance_by_hand() -> None:
    # the "20" goes in, cut on the line with a kerf of 0.18: real play 0.20 + 2 x 0.18 = 0.56, 0.28 a side
    found = clearance_from(0.2, Measured(0.18, 0.01, 4))
    assert found.per_side_mm == pytest.approx(0.28)
    assert found.drawn_per_side_mm == pytest.approx(0.1)
    assert found.sigma_mm == pytest.approx(math.hypot(0.1 / math.sqrt(12), 0.02) / 2)
    assert not found.at_least
    assert clearance_from(0.0).at_least


def test_printed_clearance_has_no_kerf() -> None:
    assert clearance_from(0.3).per_side_mm == pytest.approx(0.15)


def test_joint_clearance_by_hand() -> None:
    # slot drawn 3.00 + 0.10, kerf 0.2 -> 3.30; the sheet is 2.95 thick: play 0.35
    found = joint_clearance_from(0.1, 3.0, 2.95, Measured(0.2, 0.01, 4))
    assert 2 * found.per_side_mm == pytest.approx(0.35)
    with pytest.raises(InputError):
        joint_clearance_from(-0.1, 3.0, 3.0)


@settings(max_examples=60)
@given(st.floats(0.0, 0.7), st.floats(0.0, 0.25))
def test_the_hand_finds_the_true_clearance(need: float, kerf: float) -> None:
    # a plug that needs ``need`` of play in all: the first step whose real play suffices
    goes = [s for s in STEPS_MM if s + 2 * kerf >= need]
    if not goes:
        return
    found = clearance_from(goes[0], Measured(kerf, 0.0, 1))
    assert 2 * found.per_side_mm >= need - 1e-12
    if not found.at_least:
        assert 2 * found.per_side_mm - need < 0.1 + 1e-9


@pytest.mark.parametrize(("tight", "step"), [(-0.1, 0.1), (0.1, 0.0)])
def test_clearance_refusals(tight: float, step: float) -> None:
    with pytest.raises(InputError):
        clearance_from(tight, step_mm=step)


# --- heights ---------------------------------------------------------------------------------------------------------


def test_height_correction_gives_back_the_line() -> None:
    # 0.05 mm of squash and a screw that is 1 % long
    drawn = (1.0, 2.0, 3.0)
    found = height_correction_from(drawn, [-0.05 + 1.01 * h for h in drawn])
    assert found.offset_mm == pytest.approx(-0.05)
    assert found.scale == pytest.approx(0.01)
    assert found.residual_mm == pytest.approx(0, abs=1e-12)
    wish = found.to_draw(2.5)
    assert -0.05 + 1.01 * wish.value == pytest.approx(2.5)


def test_one_height_is_an_offset() -> None:
    found = height_correction_from([3.0], [2.9])
    assert found.offset_mm == pytest.approx(-0.1)
    assert found.scale == 0.0
    assert found.to_draw(3.0).value == pytest.approx(3.1)
    assert found.to_draw(3.0).sigma == pytest.approx(caliper_sigma())


def test_uncertainties_are_those_of_the_line() -> None:
    # against many repeated measurements with the same noise
    rng = np.random.default_rng(3)
    drawn, sigma = np.array([1.0, 2.0, 3.0]), 0.015
    told = height_correction_from(drawn.tolist(), drawn.tolist(), sigma)
    slopes, offsets = [], []
    for _ in range(4000):
        slope, offset = np.polyfit(drawn, drawn + rng.normal(0, sigma, 3), 1)
        slopes.append(slope)
        offsets.append(offset)
    assert np.std(slopes) == pytest.approx(told.sigma_scale, rel=0.05)
    assert np.std(offsets) == pytest.approx(told.sigma_offset_mm, rel=0.05)
    assert np.cov(slopes, offsets)[0, 1] == pytest.approx(told.covariance, rel=0.08)
    # least uncertain in the middle of the stair
    assert told.to_draw(2.0).sigma < told.to_draw(3.0).sigma < told.to_draw(5.0).sigma
    assert told.to_draw(2.0).sigma == pytest.approx(sigma / math.sqrt(3))


def test_least_squares_against_numpy() -> None:
    random.seed(5)
    drawn = [1.0, 1.6, 2.4, 3.0]
    measured = [h * 1.004 - 0.03 + random.uniform(-0.05, 0.05) for h in drawn]
    found = height_correction_from(drawn, measured, 0.001)
    (slope, offset), cov = np.polyfit(drawn, measured, 1, cov=True)
    assert (1 + found.scale, found.offset_mm) == pytest.approx((slope, offset))
    assert found.sigma_scale == pytest.approx(math.sqrt(cov[0, 0]))  # the scatter is worse than the caliper
    assert found.covariance == pytest.approx(cov[0, 1])


@pytest.mark.parametrize(("drawn", "measured"), [([], []), ([1.0], [1.0, 2.0]), ([2.0, 2.0], [2.0, 2.1])])
def test_height_refusals(drawn: list[float], measured: list[float]) -> None:
    with pytest.raises(InputError):
        height_correction_from(drawn, measured)


def test_glue_line() -> None:
    found = glue_line_from(3.03, [1.42, 1.45, 0.06], 0.01)
    assert found.value == pytest.approx(0.05)
    assert found.sigma == pytest.approx(0.01)  # four readings over two joints: 0.01 x 2 / 2
    assert glue_line_from(2.99, [1.5, 1.5], 0.01).value == 0.0
    with pytest.raises(InputError, match="thinner"):
        glue_line_from(2.8, [1.5, 1.5], 0.01)
    with pytest.raises(InputError):
        glue_line_from(1.5, [1.5])


def test_the_coupon_is_a_value() -> None:
    made = coupon("laser", "mdf", 3.0)
    assert isinstance(made, Coupon)
    assert made == coupon("laser", "mdf", 3.0)
