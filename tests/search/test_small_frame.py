"""A frame no larger than its film needs: a next step and a way, on the very holder, and only where it harms nothing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from holders.core.lines import Candidate, Choice
from holders.design.plan.anchor import holding
from holders.face.cli.commands.deciding import tell_steps
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.template import template
from holders.search.candidates import FRAME, candidates
from holders.search.effort import effort_of
from holders.search.propose import proposed
from holders.search.smaller import as_good, small_frame
from holders.search.tried import MOST_STEPS, Tried, next_steps, tried, with_steps
from holders.search.ways import search
from holders.study import Study, study
from holders.verdict.model import Step

PRESETS = Path(__file__).parents[2] / "presets"
STAY = ((Choice("", {}),),)


def written(text: str) -> Study:
    return study(parse(text, "weir"), text, extremes=False)


def of_values(route: str, film: str, material: str, **tables: dict[str, Any]) -> Study:
    values: dict[str, Any] = {
        "title": "weir",
        "route": route,
        "bed": {"name": "a4-wide"},
        "film": {"format": film, "emulsion": "down"},
        "material": {"name": material},
        "layout": {"count": 1},
    }
    return written(template(values | tables))


def shipped(name: str) -> Study:
    return written((PRESETS / f"{name}.toml").read_text(encoding="utf-8"))


def frames(found: Study) -> Iterator[Candidate]:
    return (one for one in candidates(found) if one.family == FRAME)


@pytest.fixture(scope="module")
def printed() -> Study:
    """A 4x5 sheet in a frame as large as the glass, in two pieces from a printer of 220 mm."""
    return of_values("print", "4x5", "petg", printer={"name": "p220"})


def test_a_bed_sized_frame_gets_its_least_size_as_a_step_that_keeps_its_promise(printed: Study) -> None:
    (step,) = with_steps(printed, changes=frames).verdict.next
    assert step.text == (
        "Make the frame no larger than its film needs, 125 x 150 mm: one piece instead of 2; it then lies over the "
        "middle of the glass, with stops, and lit glass beside it stays bare without a mask (layout.mask_card_mm)"
    )
    again = study(parse(step.preset, "step"), step.preset)
    assert again.verdict.chance == pytest.approx(step.chance, abs=1e-9)
    assert step.chance >= printed.verdict.chance
    assert (again.design.outer.width, again.design.outer.height) == (125.0, 150.0)
    assert None not in holding(again.design)
    took, takes = (effort_of(one.job, one.design, one.nested).minutes for one in (printed, again))
    assert step.minutes == pytest.approx(takes - took, abs=1e-6)
    assert takes < 0.5 * took
    assert {f.code for f in again.findings if f.level in ("warn", "stop")} <= {
        f.code for f in printed.findings if f.level in ("warn", "stop")
    }


def test_its_size_is_that_which_a_new_preset_is_proposed_with(printed: Study) -> None:
    values, _ = proposed(
        parse(printed.preset_text, "weir").model_dump(exclude_unset=True, exclude_none=True), template
    )
    held = written(template({**values, "layout": {"count": 1}}))
    small = small_frame(held)
    assert small is not None
    assert {**small.layout, "count": 1} == values["layout"]


def test_a_frame_that_saves_has_its_place_behind_whatever_gains(printed: Study) -> None:
    """Seven changes that gain more do not push it out; where it lost in a hundred thousand, it is not named."""

    def likelier(gain: float) -> Study:
        return replace(printed, verdict=replace(printed.verdict, chance=printed.verdict.chance + gain))

    others = [
        Tried(Candidate(f"Change {k}", {f"lip.{k}": 1.0}), "", likelier(0.1 + k / 100)) for k in range(7)
    ]
    (small,) = frames(printed)
    for gain, named in ((0.0, True), (0.009, True), (-1e-5, False)):
        steps = next_steps(printed, [*others, Tried(small, "", likelier(gain))])
        assert len(steps) == MOST_STEPS
        assert [step.keys is small.keys for step in steps] == [False] * (MOST_STEPS - 1) + [named]
    first = next_steps(printed, [*others, Tried(small, "", likelier(0.5))])
    assert [step.keys is small.keys for step in first] == [True] + [False] * (MOST_STEPS - 1)


def test_a_frame_that_brings_a_warning_or_a_stop_is_not_named(printed: Study) -> None:
    (small,) = frames(printed)
    calm = next(one for one in printed.findings if one.level == "pass")
    for level in ("warn", "stop"):
        worse = replace(
            printed, findings=(*printed.findings, calm.model_copy(update={"level": level, "code": "weir"}))
        )
        assert next_steps(printed, [Tried(small, "", worse)]) == ()


def test_a_small_frame_whose_feet_reach_over_its_edge_is_tried_and_not_named() -> None:
    plate = shipped("whole-plate-glass")
    (small,) = frames(plate)
    assert tried(plate, small) is None
    assert with_steps(plate, changes=frames).verdict.next == ()
    assert len(search(plate, groups=STAY, frames=True).ways) == 1


def test_a_holder_that_is_nearly_certain_still_gets_a_smaller_frame() -> None:
    """The chance is above 0.99 only once the small frame is made; the plain changes are not tried then."""
    sure = shipped("5x7-printed")
    sure = replace(sure, verdict=replace(sure.verdict, chance=0.995))
    seen = [one.family for one in frames(sure)]
    assert seen == [FRAME]
    asked: list[str] = []

    def every(found: Study) -> Iterator[Candidate]:
        asked.append("asked")
        yield Candidate("Cannot be written", {"title.key": 1})

    assert with_steps(sure, changes=every).verdict.next == ()
    assert asked == ["asked"]


def test_what_is_settled_or_made_already_keeps_its_size(printed: Study) -> None:
    assert small_frame(printed) is not None
    for key, value in (
        ("outer_width_mm", 180.0),
        ("light", True),
        ("shift_room_mm", 20.0),
        ("count", "fill"),
    ):
        assert small_frame(written(with_values(printed.preset_text, {f"layout.{key}": value}))) is None, key
    made = printed.job.preset.coupon.model_copy(update={"ledge_mm": (3.0, 3.0, 3.0, 3.0)})
    there = replace(
        printed, job=replace(printed.job, preset=printed.job.preset.model_copy(update={"coupon": made}))
    )
    assert small_frame(there) is None


def test_ways_try_the_least_frame_too(printed: Study) -> None:
    plain, least = search(printed, groups=STAY), search(printed, groups=STAY, frames=True)
    assert (plain.tried, least.tried) == (1, 2)
    (large,), (small,) = plain.ways, least.ways  # as likely and quicker, it beats the large one
    assert small.text == "As it is; a frame of 125 x 150 mm, over the middle of the glass, with stops"
    assert small.minutes < 0.5 * large.minutes
    again = study(parse(small.preset, "way"), small.preset)
    assert again.ok
    assert again.verdict.chance == pytest.approx(small.chance, abs=1e-9)
    assert small.chance >= large.chance - 0.005


def test_a_cut_frame_is_offered_where_it_saves_two_fifths_of_the_sheet() -> None:
    """Plywood for a 4x5: the words' areas are those of the nested sheets, whole sheets less the offcuts that stay.

    Without a lid 125 x 150 mm saves less, as the stops take sheet too.
    """
    assert small_frame(of_values("laser", "4x5", "plywood-birch")) is None
    found = of_values("laser", "4x5", "plywood-birch", lid={"thickness_mm": 2.0, "extra_weight_n": 2.5})
    (step,) = with_steps(found, changes=frames).verdict.next
    again = study(parse(step.preset, "step"), step.preset)
    used = [sum(one.nesting.used_mm2 for one in each.nested) / 1e6 for each in (again, found)]
    assert used[0] <= 0.6 * used[1]
    assert f"{used[0]:.2f} m² of sheet instead of {used[1]:.2f} m²" in step.text
    assert again.verdict.chance == pytest.approx(step.chance, abs=1e-9)
    assert None not in holding(again.design)


def test_a_cut_frame_whose_stops_want_a_further_sheet_is_not_offered() -> None:
    """On feet it is one sheet of one thickness; stops beside it take another thickness."""
    found = of_values("laser", "4x5", "plywood-birch", feet={"count": 4})
    assert sum(len(one.nesting.sheets) for one in found.nested) == 1
    assert small_frame(found) is None


def test_a_step_that_only_saves_says_so(printed: Study, capsys: pytest.CaptureFixture[str]) -> None:
    now = printed.verdict.chance
    for gain, minutes, words in (
        (0.0, -657.0, "still 29 of 100 (-10.9 h)"),
        (0.02, -657.0, "29 -> 31 of 100 (-10.9 h)"),
        (0.0, 89.0, "still 29 of 100 (+89 min)"),
    ):
        step = Step("Weir", now + gain, gain, {}, "", minutes=minutes)
        tell_steps(replace(printed, verdict=replace(printed.verdict, next=(step,))))
        assert f"Weir: {words}" in capsys.readouterr().out


def test_as_good_allows_a_hundredth_at_most(printed: Study) -> None:
    for less, good in ((0.009, True), (0.011, False)):
        other = replace(printed, verdict=replace(printed.verdict, chance=printed.verdict.chance - less))
        assert as_good(other, printed) is good
