"""Readings of a test piece through the whole path: from the preset's table to the numbers of the design."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.height.heights import print_offset_mm
from holders.design.pieces.cutting import cut_part
from holders.preset.schema import Preset
from holders.study import Study, job_of, study
from holders.workshop.coupon.coupon import coupon_for
from holders.workshop.coupon.readback import caliper_sigma
from holders.workshop.coupon.readings import with_readings
from tests.presets_made import changed, job

LASER: dict[str, Any] = {"route": "laser", "material": {"name": "mdf", "sheets_mm": [1.5, 2.0, 3.0]}}


def laser(coupon: dict[str, Any], **more: Any) -> Preset:
    made = changed(**LASER, coupon=coupon)
    for key, value in more.items():
        made[key] = {**made.get(key, {}), **value} if isinstance(value, dict) else value
    return Preset.model_validate(made)


def printed(coupon: dict[str, Any], **more: Any) -> Preset:
    return Preset.model_validate(changed(coupon=coupon, **more))


def told(preset: Preset) -> str:
    return "\n".join(job_of(preset)[1])


# --- kerf -------------------------------------------------------------------------------------------------------------


def test_kerf_by_hand_reaches_the_job_and_the_note() -> None:
    # 20 mm hole measured 20.20 and 20.16, 10 mm plug measured 9.80: kerfs 0.20, 0.16, 0.20, mean 0.1867
    made, notes = job_of(laser({"holes_mm": [20.20, 20.16], "plugs_mm": [9.80]}))
    assert made.material.kerf_mm == pytest.approx(0.56 / 3, abs=1e-4)
    sigma = max(caliper_sigma(), math.sqrt((2 * 0.01333**2 + 0.02667**2) / 2)) / math.sqrt(3)
    assert f"material.kerf_mm = 0.19 ± {sigma:.2f} mm (3 readings)" in notes[0]


@settings(max_examples=15, deadline=None)
@given(st.floats(0.02, 0.6))
def test_a_machine_with_a_kerf_then_cuts_true(kerf: float) -> None:
    """Cut the test piece on the line, read it, design with the readings, cut on the path: parts come out nominal."""
    readings = {"holes_mm": [20 + kerf], "plugs_mm": [10 - kerf]}
    made, _ = job_of(laser(readings))
    part = coupon_for(made).parts[2]  # any plain plate
    path = cut_part(part, made.material.kerf_mm)
    x0, _, x1, _ = path.box
    assert (x1 - x0) - kerf == pytest.approx(part.box[2] - part.box[0], abs=1e-4)


def test_a_stated_kerf_wins_and_a_note_says_so() -> None:
    preset = laser({"holes_mm": [20.2], "pocket": 10}, material={"kerf_mm": 0.11})
    made, notes = job_of(preset)
    assert made.material.kerf_mm == 0.11
    assert "material.kerf_mm = 0.11 as the preset states; the readings say 0.20" in notes[0]
    # the clearance goes by the stated kerf: 0.10 + 2 x 0.11 over two sides
    assert made.preset.layout.clearance_mm == pytest.approx(0.16)


def test_the_kerf_reaches_the_whole_design() -> None:
    plain = study(Preset.model_validate(changed(**LASER)))
    read = study(laser({"holes_mm": [20.25]}))
    assert {p.kerf_mm for n in read.nested for p in n.nesting.pieces} == {0.25}
    assert {p.kerf_mm for n in plain.nested for p in n.nesting.pieces} == {plain.job.material.kerf_mm}
    assert any(note.startswith("test piece: material.kerf_mm = 0.25") for note in read.design.notes)


@pytest.mark.parametrize(
    ("coupon", "key"),
    [
        ({"holes_mm": [19.5]}, "coupon.holes_mm"),  # hole and plug mixed up
        ({"plugs_mm": [10.4]}, "coupon.plugs_mm"),
        ({"glued_mm": 3.0}, "coupon.glued_sheets_mm"),
        ({"glued_sheets_mm": [1.5, 1.5]}, "coupon.glued_mm"),
        ({"glued_mm": 2.5, "glued_sheets_mm": [1.5, 1.5]}, "coupon.glued_mm"),
        ({"thickness_mm": 20.0}, "coupon.thickness_mm"),
    ],
)
def test_readings_that_cannot_be_are_refused_by_their_key(coupon: dict[str, Any], key: str) -> None:
    with pytest.raises(InputError) as caught:
        job_of(laser(coupon))
    assert caught.value.field == key


# --- clearances -------------------------------------------------------------------------------------------------------


def test_pocket_and_kerf_give_the_clearance_of_film_and_lid() -> None:
    # the "10" went in, the kerf is 0.18: play 0.10 + 2 x 0.18 = 0.46, 0.23 a side
    preset = laser({"holes_mm": [20.18], "pocket": 10}, lid={"tabs": 0})
    made, notes = job_of(preset)
    assert made.preset.layout.clearance_mm == pytest.approx(0.23)
    assert made.preset.lid is not None
    assert made.preset.lid.clearance_mm == pytest.approx(0.23)
    assert any("lid.clearance_mm = 0.23" in note for note in notes)
    found = study(preset)
    assert found.design.clearance == pytest.approx(0.23)
    film, pocket = found.design.windows[0].film, found.design.windows[0].pocket
    wide = pocket.width - film.width
    usual = study(Preset.model_validate(changed(**LASER, lid={"tabs": 0}))).design.windows[0]
    # from the default 0.3 a side to 0.23: the pocket is 0.14 narrower
    assert (usual.pocket.width - usual.film.width) - wide == pytest.approx(0.14, abs=1e-6)


def test_a_stated_clearance_wins() -> None:
    preset = printed({"pocket": 20}, layout={"clearance_mm": 0.4})
    made, notes = job_of(preset)
    assert made.preset.layout.clearance_mm == 0.4
    assert "layout.clearance_mm = 0.4 as the preset states; the readings say 0.10" in notes[0]
    assert not any("lid" in note for note in notes)  # there is none


def test_slot_gives_the_joint_clearance_of_a_printed_holder() -> None:
    # slot drawn 3.0 + 0.2, tongue printed 3.06 thick: play 0.14, 0.07 a side
    made, notes = job_of(printed({"slot": 20, "tongue_mm": 3.06}))
    assert made.preset.split.clearance_mm == pytest.approx(0.07)
    assert "split.clearance_mm = 0.07" in notes[0]


def test_the_joint_clearance_reaches_the_seams() -> None:
    more = {"film": {"format": "8x10"}, "printer": {"name": "p220"}}
    seams = study(printed({"slot": 30, "tongue_mm": 3.0}, **more)).design.seams
    assert seams
    assert {seam.clearance_mm for seam in seams} == {0.15}


def test_zero_step_says_that_it_may_be_less() -> None:
    assert "it may be less" in told(printed({"pocket": 0}))
    assert "it may be less" not in told(printed({"pocket": 10}))


def test_a_tongue_thicker_than_its_slot_is_refused() -> None:
    with pytest.raises(InputError) as caught:
        job_of(printed({"slot": 0, "tongue_mm": 3.3}))
    assert caught.value.field == "coupon.tongue_mm"


def test_the_engraved_thickness_says_what_was_drawn() -> None:
    # a piece of 2 mm layers, read into a preset whose own piece would be 3 mm
    made, _ = job_of(printed({"slot": 10, "tongue_mm": 2.02, "thickness_mm": 2.0}))
    assert made.preset.split.clearance_mm == pytest.approx((0.10 + 2.0 - 2.02) / 2)


# --- heights ----------------------------------------------------------------------------------------------------------


def heights(offset: float, scale: float) -> dict[str, Any]:
    return {"heights_mm": [offset + (1 + scale) * h for h in (1.0, 2.0, 3.0)]}


def test_a_squashed_first_layer_is_made_up_for() -> None:
    squash = -0.2
    plain, read = (
        study(printed({}, bed={"focus_height_mm": 3.4})),
        study(printed(heights(squash, 0.0), bed={"focus_height_mm": 3.4})),
    )
    layer = read.job.printer.layer_mm if read.job.printer else 0.0
    h = read.design.heights
    assert h.print_offset == pytest.approx(squash)
    assert h.ledge_height / layer == pytest.approx(round(h.ledge_height / layer))  # still whole layers
    assert h.sharp_plane == pytest.approx(h.drawn_ledge + squash)
    # drawn one layer (0.2 mm) higher, it comes out where it came out of a true printer
    assert h.ledge_height - plain.design.heights.ledge_height == pytest.approx(layer)
    assert h.sharp_plane == pytest.approx(plain.design.heights.sharp_plane, abs=1e-6)
    assert read.film.grid is not None
    assert plain.film.grid is not None
    assert read.film.grid.z.min() == pytest.approx(plain.film.grid.z.min(), abs=0.01)


@settings(max_examples=10, deadline=None)
@given(st.floats(-0.25, 0.25), st.floats(-0.03, 0.03))
def test_the_ledge_that_comes_out_is_within_half_a_layer_of_the_wanted(offset: float, scale: float) -> None:
    found = study(printed({**heights(offset, scale)}, ledge="focus"))
    h, layer = found.design.heights, 0.2
    out = offset + (1 + scale) * h.ledge_height
    assert h.print_offset == pytest.approx(out - h.ledge_height, abs=1e-6)
    # a bound that is reached, not a tolerance
    assert abs(h.foot_protrusion + out + h.optics - h.focus) <= (1 + scale) * layer / 2 + 1e-6
    assert print_offset_mm(found.job.printer, found.job.printed, h.ledge_height) == pytest.approx(
        h.print_offset
    )


def test_drawn_parts_follow_the_ledge() -> None:
    found = study(printed(heights(-0.2, 0.0)))
    tops = {round(slab.z1, 6) for part in found.design.parts for slab in part.slabs}
    h = found.design.heights
    assert round(h.drawn_ledge, 6) in tops
    assert found.ok


def test_all_steps_are_wanted() -> None:
    with pytest.raises(InputError) as caught:
        job_of(printed({"heights_mm": [1.0, 2.0]}))
    assert caught.value.field == "coupon.heights_mm"
    assert "all 3 steps" in caught.value.way_out


# --- glue -------------------------------------------------------------------------------------------------------------


def test_glue_line_by_hand_reaches_the_stack() -> None:
    # three sheets of 1.5 in a pile of 4.70: two joints of 0.10
    preset = laser({"glued_mm": 4.70, "glued_sheets_mm": [1.5, 1.5, 1.5]}, bed={"focus_height_mm": 3.6})
    made, notes = job_of(preset)
    assert made.material.glue_line_mm == pytest.approx(0.1)
    assert made.material.glue_spread_mm == pytest.approx(2 * caliper_sigma() * 2 / 2, abs=1e-4)
    assert "0.10 ± " in notes[0]
    found: Study = study(preset)
    sheets = [
        s.z1 - s.z0
        for p in found.design.parts
        for s in p.slabs
        if s.z1 <= found.design.heights.ledge_height + 1e-6
    ]
    assert len(sheets) > 1
    assert found.design.heights.ledge_height == pytest.approx(sum(sheets) + 0.1 * (len(sheets) - 1))


def test_a_stated_glue_line_wins() -> None:
    preset = laser({"glued_mm": 3.1, "glued_sheets_mm": [1.5, 1.5]}, material={"glue_line_mm": 0.02})
    assert job_of(preset)[0].material.glue_line_mm == 0.02


# --- what does not apply ----------------------------------------------------------------------------------------------


def test_no_readings_change_nothing() -> None:
    plain = job()
    assert with_readings(plain) == (plain, ())


def test_what_a_route_has_no_use_for_is_said() -> None:
    assert "not used on this route" in told(printed({"holes_mm": [20.1]}))
    assert "not used on this route" in told(laser({"heights_mm": [1.0, 2.0, 3.0]}))
    assert "nothing of a cut holder is slotted" in told(laser({"slot": 10}))
    assert "not used" in told(printed({"glued_mm": 3.0, "glued_sheets_mm": [1.5, 1.5]}))


@pytest.mark.parametrize(
    "bad", [{"pocket": 15}, {"slot": -10}, {"holes_mm": [0.0]}, {"tongue_mm": math.nan}, {"x": 1}]
)
def test_the_schema_takes_plain_readings_only(bad: dict[str, Any]) -> None:
    from pydantic import ValidationError

    with pytest.raises(ValidationError):
        printed(bad)
