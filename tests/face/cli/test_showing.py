"""What a terminal shows: findings in full, the rest counted, listings at any width."""

from __future__ import annotations

import io
import json
import re
import time
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console
from typer.testing import CliRunner

from holders.core.findings import Finding, Level, limit_words
from holders.face.cli import show
from holders.face.cli.commands.deciding import hanging
from holders.face.cli.main import app
from holders.face.shared.listing import WHAT

ROOT = Path(__file__).parents[3]


def told(*args: str | Path) -> dict[str, Any]:
    done = CliRunner().invoke(app, [*(str(a) for a in args), "--json"])
    return dict(json.loads(done.stdout))


def narrow(*args: str | Path, columns: int = 80) -> str:
    """What a terminal of so many columns shows, without its colours."""
    console = Console(width=columns, force_terminal=True, highlight=False, record=True, file=io.StringIO())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(show, "out", lambda: console)
        done = CliRunner().invoke(app, [str(a) for a in args])
    assert done.exit_code in (0, 1), done.output
    lines = console.export_text().splitlines()
    assert all(len(line) <= columns for line in lines)
    return re.sub(r"\s+", " ", " ".join(lines))


def test_findings_are_told_in_full_and_the_rest_counted(tmp_path: Path) -> None:
    text = (ROOT / "presets" / "8x10-printed.toml").read_text()
    preset = tmp_path / "thin-lip.toml"
    preset.write_text(text.replace("all_mm = 2.5", "all_mm = 0.9"))
    findings = told("check", preset)["findings"]
    grave = [f for f in findings if f["level"] in ("warn", "stop")]
    passed = [f for f in findings if f["level"] == "pass"]
    assert grave
    assert len(passed) > 10
    shown, everything = narrow("check", preset), narrow("check", preset, "--all")
    for finding in grave:
        for key in ("title", "where", "advice"):
            assert " ".join(finding[key].split()) in shown, finding["code"]  # never cut, however long
    assert f"{len(passed)} passed" in shown
    assert "--all shows every one" in shown
    quiet = [f for f in findings if f["level"] in ("pass", "skip")]
    assert not any(f"({f['code']})" in shown for f in quiet if f["code"] not in {g["code"] for g in grave})
    assert all(f["title"] in everything for f in quiet)
    assert "--all" not in everything


def test_advice_of_any_length_is_told_whole() -> None:
    advice = "x" + " 0.123456789" * 100
    finding = Finding(code="c", level="stop", title="t", advice=advice)
    console = Console(width=80, record=True, file=io.StringIO())
    console.print(show.findings_rows([finding], False))
    assert advice in " ".join(console.export_text().split())


def test_a_finding_says_on_which_side_its_limit_is_good() -> None:
    def words(level: Level, measured: float, limit: float) -> str:
        found = Finding(code="c", level=level, title="t", measured=measured, limit=limit, unit="mm")
        return limit_words(found)

    assert words("warn", 0.59, 0.622) == "at least 0.622 mm"
    # a finding on its bad side tells which way is the good one; "0.447 mm, limit 0.721 mm" reads as if all were well
    assert words("warn", 0.447, 0.721) == "at least 0.721 mm"
    assert words("stop", 0.9, 0.3) == "at most 0.3 mm"
    assert words("pass", 0.9, 0.3) == "at least 0.3 mm"
    assert words("pass", 0.1, 0.3) == "at most 0.3 mm"
    assert words("pass", 2.9993, 3.0) == "limit 3 mm"
    assert words("warn", 0.0, 0.0) == "limit 0 mm"
    assert words("warn", 0.31, 0.622) == "at least 0.622 mm"
    assert words("pass", 0.61, 0.622) == "at most 0.622 mm"
    assert words("stop", 0.63, 0.622) == "at most 0.622 mm"
    assert limit_words(Finding(code="c", level="warn", title="t", measured=1.0, unit="mm")) == ""


@pytest.mark.parametrize("what", WHAT)
def test_listings_fit_a_narrow_terminal_with_every_source(what: str) -> None:
    rows = told("list", what)["rows"]
    shown = narrow("list", what)
    for row in rows:
        for key in ("key", "code", "title", *(() if "sources" in row else ("source",))):
            if key in row:
                assert " ".join(str(row[key]).split()) in shown, row
        for source in row.get("sources", {}).values():
            assert " ".join(f"{source['status']}: {source['source']}".rstrip(": ").split()) in shown
        if row.get("sources"):
            assert f"weakest: {row['status']}" in shown


def test_a_new_preset_ends_its_last_line(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["new", "--plain", str(tmp_path / "weir.toml")])
    assert done.exit_code == 0
    text = (tmp_path / "weir.toml").read_text()
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


def test_a_step_that_is_longer_than_a_line_goes_on_under_its_words() -> None:
    rows = hanging("  1. ", "Measure where your scanner is sharpest, to ±0.03 mm: 91 -> 93 of 100", 40).split(
        "\n"
    )
    assert len(rows) == 3
    assert rows[0].startswith("  1. Measure")
    assert [row[:6] for row in rows[1:]] == ["     s", "     1"]
    assert all(len(row) <= 40 for row in rows)


@pytest.mark.usefixtures("next_steps_tried")
def test_stops_of_one_cause_are_one_block_with_one_cure(tmp_path: Path) -> None:
    """A sheet of 6 mm where 3 mm is needed: the cause first, a cure that was tried, then what comes of it."""
    preset = tmp_path / "thick.toml"
    done = CliRunner().invoke(
        app,
        ["new", str(preset), "--plain", "--format", "4x5", "--route", "laser", "--material", "6 mm plywood"],
    )
    assert done.exit_code == 0, done.output
    answer = told("check", preset)
    findings = [Finding.model_validate(one) for one in answer["findings"]]
    stops = [f for f in findings if f.level == "stop"]
    (cause,) = [f for f in stops if not f.follows_from]
    assert cause.subject == "ledge made of whole sheets"
    assert len(stops) >= 3
    assert "tried on this holder" in cause.advice
    assert f"{len(stops)} stops ({len(stops) - 1} of them follow from another)" in show.counted(findings)
    console = Console(width=80, record=True, file=io.StringIO())
    console.print(show.findings_rows(findings, everything=False, helped=True))
    checks = " ".join(console.export_text().split())
    warned = [f for f in findings if f.level == "warn" and f.advice]
    assert checks.count("what to do:") == 1 + len(warned)
    assert checks.index(cause.title) < checks.index("so also: ")
    for stop in stops[1:]:
        assert stop.title[1:] in checks
    assert answer["verdict"]["text"].startswith(f"Do not make it like this: {cause.title}. (")


def test_a_line_says_what_is_done_where_it_takes_long_and_nobody_sees_a_terminal(
    capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with show.working("thinking"):
        pass
    assert capfd.readouterr().err == ""  # what is short stays silent
    monkeypatch.setattr(show, "PATIENCE_S", 0.01)
    with show.working("thinking of [3] things"):
        time.sleep(0.2)
    said = capfd.readouterr()
    assert (said.out, said.err) == ("", "thinking of [3] things ...\n")
    with pytest.raises(KeyError), show.working("failing"):
        raise KeyError
    time.sleep(0.05)
    assert capfd.readouterr().err == ""  # nothing speaks after the end
