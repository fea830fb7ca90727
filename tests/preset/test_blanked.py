"""Somebody else's preset, without what is true on their table alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.face.cli.main import app
from holders.preset.blanked import THEIRS, blanked
from holders.preset.load import load
from holders.preset.schema import Preset

SHARED = """
holders_preset = 1
title = "Low Weir 8x10"
route = "laser"
[bed]
name = "a4-wide"
focus_height_mm = 3.4
focus_sigma_mm = 0.02
[film]
format = "8x10"
emulsion = "down"
cut_width_mm = 202.6
[base]
curl_per_m = 3.1
[material]
name = "acrylic-cast"
sheets_mm = [2.9, 3.05]
kerf_mm = 0.19
[lip]
all_mm = 2.5
[room]
ambient_c = 14.0
"""


def test_every_key_that_is_called_theirs_stands_in_the_schema() -> None:
    for name, keys in THEIRS.items():
        for key in filter(None, keys):
            kept, taken = blanked({name: {key: 1, "name": "row"}})
            assert kept == {name: {"name": "row"}}
            assert [blank.key for blank in taken] == [f"{name}.{key}"]
            assert key in Preset.model_json_schema()["$defs"][_model(name)]["properties"], f"{name}.{key}"


def _model(table: str) -> str:
    found = Preset.model_json_schema()["properties"][table]
    reference = found.get("$ref") or next(one["$ref"] for one in found["anyOf"] if "$ref" in one)
    return str(reference).rsplit("/", 1)[1]


def test_the_holder_stays_and_their_measurements_go(tmp_path: Path) -> None:
    theirs, mine = tmp_path / "theirs.toml", tmp_path / "mine.toml"
    theirs.write_text(SHARED)
    done = CliRunner().invoke(app, ["new", "--from", str(theirs), str(mine)])
    assert done.exit_code == 0, done.output
    found, before = load(mine), load(theirs)
    assert found.bed.focus_height_mm is None
    assert found.film.cut_width_mm is None
    assert found.material.kerf_mm is None
    assert found.material.sheets_mm == ()
    assert found.base.curl_per_m is None
    assert (found.film.format, found.route, found.lip, found.title) == (
        before.film.format, before.route, before.lip, before.title,
    )  # fmt: skip
    for words in (
        "bed.focus_height_mm = 3.4",
        "holders focus",
        "material.kerf_mm = 0.19",
        "--coupon",
        "holders curl",
    ):
        assert words in done.output


def test_my_own_bed_takes_the_place_of_theirs(tmp_path: Path) -> None:
    theirs, mine = tmp_path / "theirs.toml", tmp_path / "mine.toml"
    theirs.write_text(SHARED)
    done = CliRunner().invoke(app, ["new", "--from", str(theirs), "--bed", "a3", str(mine)])
    assert done.exit_code == 0, done.output
    assert load(mine).bed.name == "a3"


@pytest.mark.parametrize("option", [["--route", "print"], ["--lid"], ["--format", "4x5"]])
def test_an_option_for_another_holder_is_refused(option: list[str], tmp_path: Path) -> None:
    theirs, mine = tmp_path / "theirs.toml", tmp_path / "mine.toml"
    theirs.write_text(SHARED)
    done = CliRunner().invoke(app, ["new", "--from", str(theirs), *option, str(mine)])
    assert done.exit_code == 2
    assert "another holder" in done.output
    assert not mine.exists()
