"""A step is named only where it gains, and it delivers what it promises when it is done."""

from __future__ import annotations

import itertools
import json
from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.core.lines import Choice
from holders.face.cli.commands.deciding import do_step
from holders.face.program import app
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.search.candidates import Candidate, candidates
from holders.search.effort import effort_of
from holders.search.tried import HELD_BADLY, LEAST_GAIN, Tried, _brought, next_steps, tried, with_steps
from holders.search.ways import Ways, choices, search, together
from holders.study import Study, study
from holders.verdict.model import Step
from tests.simulators.users import random_preset

PRESETS = Path(__file__).parents[2] / "presets"


def studied(name: str) -> Study:
    text = (PRESETS / f"{name}.toml").read_text(encoding="utf-8")
    return study(parse(text, name), text)


@pytest.fixture(scope="module")
def board() -> Study:
    return studied("8x10-mat-board")


def few(found: Study) -> list[Candidate]:
    """The first and the last two of the changes, so that a test takes seconds."""
    every = list(candidates(found))
    return [every[0], *every[-2:]]


def warmth(found: Study) -> list[Candidate]:
    """Changes of the hour and of the air alone."""
    return [change for change in candidates(found) if change.family == "warmth"]


@pytest.fixture(scope="module")
def stepped(board: Study) -> Study:
    return with_steps(board, changes=few)


def keeps_its_promises(found: Study) -> None:
    """Each step of a study, done, gives the chance it promises, gains, and brings no stop."""
    assert found.verdict.next, "a holder with a doubt has something that helps"
    for step in found.verdict.next:
        again = study(parse(step.preset, "step"), step.preset)
        assert again.verdict.chance == pytest.approx(step.chance, abs=0.02)
        assert step.chance - found.verdict.chance >= LEAST_GAIN
        assert {f.code for f in again.stops} <= {f.code for f in found.stops}
        for key, value in step.keys.items():
            if value is not None and "." in key:
                table, _, name_of = key.partition(".")
                assert getattr(getattr(again.job.preset, table), name_of) == pytest.approx(value)


def test_each_step_delivers_its_promise(stepped: Study) -> None:
    keeps_its_promises(stepped)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["8x10-printed", "8x10-small-printer", "8x10-mat-board", "5x7-printed"])
def test_each_step_of_every_change_delivers(name: str) -> None:
    keeps_its_promises(with_steps(studied(name)))


@pytest.mark.parametrize("number", [4, pytest.param(6, marks=pytest.mark.slow), 18])
def test_a_random_holders_steps_deliver(number: int) -> None:
    """Some of the presets that scripts/judge_steps.py tries by the hundred."""
    text = random_preset(number, ("4x5",))
    keeps_its_promises(with_steps(study(parse(text, "user"), text), changes=few))


def test_a_stop_says_what_would_do_instead(monkeypatch: pytest.MonkeyPatch) -> None:
    """No single change is tried, so the best way that can be made is named; of a small space, to be quick."""
    text = random_preset(0, ("4x5",))
    found = study(parse(text, "user"), text, extremes=False)
    assert HELD_BADLY & {finding.code for finding in found.stops}
    cover = Choice("a glass cover of 2 mm", {"cover.thickness_mm": 2.0})
    space = ((Choice("", {}), cover),)
    monkeypatch.setattr("holders.search.tried.search", partial(search, groups=space))
    (step,) = with_steps(found, changes=lambda _: ()).verdict.next
    assert step.text.startswith("Instead: ")
    again = study(parse(step.preset, "instead"), step.preset)
    assert again.ok
    assert again.verdict.chance == pytest.approx(step.chance, abs=0.02)


def test_steps_stand_in_the_order_of_what_they_gain(stepped: Study) -> None:
    steps = stepped.verdict.next
    assert list(steps) == sorted(steps, key=lambda step: -step.chance)


def test_of_two_alike_the_cheaper_is_named(board: Study) -> None:
    """Two changes of one key to about the same chance, one of which takes longer; of another key it stays."""
    first, second = Candidate("Quick", {"lip.all_mm": 3.0}), Candidate("Slow", {"lip.all_mm": 4.0})
    better = replace(board, verdict=replace(board.verdict, chance=board.verdict.chance + 0.05))
    slower = replace(better, nested=(*better.nested, *better.nested))
    best = replace(slower, verdict=replace(slower.verdict, chance=better.verdict.chance + 0.005))
    taken = [effort_of(one.job, one.design, one.nested).minutes for one in (better, slower)]
    assert taken[1] > taken[0] + 1
    quick, slow = Tried(first, "", better), Tried(second, "", best)
    assert [step.text for step in next_steps(board, [quick, slow])] == ["Quick"]
    much = replace(slower, verdict=replace(slower.verdict, chance=better.verdict.chance + 0.02))
    assert [step.text for step in next_steps(board, [quick, Tried(second, "", much)])] == ["Slow", "Quick"]
    other = Tried(Candidate("Slow", {"lid.lip_mm": 4.0}), "", best)
    assert [step.text for step in next_steps(board, [quick, other])] == ["Slow", "Quick"]


