"""Crop and exposure boxes from the lamp area's corner, in three units; where the code notches lie in a holder."""

from __future__ import annotations

import pytest

from holders.design.plan.code_notch import notch_side
from holders.design.resolve import design
from holders.output.crop_boxes import (
    MANY_WINDOWS,
    ScanSetting,
    boxes,
    crop_rows,
    crop_summary,
    crop_tables,
    exposure_box,
    from_lamp,
    home_words,
    scan_setting,
)
from holders.output.sheet.scanning import section
from holders.preset.holder_code import holder_code
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
        assert [v / 2400 for v in by[box, "pixels"]] == pytest.approx(by[box, "inch"], abs=0.0008)


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


@pytest.mark.parametrize(
    ("bed", "room", "ppi", "because"),
    [
        ({}, {}, 2400, "usual"),
        ({"useful_ppi": 2900.0}, {}, 3200, "2900 ppi measured"),  # the least usual setting that holds it
        ({"useful_ppi": 9000.0}, {}, 6400, "9000 ppi measured"),  # beyond the usual ones: the highest
        ({"useful_ppi": 2900.0}, {"scan_ppi": 1200}, 1200, "as set"),
    ],
)
def test_the_resolution_is_as_set_else_as_measured_else_the_usual_one(
    bed: dict[str, float], room: dict[str, float], ppi: float, because: str
) -> None:
    asked = job(**PRINTED, film={"format": "4x5"}, bed={"name": "a4-wide", **bed}, room=room)
    found = scan_setting(asked.preset)
    assert found.ppi == ppi
    assert because in found.because
    made = design(asked)
    words = " ".join(getattr(b, "text", "") for b in section((asked.film,), asked.preset, made).blocks)
    assert f"Pixels are for {ppi} ppi, " in words
    assert because in words
    answer = crop_summary(made, found)
    (box,) = answer["boxes"]
    assert answer["ppi"] == ppi
    o, lamp = made.windows[0].opening, made.lamp
    mm = [o.x - lamp.x, o.y - lamp.y, o.width, o.height]
    # an inch is 25.4 mm (ISO 31-1, international inch)
    assert box["crop"]["mm"] == pytest.approx(mm, abs=0.051)
    assert box["crop"]["inch"] == pytest.approx([v / 25.4 for v in mm], abs=0.0006)
    assert box["crop"]["pixels"] == pytest.approx([v / 25.4 * ppi for v in mm], abs=0.51)
    assert box["crop"]["inch"] != box["exposure"]["inch"]


def test_a_holder_keeps_its_code_at_any_resolution() -> None:
    plain, set_ = (job(**PRINTED, film={"format": "4x5"}, room=room) for room in ({}, {"scan_ppi": 3200}))
    both = job(**PRINTED, film={"format": "4x5"}, room={"scan_when": "cold", "scan_ppi": 3200})
    assert holder_code(plain) == holder_code(set_)
    assert (
        holder_code(both)
        == holder_code(job(**PRINTED, film={"format": "4x5"}, room={"scan_when": "cold"}))
        != holder_code(plain)
    )


def test_many_boxes_stand_in_all_three_units_too() -> None:
    """Beyond six a line for each box; places and sizes together give every box in every unit."""
    made = design(
        job(
            route="laser",
            material={"name": "plywood-birch"},
            film={"format": "mount-50"},
            layout={"count": 8},
        )
    )
    setting = ScanSetting(1600.0, "as set")
    assert len(boxes(made)) == 8 > MANY_WINDOWS
    places, sizes = crop_tables(made, setting)
    size = {}
    for name, *cells in sizes.rows:
        numbers, kind = name.rsplit(" ", 1)
        first, last = (int(n) for n in numbers.split(" to "))
        size |= {f"{n} {kind}": cells for n in range(first, last + 1)}
    assert len(places.rows) == len(size) == 16
    per_mm = (1.0, 1 / 25.4, 1600 / 25.4)
    for (number, crop, exposure), k in zip(boxes(made), range(8), strict=True):
        for j, (kind, box) in enumerate((("crop", crop), ("exposure", exposure))):
            name, *cells = places.rows[2 * k + j]
            assert name == f"{number} {kind}"
            for cell, own, scale, fine in zip(cells, size[name], per_mm, (0.051, 0.0006, 0.51), strict=True):
                said = [float(v) for v in f"{cell},{own}".split(",")]
                mm = (box.x - made.lamp.x, box.y - made.lamp.y, box.width, box.height)
                assert said == pytest.approx([v * scale for v in mm], abs=fine)
    added = home_words(made, setting)
    assert f"{made.lamp.x:.1f}," in added
    assert f"{made.lamp.y / 25.4:.3f} inch" in added


def test_a_terminal_shows_six_boxes_and_says_how_to_see_the_others() -> None:
    made = design(
        job(
            route="laser",
            material={"name": "plywood-birch"},
            film={"format": "mount-50"},
            layout={"count": 8},
        )
    )
    setting = ScanSetting(1600.0, "as set")
    few, every = (crop_rows(made, setting, everything=everything) for everything in (False, True))
    assert [name for name, _ in few] == ["crop boxes", *(f"window {k}" for k in range(1, 7)), ""]
    assert few[-1][1] == "and 2 more; --all shows every one"
    assert [name for name, _ in every][-1] == "window 8"
    assert all(value.count(" x ") == 3 for _, value in every[1:])
    assert "1600 ppi" in few[0][1]
