"""By what a test piece is judged, against arithmetic by hand and against what the design does with the readings."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.output.sheet.blocks import Items, Table
from holders.output.sheet.testpiece import testpiece_sheet as page_of
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset
from holders.workshop.coupon.coupon import coupon_for
from holders.workshop.coupon.limits import Limits, limits
from holders.workshop.coupon.readings import with_readings
from tests.presets_made import changed, job

CALIPER = 0.03  # limit of a plain caliper, 0.02 to 0.03 mm as printed on it: common practice, no source
CUT: dict[str, dict[str, Any]] = {
    "laser": {"material": {"name": "acrylic-cast", "kerf_mm": 0.18}},
    "knife": {"material": {"name": "mat-board"}},
}


def made(route: str) -> Job:
    return job() if route == "print" else cut(route, **CUT[route])


def cut(route: str, **tables: Any) -> Job:
    """A job of sheet, which knows no printer."""
    data = changed(route=route, **tables)
    del data["printer"]
    return resolve(Preset.model_validate(data))


def limits_of(wanted: Job) -> Limits:
    return limits(wanted.preset, wanted.material, wanted.printer, coupon_for(wanted))


def table_of(wanted: Job) -> dict[str, str]:
    """What is good, by the key that it is typed to."""
    section = next(s for s in page_of(wanted, coupon_for(wanted), ()).sections if s.key == "measuring")
    (table,) = (block for block in section.blocks if isinstance(block, Table))
    return {row[-1]: row[-2] for row in table.rows}


def words_of(wanted: Job) -> str:
    section = next(s for s in page_of(wanted, coupon_for(wanted), ()).sections if s.key == "measuring")
    return " ".join(row for block in section.blocks if isinstance(block, Items) for row in block.rows)


def test_two_readings_of_one_length_differ_by_the_root_of_two_times_the_caliper() -> None:
    found = limits_of(made("laser"))
    assert found.pair_mm == pytest.approx(CALIPER * math.sqrt(2))


def test_the_middle_step_is_judged_by_independent_readings() -> None:
    """Its error less the mean of the other two's: variances 1 + 1/4 + 1/4 (JCGM 100:2008, 5.1.2, from memory)."""
    found = limits_of(made("print"))
    assert found.bent_mm == pytest.approx(CALIPER * math.sqrt(1 + 1 / 4 + 1 / 4))


def test_the_stair_is_good_within_the_printer_s_own_tolerance() -> None:
    wanted = made("print")
    assert wanted.printer is not None
    assert table_of(wanted)["heights_mm"] == "each ± 0.1 mm"
    finer = replace(wanted, printer=wanted.printer.model_copy(update={"z_tolerance_mm": 0.04}))
    assert table_of(finer)["heights_mm"] == "each ± 0.04 mm"
    assert table_of(finer)["tongue_mm"] == "± 0.04 mm"
    for words in (
        "All alike",
        "Growing from step to step",
        "0.04 mm from half way",
        "More than 0.5 mm is refused",
    ):
        assert words in words_of(wanted)


@pytest.mark.parametrize(("off", "taken"), [(0.5, True), (0.51, False)])
def test_what_the_page_says_is_refused_is_refused(off: float, taken: bool) -> None:
    piece = coupon_for(made("print"))
    read = job(coupon={"heights_mm": [round(height + off, 3) for height in piece.heights]})
    if not taken:
        with pytest.raises(InputError, match="measure it again"):
            with_readings(read)
        return
    corrected, _ = with_readings(read)
    assert corrected.printed is not None
    assert corrected.printed.offset_mm == pytest.approx(off, abs=1e-6)  # the next holder is drawn for it


def test_hole_and_plug_are_good_by_the_kerf_that_the_holder_is_cut_with() -> None:
    """A hole comes out a kerf larger, a piece a kerf smaller than a path cut on the line."""
    good = table_of(made("laser"))
    assert good["holes_mm"] == "about 20.18; within 0.04 mm of each other"
    assert good["plugs_mm"] == "about 9.82; within 0.04 mm of each other"
    assert {"holes_mm", "plugs_mm"}.isdisjoint(table_of(made("knife")))


@pytest.mark.parametrize(
    ("clearance", "kerf", "mark"),
    # play of the holder 2 c; on the test piece, cut on the line, two kerfs come on top of what is marked
    [(0.3, 0.18, "20 or tighter"), (0.3, 0.1, "40 or tighter"), (0.2, 0.18, "0"), (0.1, 0.3, "0")],
)
def test_the_mark_is_what_the_holder_s_gap_allows(clearance: float, kerf: float, mark: str) -> None:
    tables = {"material": {"name": "acrylic-cast", "kerf_mm": kerf}, "layout": {"clearance_mm": clearance}}
    assert table_of(cut("laser", **tables))["pocket"] == mark


def test_a_printed_slot_is_judged_by_the_joints_gap() -> None:
    """Glued 0.1 mm a side, pressed 0.05: the marks are over the whole width."""
    assert table_of(job())["slot"] == "20 or tighter"
    assert table_of(job(split={"fit": "press"}))["slot"] == "10 or tighter"


def test_a_glued_pile_is_its_sheets_and_its_joints() -> None:
    assert table_of(made("knife"))["glued_mm"] == "the sheets, and 0.05 mm ± 0.04 mm a joint"
    assert "nothing ± 0.02 mm a joint" in table_of(made("laser"))["glued_mm"]