def test_a_step_says_how_much_more_of_the_picture_it_hides(board: Study) -> None:
    """A window that shows half of its picture hides the other half, mm², less what was hidden before."""
    half = [replace(window, seen=0.5) for window in board.design.windows]
    narrow = replace(board.design, windows=tuple(half))
    better = replace(board, design=narrow, verdict=replace(board.verdict, chance=board.verdict.chance + 0.05))
    (step,) = next_steps(board, [Tried(Candidate("Wider lips", {"lip.all_mm": 9.0}), "", better)])
    more = sum((w.seen - 0.5) * w.picture.width * w.picture.height for w in board.design.windows)
    assert step.hidden_mm2 == pytest.approx(more)
    assert step.hidden_mm2 > 1000


def test_of_two_amounts_that_gain_and_take_alike_the_lesser_is_named(board: Study) -> None:
    better = replace(board, verdict=replace(board.verdict, chance=board.verdict.chance + 0.05))
    best = replace(board, verdict=replace(board.verdict, chance=better.verdict.chance + 0.005))
    two, four = (Candidate(f"{n} magnets", {"lid.magnets": n, "lid.play_mm": 0.0}) for n in (2, 4))
    pair = [Tried(two, "", better), Tried(four, "", best)]
    assert [step.text for step in next_steps(board, pair)] == ["2 magnets"]
    much = replace(board, verdict=replace(board.verdict, chance=better.verdict.chance + 0.02))
    assert len(next_steps(board, [pair[0], Tried(four, "", much)])) == 2
    looser = Candidate("4 magnets, loose", {"lid.magnets": 4, "lid.play_mm": 0.1})
    other = Tried(Candidate("2", {"lid.magnets": 2, "lid.play_mm": 0.2}), "", better)
    assert len(next_steps(board, [other, Tried(looser, "", best)])) == 2  # neither asks for less in all


def test_a_change_that_gains_nothing_is_not_named(board: Study) -> None:
    """A bed that is known less well: tried, found worse, not named."""
    worse = Candidate("Guess the focus height", {"bed.focus_sigma_mm": 0.3})
    result = tried(board, worse)
    assert result is not None
    assert result.found.verdict.chance < board.verdict.chance
    assert with_steps(board, changes=lambda _: [worse]).verdict.next == ()


def test_a_gain_that_no_number_shows_is_said_in_words(board: Study) -> None:
    """A change that takes away a stop is named for that; with as many stops, one under a hundredth is not named."""
    codes = ("sag", "wall")
    stops = tuple(
        board.findings[0].model_copy(update={"code": code, "level": "stop", "title": f"The {code} is bad"})
        for code in codes
    )
    bad = replace(board, findings=(*board.findings, *stops))
    for left, words in ((stops[:1], 'Mend it (takes away the stop "The wall is bad")'),
                        ((), 'Mend it (takes away the stop "The sag is bad" and 1 more)')):  # fmt: skip
        better = replace(board, findings=(*board.findings, *left))
        (step,) = next_steps(bad, [Tried(Candidate("Mend it", {"lip.all_mm": 3.0}), "", better)])
        assert step.text == words
        assert step.gain == 0
    twice = replace(board, findings=(*board.findings, stops[0], stops[0]))
    (step,) = next_steps(
        twice, [Tried(Candidate("Mend it", {"lip.all_mm": 3.0}), "", replace(bad, findings=(stops[0],)))]
    )
    assert step.text == "Mend it (leaves 1 of 2 stops)"
    hardly = replace(bad, verdict=replace(bad.verdict, chance=bad.verdict.chance + 0.9 * LEAST_GAIN))
    assert next_steps(bad, [Tried(Candidate("Mend it", {"lip.all_mm": 3.0}), "", hardly)]) == ()


def test_a_change_that_cannot_be_made_is_not_named(board: Study) -> None:
    tall = {"feet.count": 4, "feet.thickness_mm": 9.0}  # higher than the focus height leaves room for
    assert tried(board, Candidate("Feet of 9 mm", tall)) is None


def test_an_edit_keeps_comments_and_order() -> None:
    text = (PRESETS / "8x10-printed.toml").read_text(encoding="utf-8")
    new = with_values(text, {"lid.play_mm": 0.1, "feet": None, "ledge": "focus", "cover.thickness_mm": 2.0})
    assert "it rests on the film itself" in new
    assert new.index("ledge =") < new.index("[bed]")
    assert "[feet]" not in new
    kept = [line for line in text.splitlines() if line.startswith("#")]
    assert [line for line in new.splitlines() if line.startswith("#")] == kept
    with pytest.raises(InputError, match="not a table"):
        with_values(text, {"title.key": 1})


