"""The checks of a holder that moves between passes: each sees a holder that is right, and one that is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holders.checks.frame.clear import Calibration
from holders.checks.frame.feet import Feet
from holders.checks.frame.fit import GlassFit, Lamp
from holders.core.findings import Finding
from holders.design.draft.stands import Moves, Steps
from holders.design.model import Design, Rect, Sag
from holders.design.resolve import design
from holders.fittings.passes.check import MATCH_MM, PassesRule
from holders.fittings.passes.made import Passes
from holders.preset.resolve import Job
from tests.checks.make_passes import UPRIGHT, holder, with_passes
from tests.presets_made import job


def found(wanted: Job, made: Design, subject: str) -> Finding:
    (one,) = [f for f in PassesRule().check(wanted, made) if f.subject == subject]
    return one


OVERLAP = "overlap of neighbouring passes"
ZONE = "step blocks off the calibration zone"
CLEAR = "holder and step blocks clear of one another"
STOPPED = "holder against its step blocks"
BARE = "lit glass left bare beside the holder"
MATCH = "shift of the picture from pass to pass"


def test_a_holder_as_designed_passes_them_all() -> None:
    for changes in ({}, {"bed": UPRIGHT}):
        wanted, made = holder(**changes)
        levels = {f.subject: f.level for f in PassesRule().check(wanted, made)}
        assert levels.pop(MATCH) == "skip"
        assert set(levels.values()) == {"pass"}
        assert len(levels) == 5


def test_a_holder_that_stays_is_not_asked() -> None:
    wanted = job(bed={"name": "a4-wide"})
    (skipped,) = PassesRule().check(wanted, design(wanted))
    assert skipped.level == "skip"


def test_overlap_is_measured_on_the_crop_boxes() -> None:
    wanted, made = holder()
    # the lamp area is 105 mm long and the step 68; the window, 172 and half a millimetre short of it at both ends,
    # is cut off by neither
    assert found(wanted, made, OVERLAP).measured == pytest.approx(105.0 - 68.0, abs=1e-4)
    less = with_passes(made, stands=((0.0, 0.0), (0.0, 95.0)))
    assert (found(wanted, less, OVERLAP).level, found(wanted, less, OVERLAP).measured) == ("warn", 10.0)
    apart = with_passes(made, stands=((0.0, 0.0), (0.0, 106.0)))
    assert found(wanted, apart, OVERLAP).level == "stop"


def test_a_strip_between_two_passes_is_seen_by_the_lamp_check() -> None:
    wanted, made = holder()
    (lit,) = Lamp().check(wanted, made)
    assert lit.level == "pass"
    assert lit.measured == pytest.approx(0.5, abs=1e-3)  # half of what 105 + 68 are more than 172
    apart = with_passes(made, stands=((0.0, 0.0), (0.0, 106.0)))
    (dark,) = Lamp().check(wanted, apart)
    assert dark.level == "stop"
    # too short a way leaves the end of the window dark: 8 mm of its 122 mm, less the half millimetre to spare
    (short,) = Lamp().check(wanted, with_passes(made, stands=((0.0, 0.0), (0.0, 60.0))))
    assert short.measured == pytest.approx(-((122.0 * 7.5) ** 0.5), abs=0.01)


def test_zone_below_the_blocks_and_below_the_holder() -> None:
    wanted, made = holder()
    (row,) = next(one.rows for one in made.fitted if isinstance(one, Passes))
    over = with_passes(made, rows=(replace(row, starts=(70.0,)),))
    assert found(wanted, over, ZONE).level == "stop"
    assert "pass 2" in found(wanted, over, ZONE).where
    # the zone farther from home: clear of the holder in its first place, below it in none; in the other, below it
    (clear,) = Calibration().check(wanted, made)
    assert clear.level == "pass"
    away = replace(made, calibration=Rect(100.0, 60.0, 60.0, 14.0))
    (covered,) = Calibration().check(wanted, replace(away, fitted=()))
    assert covered.level == "pass"  # over the window
    (covered,) = Calibration().check(wanted, away)
    assert covered.level == "stop"  # 68 mm on, the frame lies there


def test_feet_are_looked_at_in_every_place() -> None:
    wanted, made = holder(feet={})
    levels = [f.level for f in Feet().check(wanted, made)]
    assert "stop" not in levels
    foot = made.feet[0]
    # the zone 68 mm higher than a foot: it reaches the foot in the second place only
    zone = Rect(foot.x - 5.0, foot.y + 63.0, 10.0, 10.0)
    still = [f for f in Feet().check(wanted, replace(made, calibration=zone, fitted=())) if f.level == "stop"]
    moved = [f for f in Feet().check(wanted, replace(made, calibration=zone)) if f.level == "stop"]
    assert (len(still), len(moved)) == (0, 1)


def test_light_leans_over_a_foot_in_one_place_only() -> None:
    """Light leans by 3.3 x / 300 toward the lens: 2 mm beside it hardly, 62 mm beside it by 0.7 mm."""
    wanted, made = holder(bed=UPRIGHT, feet={})
    (window,) = made.windows
    lens = wanted.bed.glass_width_mm / 2
    beside = replace(window, opening=Rect(lens + 2.0, 50.0, 40.0, 100.0))
    foot = replace(made.feet[0], x=lens + 2.0 - made.feet[0].diameter_mm / 2 - 0.3, y=100.0)
    moved = with_passes(made, stands=((0.0, 0.0), (60.0, 0.0)))
    stops = [
        [
            f.where
            for f in Feet().check(wanted, replace(one, windows=(beside,), feet=(foot,)))
            if f.level == "stop"
        ]
        for one in (replace(made, fitted=()), moved)
    ]
    assert not any("under the opening" in where for where in stops[0])
    assert any("under the opening" in where for where in stops[1])


def test_the_rim_is_looked_at_in_every_place() -> None:
    wanted, made = holder()
    gap, _ = GlassFit().check(wanted, made)
    assert (gap.level, gap.measured) == ("pass", pytest.approx(0.5))
    far, _ = GlassFit().check(wanted, with_passes(made, stands=((0.0, 0.0), (0.0, 70.0))))
    assert far.level == "stop"
    assert far.measured == pytest.approx(-1.5)


def test_blocks_have_room_and_stop_the_holder() -> None:
    wanted, made = holder()
    assert found(wanted, made, CLEAR).measured == pytest.approx(1.0)  # both slide-in gaps
    (row,) = next(one.rows for one in made.fitted if isinstance(one, Passes))
    thick = with_passes(made, rows=(replace(row, steps=Steps(2, 71.0)),))
    assert found(wanted, thick, CLEAR).level == "stop"
    on_it = with_passes(made, rows=(replace(row, far=280.0),))  # as if the glass ended 17 mm earlier
    assert (found(wanted, on_it, CLEAR).level, found(wanted, on_it, CLEAR).where) == ("stop", "pass 1")
    assert found(wanted, made, STOPPED).measured >= 100.0  # type: ignore[operator]
    short = with_passes(made, rows=(replace(row, long=8.0),))
    assert (found(wanted, short, STOPPED).level, found(wanted, short, STOPPED).measured) == ("warn", 16.0)
    beside = with_passes(made, rows=(replace(row, starts=(90.0,), long=20.0),))  # at the bite for the zone
    assert found(wanted, beside, STOPPED).level == "stop"


def test_bare_lit_glass_is_seen() -> None:
    wanted, made = holder()
    assert found(wanted, made, BARE).measured == 0.0
    wide = replace(made, lamp=Rect(0.0, made.lamp.y, 216.0, made.lamp.height))
    # half a millimetre of glass on either side, in both passes
    assert found(wanted, wide, BARE).measured == pytest.approx(made.lamp.height, rel=1e-3)
    assert found(wanted, wide, BARE).level == "warn"
    # the bite for the zone comes to lie over the lamp area in the second place only
    low = replace(made, lamp=Rect(43.0, 70.0, 130.0, 138.0))
    one = found(wanted, low, BARE)
    assert (one.level, one.where) == ("warn", "pass 2")


def test_film_at_two_heights_does_not_match_across_the_bed() -> None:
    wanted, made = holder(bed=UPRIGHT)
    step = made.find(Passes).moves.across.step  # type: ignore[union-attr]
    assert step == pytest.approx(18.0)
    flat = replace(made, sag=Sag(0.2, 0.1, 2.8, 1.0, reach_mm=(-0.2, 0.1)))
    one = found(wanted, flat, MATCH)
    assert (one.level, one.measured) == ("pass", pytest.approx(0.3 * 18.0 / 300.0))
    bent = replace(made, sag=Sag(0.9, 0.1, 2.8, 1.0, reach_mm=(-0.9, 0.1)))
    assert found(wanted, bent, MATCH).level == "warn"
    assert found(wanted, bent, MATCH).measured == pytest.approx(0.06)
    assert MATCH_MM < 0.06
    along = with_passes(bent, moves=Moves(Steps(), Steps(2, 68.0)))
    assert found(wanted, along, MATCH).level == "skip"


def test_a_program_reads_shifts_and_crop_boxes() -> None:
    """Lamp area from 103 to 208 mm, window 172 mm: the boxes of the worked example of the sheet."""
    _, made = holder()
    passes = made.find(Passes).record(made)["passes"]  # type: ignore[union-attr]
    assert passes == [
        {"shift": [0.0, 0.0], "crop": {"x": 47.0, "y": 103.0, "width": 122.0, "height": 104.5}},
        {"shift": [0.0, 68.0], "crop": {"x": 47.0, "y": 103.5, "width": 122.0, "height": 104.5}},
    ]
