"""The check of a carrier and its insert: its numbers by hand, and each way in which it warns or stops."""

from __future__ import annotations

import math

import pytest

from holders.core.findings import Finding
from holders.design.model import Design
from holders.fittings.carrier.check import InsertRule
from holders.preset.resolve import Job
from tests.checks.judged import Wrong, expect, named, one
from tests.checks.make_design import job, make
from tests.checks.make_insert import carried, keyless, narrow_seat, pushed, wide_ledge


def found(made: tuple[Job, Design], words: str) -> Finding:
    return one(InsertRule(), made, words)


def test_a_good_one_passes_everything() -> None:
    assert [f.level for f in InsertRule().check(*carried())] == ["pass"] * 5


def test_no_insert_no_check() -> None:
    (only,) = InsertRule().check(job(), make())
    assert only.level == "skip"


CASES: tuple[Wrong, ...] = (
    ("gap round", "warn", lambda: carried(clearance_mm=0.05), "carrier.clearance_mm"),
    ("gap round", "warn", lambda: carried(clearance_mm=0.9), "carrier.clearance_mm"),
    ("gap round", "stop", lambda: pushed(0.3), "carrier.clearance_mm"),
    ("rests on", "warn", lambda: narrow_seat(2.0), "carrier.ledge_mm"),  # 2.0 less the play of 0.25
    ("rests on", "stop", lambda: narrow_seat(0.2), "carrier.ledge_mm"),
    ("one way", "stop", keyless, "carrier.key_mm"),
    ("add up", "warn", lambda: carried({"z_tolerance_mm": 0.3}), "printer.z_tolerance_mm"),
    ("add up", "stop", lambda: carried({"z_tolerance_mm": 0.6}), "printer.z_tolerance_mm"),
    ("clear of the windows", "stop", wide_ledge, "carrier.ledge_mm"),
)


@pytest.mark.parametrize("case", CASES, ids=named)
def test_it_finds_what_is_wrong(case: Wrong) -> None:
    expect(InsertRule(), case)


def test_gap_and_seat_are_what_the_preset_says() -> None:
    """A gap of 0.4 mm all round; a ledge of 5 mm carries 5 mm of insert, 4.6 when that is pushed to one side."""
    made = carried(clearance_mm=0.4, ledge_mm=5.0)
    assert found(made, "gap round").measured == pytest.approx(0.4, abs=0.01)
    assert found(made, "rests on").measured == pytest.approx(4.6, abs=0.01)


@pytest.mark.parametrize(("corner", "whole"), [("slanted", 6.0**2 / 2), ("hollow", math.pi * 6.0**2 / 4)])
def test_the_odd_corner_is_what_stops_it(corner: str, whole: float) -> None:
    """Turned by half a turn a square corner lies where no pocket is: a triangle or quarter circle less the play."""
    made = carried(key_mm=6.0, clearance_mm=0.25, corner=corner)
    shared = found(made, "one way").measured
    # pushed 0.25 mm away along both axes the corner stands (6 - 2 x 0.25 + ...) deep at most, never the whole of it
    assert isinstance(shared, float)
    assert 0.4 * whole < shared < whole


def test_two_heights_add_as_random_errors() -> None:
    made = carried({"z_tolerance_mm": 0.1})
    assert found(made, "add up").measured == pytest.approx(0.1 * math.sqrt(2), abs=1e-4)
