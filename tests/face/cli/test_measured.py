"""`holders measured`: from four readings to shims, the next holder's two lines, and the register."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.design.resolve import design
from holders.face.cli.commands.deciding import do_step
from holders.face.cli.main import app
from holders.face.page.form.values import values_of
from holders.face.page.work.steps import Trial
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.search.rescued import with_rescue
from holders.study import job_of, study, study_file

PLATE = "whole-plate-glass"


def test_a_low_holder_gets_shims_and_the_next_one_is_drawn_higher(tmp_path: Path) -> None:
    register = tmp_path / "register.toml"
    run = CliRunner().invoke(
        app, ["measured", PLATE, "2.62", "2.62", "2.61", "2.63", "--register", str(register), "--json"]
    )
    assert run.exit_code == 0, run.output
    told = json.loads(run.stdout)
    assert told["off"] == pytest.approx(-0.48, abs=1e-3)
    low, high = told["will_do"]["mean"]
    assert 2.62 < low < told["expected"] < high
    assert "under every foot" in told["rescue"][0]["do"]
    assert told["rescue"][0]["chance"] > told["chance"]
    assert told["new_one"]["chance"] > told["chance"]
    text = preset_path(Path(PLATE)).read_text()
    before = design(job_of(parse(text, PLATE))[0])
    changed = with_values(text, told["new_one"]["keys"])
    job, notes = job_of(parse(changed, PLATE))
    after = design(job)
    # it came out 0.48 mm low, so the next is drawn 0.48 mm higher, to a layer of 0.2 mm
    assert after.heights.drawn_ledge - before.heights.drawn_ledge == pytest.approx(0.48, abs=0.11)
    assert any("last holder" in note for note in notes)
    shown = CliRunner().invoke(app, ["measured", "--register", str(register)])
    assert shown.exit_code == 0
    assert told["code"] in shown.stdout


@pytest.mark.parametrize("given", [["2.6", "2.6"], ["2.6", "2.6", "2.6", "26"], []])
def test_readings_that_are_none_are_refused(given: list[str], tmp_path: Path) -> None:
    register = tmp_path / "register.toml"
    run = CliRunner().invoke(app, ["measured", PLATE, *given, "--register", str(register)])
    assert run.exit_code == 2
    assert not register.exists()


def test_check_says_what_puts_the_holder_right_before_a_new_one(tmp_path: Path) -> None:
    register, runner = tmp_path / "register.toml", CliRunner()
    readings = ["2.62", "2.62", "2.61", "2.63"]
    told = json.loads(
        runner.invoke(app, ["measured", PLATE, *readings, "--register", str(register), "--json"]).stdout
    )
    asked = ["check", PLATE, "--no-steps", "--register", str(register)]
    found = json.loads(runner.invoke(app, [*asked, "--json"]).stdout)
    # the same holder judged by the same readings: one number for the chance, before and after each shim
    assert found["made"]["chance"] == told["chance"]
    assert found["made"]["rescue"] == told["rescue"]
    assert found["reminders"] == []
    text = register.read_text()
    day = found["made"]["date"]
    register.write_text(text.replace(day, f"{int(day[:4]) - 2}{day[4:]}"))  # two years earlier
    if day[5:] != "02-29":
        shown = " ".join(runner.invoke(app, asked).stdout.split())
        assert "24 months ago" in shown
        assert (
            shown.index("put it right, as below")
            < shown.index("1. The holder you have: ")
            < shown.index("outer size")
        )


def test_check_knows_nothing_of_another_holder(tmp_path: Path) -> None:
    register = tmp_path / "register.toml"
    register.write_text("")
    run = CliRunner().invoke(app, ["check", PLATE, "--no-steps", "--register", str(register), "--json"])
    assert json.loads(run.stdout)["made"] is None


LOW = {"coupon.ledge_mm": [2.62, 2.62, 2.61, 2.63], "coupon.ledge_drawn_mm": 3.1}


def test_the_holder_that_is_there_comes_first_among_the_next_steps(tmp_path: Path) -> None:
    preset, runner = tmp_path / "low.toml", CliRunner()
    preset.write_text(with_values(preset_path(Path(PLATE)).read_text(), LOW))
    measured = json.loads(
        runner.invoke(app, ["measured", PLATE, "2.62", "2.62", "2.61", "2.63", "--json"]).stdout
    )
    told = json.loads(runner.invoke(app, ["check", str(preset), "--no-steps", "--json"]).stdout)
    first = told["verdict"]["next"][0]
    # the readings are of the part, so the one correction that the preset makes of them must not change its chance
    assert first["by_hand"]
    assert first["keys"] == {}
    assert (first["now"], first["chance"]) == (measured["chance"], measured["rescue"][0]["chance"])
    assert first["text"] == f"The holder you have: {measured['rescue'][0]['do']}"
    page = Trial(json.dumps(values_of(preset.read_text(), "low")))._next()  # before any change is tried
    assert [(one["text"], one["by_hand"]) for one in page][:1] == [(first["text"], True)]
    with pytest.raises(InputError, match="by hand"):
        do_step(preset, 1, with_rescue(study_file(preset)))


def test_readings_of_another_ledge_altogether_rescue_nothing() -> None:
    text = with_values(preset_path(Path(PLATE)).read_text(), {**LOW, "bed.focus_height_mm": 6.0})
    assert with_rescue(study(parse(text, PLATE), text)).verdict.next == ()


def test_the_day_it_was_made_is_said_once_and_shown(tmp_path: Path) -> None:
    register, runner = tmp_path / "register.toml", CliRunner()
    asked = ["measured", PLATE, "2.62", "2.62", "2.61", "2.63", "--register", str(register)]
    for more in (["--made", "2024-02-29"], []):  # read a second time: the day stays known
        run = runner.invoke(app, [*asked, *more])
        assert run.exit_code == 0, run.output
    assert register.read_text().count("made = 2024-02-29") == 2
    shown = json.loads(runner.invoke(app, ["measured", "--register", str(register), "--json"]).stdout)
    assert [one["made"] for one in shown["holders"]] == ["2024-02-29"] * 2
    assert "2024-02-29" in runner.invoke(app, ["measured", "--register", str(register)]).stdout
    check = ["check", PLATE, "--no-steps", "--register", str(register)]
    assert json.loads(runner.invoke(app, [*check, "--json"]).stdout)["made"]["made"] == "2024-02-29"
    assert "made 2024-02-29, measured" in " ".join(runner.invoke(app, check).stdout.split())


@pytest.mark.parametrize("day", ["yesterday", "2999-01-01", "2026-02-30"])
def test_a_day_that_is_none_is_refused_before_anything_is_kept(day: str, tmp_path: Path) -> None:
    register = tmp_path / "register.toml"
    asked = ["measured", PLATE, "2.6", "2.6", "2.6", "2.6", "--made", day]
    for kept in (["--register", str(register)], []):
        run = CliRunner().invoke(app, [*asked, *kept])
        assert run.exit_code == 2
        assert "--made" in run.output
        assert day in run.output
    assert not register.exists()
