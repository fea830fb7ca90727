"""The height sum, the stack of sheets, the sideways lens, notches and feet: numbers that can be worked by hand."""

from __future__ import annotations

import math
from itertools import combinations_with_replacement, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.draft.bed import margin_mm
from holders.design.height.heights import foot_protrusion, foot_recess, ledge_target, optics_mm, rise
from holders.design.height.sheets import chosen_stack, nearest_sheet
from holders.design.height.stacks import MOST_SHEETS, STEP_MM, WORTH_A_SHEET_MM, Target
from holders.design.model import Edges, Rect
from holders.design.plan.frame import corner_radius
from holders.design.plan.layout import lay_out
from holders.design.plan.relief import Step, shade, shaded_mm
from holders.design.resolve import design
from holders.preset.resolve import Job
from tests.presets_made import job


def test_emulsion_down_lies_on_the_ledge() -> None:
    assert optics_mm(job()) == 0.0


def test_emulsion_up_is_seen_through_the_base() -> None:
    # a plane-parallel plate of index n brings what is behind it nearer by t (1 - 1/n), so it appears t/n above the
    # ledge: paraxial optics, any textbook; here t = 0.18, n = 1.64
    found = optics_mm(job(film={"emulsion": "up"}, base={"thickness_mm": 0.18, "refractive_index": 1.64}))
    assert found == pytest.approx(0.18 / 1.64)


def test_film_in_a_mount_lies_half_its_thickness_up() -> None:
    assert optics_mm(job(film={"format": "mount-50", "plane_offset_mm": 1.1})) == pytest.approx(1.1)


@pytest.mark.parametrize(("recess", "out"), [(1.0, 0.5), (0.2, 1.3), (0.0, 1.5)])
def test_feet_stand_out_by_what_is_not_recessed(recess: float, out: float) -> None:
    assert foot_protrusion(job(feet={"thickness_mm": 1.5, "recess_mm": recess})) == pytest.approx(out)


def test_feet_that_cannot_be() -> None:
    for changes, field in (
        ({"feet": {"thickness_mm": 1.0, "recess_mm": 1.0}}, "feet.recess_mm"),
        (
            {"route": "laser", "material": {"name": "acrylic-cast"}, "feet": {"recess_mm": 0.5}},
            "feet.recess_mm",
        ),
    ):
        with pytest.raises(InputError) as caught:
            foot_recess(job(**changes))
        assert caught.value.field == field
    with pytest.raises(InputError) as caught:
        rise(job(feet={"thickness_mm": 4.0, "recess_mm": 1.2}))
    assert caught.value.field == "feet.thickness_mm"
    with pytest.raises(InputError) as caught:
        rise(job(bed={"focus_height_mm": 0.1}))
    assert caught.value.field == "bed.focus_height_mm"


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 8.0), st.sampled_from([0.1, 0.15, 0.2, 0.28, 0.3]))
def test_printed_ledge_is_whole_layers_and_nearest(focus: float, layer: float) -> None:
    found = rise(job(bed={"focus_height_mm": focus}, printer={"layer_mm": layer})).heights
    layers = (found.ledge_height - 0.2) / layer  # above the first layer, 0.2 mm in the printer's row
    assert layers == pytest.approx(round(layers), abs=1e-5)
    assert abs(found.ledge_height - found.ledge_wanted) <= layer / 2 + 1e-6
    assert found.sharp_plane == pytest.approx(found.foot_protrusion + found.ledge_height + found.optics)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.floats(0.3, 6.0), min_size=1, max_size=5, unique=True),
    st.floats(0.5, 12.0),
    st.sampled_from([0.0, 0.05, 0.15]),
)
def test_no_stack_is_nearer_by_more_than_a_sheet_is_worth(
    thicknesses: list[float], wanted: float, glue: float
) -> None:
    made = cut(thicknesses, glue)
    found = chosen_stack(made.material, made.preset, Target(wanted, wanted, wanted))
    assert set(found.sheets) <= set(thicknesses)
    assert list(found.sheets) == sorted(found.sheets, reverse=True)
    assert found.total == pytest.approx(sum(found.sheets) + (len(found.sheets) - 1) * glue)
    # spreads of measured sheets are small: at most four layers of one sheet, 0.07 mm as a standard deviation
    price = abs(found.total - wanted) + len(found.sheets) * WORTH_A_SHEET_MM
    for count in range(1, MOST_SHEETS + 1):
        for c in combinations_with_replacement(thicknesses, count):
            error = abs(sum(c) + (count - 1) * glue - wanted)
            assert price <= error + 0.07 + count * WORTH_A_SHEET_MM + STEP_MM + 1e-9


