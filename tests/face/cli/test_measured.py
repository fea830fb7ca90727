"""`holders measured`: from four readings to shims, the next holder's two lines, and the register."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.design.resolve import design
from holders.face.cli.main import app
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of

PLATE = "whole-plate-glass"


def test_a_low_holder_gets_shims_and_the_next_one_is_drawn_higher(tmp_path: Path) -> None:
    register = tmp_path / "register.toml"
    run = CliRunner().invoke(
        app, ["measured", PLATE, "2.62", "2.62", "2.61", "2.63", "--register", str(register), "--json"]
    )
    assert run.exit_code == 0, run.output
    told = json.loads(run.stdout)
    assert told["off"] == pytest.approx(-0.48, abs=1e-3)
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