def swept(found: Study, ways: Ways) -> None:
    """Against a sweep of every combination by the whole study: none that can be made is likelier to be sharp."""
    chances = []
    for combination in itertools.product(*choices(found)):
        text = with_values(found.preset_text, together(combination))
        try:
            one = study(parse(text, "sweep"), text)
        except InputError:
            continue
        if one.ok:
            chances.append(one.verdict.chance)
    assert ways.ways[0].chance >= max(chances) - 0.005
    assert ways.tried == len(list(itertools.product(*choices(found))))


def test_ways_are_what_the_study_says() -> None:
    """A plate of glass has few ways, so the whole space is swept."""
    found = studied("whole-plate-glass")
    result = search(found)
    swept(found, result)
    for way in result.ways:
        again = study(parse(way.preset, "way"), way.preset)
        assert again.ok
        assert again.verdict.chance == pytest.approx(way.chance, abs=1e-9)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["8x10-acrylic-lid", "8x10-mat-board", "6x9-roll"])
def test_ways_miss_nothing_in_their_space(name: str) -> None:
    found = studied(name)
    swept(found, search(found))


def test_a_step_is_done_and_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("holders.search.tried.with_steps", partial(with_steps, changes=warmth))
    text = (PRESETS / "5x7-printed.toml").read_text(encoding="utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(text, encoding="utf-8")
    before = json.loads(CliRunner().invoke(app, ["check", str(mine), "--json"]).stdout)["verdict"]
    step = before["next"][0]
    done = CliRunner().invoke(app, ["check", str(mine), "--do", "1", "--json"])
    assert done.exit_code == 0
    verdict = json.loads(done.stdout)["verdict"]
    assert verdict["chance"] == pytest.approx(step["chance"], abs=1e-3)
    assert mine.read_text(encoding="utf-8") == step["preset"]
    assert CliRunner().invoke(app, ["check", str(mine), "--undo", "--json"]).exit_code == 0
    assert mine.read_text(encoding="utf-8") == text
    refused = CliRunner().invoke(app, ["check", str(mine), "--undo"])
    assert refused.exit_code == 2
    refused = CliRunner().invoke(app, ["check", str(mine), "--do", "99"])
    assert refused.exit_code == 2
    assert mine.read_text(encoding="utf-8") == text


def test_a_step_says_which_warning_it_brings(board: Study) -> None:
    calm = replace(board, findings=tuple(one for one in board.findings if one.level != "warn"))
    narrow = board.findings[0].model_copy(
        update={"code": "weir", "level": "warn", "title": "A bridge is narrow"}
    )
    other = narrow.model_copy(update={"title": "Another is too"})
    assert _brought(calm, replace(calm, findings=(*calm.findings, narrow))) == (
        ' (brings the warning "A bridge is narrow")'
    )
    assert _brought(calm, replace(calm, findings=(narrow, other))).endswith('narrow" and 1 more)')
    assert _brought(replace(calm, findings=(narrow,)), replace(calm, findings=(other,))) == ""
    assert _brought(calm, calm) == ""


def test_a_step_that_measures_writes_nothing(board: Study, tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text(board.preset_text, encoding="utf-8")
    step = Step("Measure it", 0.9, 0.1, {"bed.focus_sigma_mm": 0.03}, "another preset", measure=True)
    found = replace(board, verdict=replace(board.verdict, next=(step,)))
    with pytest.raises(
        InputError, match=r"nothing was written: then put what you find into bed\.focus_sigma_mm"
    ):
        do_step(mine, 1, found)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.toml"]
    assert mine.read_text(encoding="utf-8") == board.preset_text
    found = replace(board, verdict=replace(board.verdict, next=(replace(step, measure=False),)))
    do_step(mine, 1, found)
    assert mine.read_text(encoding="utf-8") == "another preset"


def test_a_bed_full_of_windows_tries_few_changes_and_says_so(
    board: Study, monkeypatch: pytest.MonkeyPatch
) -> None:
    seen: list[int] = []

    def none_gains(changes: Sequence[Candidate], *_: object) -> list[None]:
        seen.append(len(changes))
        return [None] * len(changes)

    monkeypatch.setattr("holders.search.tried.try_all", none_gains)
    full = replace(board, design=replace(board.design, windows=board.design.windows * 60))
    change = Candidate("weir", {})
    told = with_steps(full, changes=lambda _: [change] * 9)
    assert seen == [2]
    assert any("of 9 changes the first 2 were tried" in note for note in told.design.notes)
    assert with_steps(board, changes=lambda _: [change] * 2).design.notes == board.design.notes