def cut(sheets: list[float], glue: float, **bed: float) -> Job:
    material = {"name": "mounting-board", "sheets_mm": sheets, "glue_line_mm": glue, "glue_spread_mm": 0.0}
    return job(route="knife", material=material, bed={"name": "a4-wide", **bed})


def test_worked_stacks() -> None:
    def chosen(sheets: list[float], wanted: float, glue: float = 0.0) -> tuple[float, ...]:
        made = cut(sheets, glue)
        return chosen_stack(made.material, made.preset, Target(wanted - 0.5, wanted, wanted + 0.5)).sheets

    assert chosen([1.42, 3.04], 3.0) == (3.04,)
    assert chosen([1.42, 3.04], 4.5) == (3.04, 1.42)
    assert chosen([3.0], 3.01) == (3.0,)
    # 0.15 mm of tape in the joint: 3.04 + 1.42 + 0.15 = 4.61, 3.04 + 2 + 0.15 = 5.19
    assert chosen([2.0, 3.04, 1.42], 4.61, 0.15) == (3.04, 1.42)
    assert chosen([2.0, 3.04, 1.42], 5.19, 0.15) == (3.04, 2.0)
    assert nearest_sheet([1.0, 2.0, 3.0], 1.2) == 1.0
    assert nearest_sheet([1.0, 2.0, 3.0], 1.2, least=1.5) == 2.0
    assert nearest_sheet([1.0], 5.0, least=2.0) == 1.0


def test_glue_lifts_the_ledge_and_everything_above() -> None:
    # by hand: 1.5 + 0.2 + 1.5 = 3.2; the wall's own joint lifts its top by 0.2 more, film and ledge not at all
    made = cut([1.5], 0.2, focus_height_mm=3.2)
    glued = design(made)
    assert glued.heights.ledge_height == pytest.approx(3.2)
    assert glued.heights.glue == pytest.approx(0.2)
    assert glued.heights.sharp_plane == pytest.approx(3.2)
    levels = [(s.z0, s.z1) for part in glued.parts for s in part.slabs]
    assert levels == [pytest.approx(pair) for pair in ((0.0, 1.5), (1.7, 3.2), (3.4, 4.9))]
    assert glued.total_height == pytest.approx(4.9)
    assert any("0.20 mm of glue" in note for note in glued.notes)
    dry = design(cut([1.5], 0.0, focus_height_mm=3.2))
    assert dry.heights.ledge_height == pytest.approx(3.0)
    assert not any("glue" in note for note in dry.notes)


def test_the_target_is_what_makes_the_whole_picture_sharp() -> None:
    made = cut([3.0], 0.0, focus_height_mm=3.0, focus_band_mm=0.5)
    flat = ledge_target(made)
    assert (flat.low_mm, flat.best_mm, flat.high_mm) == pytest.approx((2.5, 3.0, 3.5))
    hanging = ledge_target(made, 3.2, (-0.6, 0.1))  # a ledge at 3.1 puts the lowest point at 2.5
    assert (hanging.low_mm, hanging.high_mm) == pytest.approx((3.1, 3.4))
    assert not hanging.empty
    too_deep = ledge_target(made, 3.4, (-1.2, 0.0))  # 1.2 mm do not go into a band of 1.0
    assert too_deep.empty
    assert too_deep.best_mm == pytest.approx(3.4)
    # a height outside the band, wanted for another reason, is met all the same
    at_hand = cut([3.0, 4.4], 0.0)
    assert chosen_stack(at_hand.material, at_hand.preset, ledge_target(made, 4.4)).sheets == (4.4,)


def test_a_wall_shades_its_height_times_the_slant() -> None:
    assert shaded_mm([Step(0.8, 0.0), Step(3.0, 2.2)], 0.5) == pytest.approx(0.4)
    assert shaded_mm([Step(3.0, 0.0)], 0.5) == pytest.approx(1.5)
    assert shaded_mm([Step(3.0, 5.0)], 0.5) == 0.0
    assert shaded_mm([], 0.5) == 0.0


