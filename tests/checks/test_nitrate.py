"""Film on cellulose nitrate: no reason makes a holder for it, alone or beside other films, dry or in fluid."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner

from holders.core.errors import CheckStops
from holders.face.cli.main import app
from holders.output.bundle.produce import never_made, produce
from holders.preset.schema import Preset
from holders.preset.template import template
from holders.study import study
from tests.presets_made import changed

SMALL = {"film": {"format": "4x5"}, "bed": {"name": "a4-wide"}}


@pytest.mark.parametrize(
    "nitrate",
    [
        {"base": {"name": "nitrate"}},
        {"more_films": [{"format": "roll-6x9-single", "count": 1, "base": {"name": "nitrate"}}]},
        {"base": {"name": "nitrate"}, "wet": {"flammable": "no"}},
    ],
    ids=["alone", "beside another film", "in fluid"],
)
def test_no_reason_makes_a_holder_for_nitrate(nitrate: dict[str, Any], tmp_path: Path) -> None:
    """It cannot be put out once alight (Health and Safety Executive leaflet INDG469, read)."""
    found = study(Preset.model_validate(changed(**SMALL, **nitrate)))
    assert "nitrate" in {finding.code for finding in found.stops}
    with pytest.raises(CheckStops, match=r"nitrate.*anyway does not lift"):
        produce(found, tmp_path, anyway="for the shelf")
    assert not list(tmp_path.iterdir())


def test_safety_film_is_not_refused() -> None:
    assert never_made(study(Preset.model_validate(changed(**SMALL)))) == ""


def test_the_terminal_offers_no_reason_where_none_helps(tmp_path: Path) -> None:
    preset = tmp_path / "n.toml"
    preset.write_text(template(changed(**SMALL, base={"name": "nitrate"})))
    for more in ([], ["--anyway", "a reason"]):
        out = tmp_path / "out"
        run = CliRunner().invoke(app, ["make", str(preset), "--out", str(out), "--no-steps", *more])
        assert run.exit_code == 1
        words = " ".join(run.output.split())
        assert "--anyway does not lift this" in words
        assert "give --anyway REASON" not in words
        assert "film archive" in words
        assert not out.exists()
