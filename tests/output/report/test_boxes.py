"""Crop and exposure boxes from the lamp area's corner, in three units; where the code notches lie in a holder."""

from __future__ import annotations

import pytest

from holders.design.plan.code_notch import notch_side
from holders.design.resolve import design
from holders.output.sheet.scanning import PREVIEWED_PPI, exposure_box, from_lamp, section
from tests.presets_made import job

PRINTED = {"route": "print", "material": {"name": "petg"}, "printer": {"name": "p300"}}


def test_boxes_stand_in_one_table_from_both_corners_in_three_units() -> None:
    asked = job(**PRINTED, film={"format": "4x5"})
    made = design(asked)
    tables = [
        b for b in section((asked.film,), asked.preset, made).blocks if "boxes" in getattr(b, "caption", "")
    ]
    (rows,) = [table.rows for table in tables]  # type: ignore[attr-defined]
    o, lamp = made.windows[0].opening, made.lamp
    by = {(row[0], row[1]): [float(v) for cell in row[2:] for v in cell.split(",")] for row in rows}
    sides = [o.x - lamp.x, o.y - lamp.y, o.x, o.y, o.width, o.height]  # as the head says
    assert ["lamp" in head for head in tables[0].head[2:]] == [True, False, False]  # type: ignore[attr-defined]
    assert by["1 crop", "mm"] == pytest.approx(sides, abs=0.051)
    for box in ("1 crop", "1 exposure"):
        assert [25.4 * v for v in by[box, "inch"]] == pytest.approx(by[box, "mm"], abs=0.065)
        assert [v / PREVIEWED_PPI for v in by[box, "pixels"]] == pytest.approx(by[box, "inch"], abs=0.0008)


def test_the_exposure_box_lies_well_inside_picture_and_window() -> None:
    for lip in (2.0, 8.0):  # also where the lips cover the picture's edge
        (window,) = design(job(**PRINTED, film={"format": "4x5"}, lip={"all_mm": lip})).windows
        box, p, o = exposure_box(window), window.picture, window.opening
        for outer in (p, o):
            assert outer.contains(box.grown(0.05 * min(box.width, box.height)))
        assert box.width * box.height > 0.6 * min(p.width, o.width) * min(p.height, o.height)


def test_a_preview_begins_at_the_lamp() -> None:
    made = design(job(**PRINTED, film={"format": "4x5"}))
    assert from_lamp(made, made.lamp).x == 0
    assert from_lamp(made, made.lamp).y == 0


def test_code_notches() -> None:
    """At the top right when the emulsion faces one (common practice, no source); turned over, at the top left."""
    assert (notch_side("up"), notch_side("down")) == ("right", "left")