def test_only_edges_that_face_the_lens_are_shaded() -> None:
    walls = [Step(3.0, 0.0)]
    # a window wholly to the right of the lens: its left edge leans into the view, its right edge does not
    right = shade(Rect(150, 0, 50, 50), 100, 300, walls, [])
    assert right.left == pytest.approx(3.0 * 50 / 300)
    assert right.right == 0.0
    left = shade(Rect(0, 0, 50, 50), 100, 300, walls, [])
    assert left.right == pytest.approx(3.0 * 50 / 300)
    assert left.left == 0.0
    across = shade(Rect(50, 0, 100, 50), 100, 300, walls, [Step(2.0, 0.1)])
    assert across == Edges(2.0 * 50 / 300 - 0.1, 2.0 * 50 / 300 - 0.1, 0, 0)


def test_relief_never_makes_the_picture_smaller() -> None:
    for count in (1, 2, "fill"):
        plain = design(job(layout={"count": count, "relief": "none"}))
        eased = design(job(layout={"count": count}))
        for a, b in zip(plain.windows, eased.windows, strict=True):
            assert b.seen >= a.seen - 1e-12
            assert b.shaded.left <= a.shaded.left + 1e-12
            assert b.shaded.right <= a.shaded.right + 1e-12


def test_square_film_corners_clear_the_pockets_arc() -> None:
    for clearance in (0.02, 0.05, 0.3):
        one = job(layout={"clearance_mm": clearance})
        made = design(one)

        class Has:
            rules = type("R", (), {"pocket_radius_mm": 0.5})
            job = one
            added = ()

        r = corner_radius(Has, made.windows[0].pocket)  # type: ignore[arg-type]
        assert r * (1 - 1 / math.sqrt(2)) <= clearance + 1e-12
        assert made.windows


def test_fill_takes_at_least_what_count_takes() -> None:
    most = len(lay_out(job(layout={"count": "fill"})).places)
    assert most == 4  # four 4x5 sheets on an A4-class bed: (205 mm, 257 mm) of lamp area
    for count in range(1, most + 1):
        assert len(lay_out(job(layout={"count": count})).places) == count
    with pytest.raises(InputError) as caught:
        lay_out(job(layout={"count": most + 1}))
    assert "at most 4" in caught.value.way_out


def test_rows_are_even_so_that_the_preview_finds_them() -> None:
    places = lay_out(job(film={"format": "35mm-strip"}, layout={"count": "fill", "turn": "never"})).places
    xs = [p.opening.x for p in places]
    steps = {round(b - a, 6) for a, b in pairwise(xs)}
    assert len(steps) == 1
    assert {p.opening.y for p in places} == {places[0].opening.y}


def test_rebate_edge_shows_what_was_asked() -> None:
    one = job(film={"format": "8x10"}, lip={"rebate_edge": "left", "rebate_mm": 1.2})
    window = design(one).windows[0]
    assert window.picture.x - window.opening.x == pytest.approx(1.2)
    assert margin_mm(one.film, one.preset) == pytest.approx(0.4 + 0.3)
    for changes, field in (
        ({"lip": {"rebate_edge": "left", "rebate_mm": 3.9}}, "lip.rebate_mm"),
        ({"lip": {"rebate_edge": "left", "left_mm": 2.0}}, "lip.left_mm"),
        ({"lip": {"all_mm": 0.2}}, "lip.all_mm"),
        ({"lip": {"head_mm": 0.2}}, "lip.head_mm"),
    ):
        with pytest.raises(InputError) as caught:
            design(job(**changes))
        assert caught.value.field == field


def test_identical_lids_are_one_part_with_a_quantity() -> None:
    made = design(job(layout={"count": 2}, lid={}))
    lids = [p for p in made.parts if p.name.startswith("lid")]
    assert sum(p.quantity for p in lids) == 2
    assert all(p.quantity == len(p.places) for p in lids)


def test_magnets_that_have_no_room_are_refused() -> None:
    with pytest.raises(InputError) as caught:
        design(job(film={"format": "8x10"}, lid={"magnets": 2, "magnet_diameter_mm": 20.0}))
    assert caught.value.field == "lid.magnets"
    with pytest.raises(InputError) as caught:
        design(job(lid={"magnets": 2, "magnet_thickness_mm": 2.0, "thickness_mm": 2.0}))
    assert caught.value.field == "lid.magnet_thickness_mm"
