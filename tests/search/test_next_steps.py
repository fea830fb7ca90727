"""A step is named only where it gains, and it delivers what it promises when it is done."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.face.program import app
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.search.candidates import Candidate
from holders.search.tried import LEAST_GAIN, tried, with_steps
from holders.search.ways import choices, search
from holders.study import Study, study

PRESETS = Path(__file__).parents[2] / "presets"
SOME = ("8x10-small-printer", "8x10-mat-board")


def studied(name: str) -> Study:
    text = (PRESETS / f"{name}.toml").read_text(encoding="utf-8")
    return study(parse(text, name), text)


@pytest.mark.parametrize("name", SOME)
def test_each_step_delivers_its_promise(name: str) -> None:
    found = with_steps(studied(name))
    assert found.verdict.next, "a holder with a doubt has something that helps"
    for step in found.verdict.next:
        again = study(parse(step.preset, name), step.preset)
        assert again.verdict.chance == pytest.approx(step.chance, abs=0.02)
        assert step.chance - found.verdict.chance >= LEAST_GAIN
        assert {f.code for f in again.stops} <= {f.code for f in found.stops}
        for key, value in step.keys.items():
            if value is not None and "." in key:
                table, _, name_of = key.partition(".")
                assert getattr(getattr(again.job.preset, table), name_of) == pytest.approx(value)


def test_steps_stand_in_the_order_of_what_they_gain() -> None:
    steps = with_steps(studied("8x10-small-printer")).verdict.next
    assert list(steps) == sorted(steps, key=lambda step: -step.chance)


def test_a_change_that_gains_nothing_is_not_named() -> None:
    """A bed that is known less well: tried, found worse, not named."""
    found = studied("8x10-small-printer")
    worse = Candidate("Guess the focus height", {"bed.focus_sigma_mm": 0.3})
    result = tried(found, worse)
    assert result is not None
    assert result.found.verdict.chance < found.verdict.chance
    assert with_steps(found, changes=lambda _: [worse]).verdict.next == ()


def test_a_change_that_cannot_be_made_is_not_named() -> None:
    found = studied("8x10-small-printer")
    assert tried(found, Candidate("Feet of 9 mm", {"feet.thickness_mm": 9.0})) is None


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


def test_ways_miss_nothing_in_their_space() -> None:
    """Against a sweep of every combination by the whole study: none that can be made is likelier to be sharp."""
    found = studied("8x10-acrylic-lid")
    result = search(found)
    import itertools

    from holders.search.ways import _together

    chances = []
    for combination in itertools.product(*choices(found)):
        text = with_values(found.preset_text, _together(combination))
        try:
            one = study(parse(text, "sweep"), text)
        except InputError:
            continue
        if one.ok:
            chances.append(one.verdict.chance)
    assert len(chances) > 10
    assert result.ways[0].chance >= max(chances) - 0.005
    assert result.tried == len(list(itertools.product(*choices(found))))
    for way in result.ways:
        again = study(parse(way.preset, "way"), way.preset)
        assert again.ok
        assert again.verdict.chance == pytest.approx(way.chance, abs=1e-9)


def test_a_step_is_done_and_undone(tmp_path: Path) -> None:
    text = (PRESETS / "8x10-mat-board.toml").read_text(encoding="utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(text, encoding="utf-8")
    before = json.loads(CliRunner().invoke(app, ["check", str(mine), "--json"]).stdout)["verdict"]
    done = CliRunner().invoke(app, ["check", str(mine), "--do", "1", "--json"])
    assert done.exit_code == 0
    verdict = json.loads(done.stdout)["verdict"]
    assert verdict["chance"] == pytest.approx(before["next"][0]["chance"], abs=1e-3)
    assert mine.read_text(encoding="utf-8") == before["next"][0]["preset"]
    assert CliRunner().invoke(app, ["check", str(mine), "--undo", "--json"]).exit_code == 0
    assert mine.read_text(encoding="utf-8") == text
    refused = CliRunner().invoke(app, ["check", str(mine), "--undo"])
    assert refused.exit_code == 2
    refused = CliRunner().invoke(app, ["check", str(mine), "--do", "99"])
    assert refused.exit_code == 2
    assert mine.read_text(encoding="utf-8") == text
