"""``holders new``: options that do not go together are refused, and nothing is written."""

from __future__ import annotations

from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.face.cli.main import app


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--route", "laser", "--printer", "p300"), ("--printer = p300", "route laser takes no printer")),
        (("--route", "knife", "--printer", "p300"), ("route knife takes no printer",)),
        (
            ("--route", "knife", "--reading", "slot=20"),
            ("--reading slot", "route knife tells no such thing", "pocket"),
        ),
        (("--route", "print", "--reading", "holes_mm=20.1"), ("--reading holes_mm", "tells heights_mm"[:5])),
        (("--route", "laser", "--reading", "heights_mm=2 3 4"), ("--reading heights_mm", "holes_mm")),
    ],
)
def test_what_a_route_cannot_use_is_refused(
    options: tuple[str, ...], words: tuple[str, ...], tmp_path: Path
) -> None:
    path = tmp_path / "p.toml"
    done = CliRunner().invoke(app, ["new", *options, str(path)])
    assert done.exit_code == 2, done.stdout
    told = " ".join(done.stderr.split())
    for word in words:
        assert word in told
    assert not path.exists()


def test_a_printer_for_a_printed_holder_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "p.toml"
    done = CliRunner().invoke(app, ["new", "--route", "print", "--printer", "p220", str(path)])
    assert done.exit_code == 0
    assert 'name = "p220"' in path.read_text()


def test_a_name_that_is_taken_is_told_before_anything_is_asked(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text("mine", encoding="utf-8")
    done = CliRunner().invoke(app, ["new", "--coupon", str(path)], input="")
    assert done.exit_code == 2
    assert "exists already" in " ".join(done.stderr.split())
    assert "caliper" not in done.output
    assert path.read_text(encoding="utf-8") == "mine"
