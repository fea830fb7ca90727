"""``holders stock``: the ranking that a user reads and that a program reads, against the design they belong to."""

from __future__ import annotations

import json
import re
from itertools import takewhile
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from holders.face.cli.main import app
from holders.preset.edited import with_values
from holders.preset.load import load
from tests.presets_made import SHIPPED

CUT = [path for path in SHIPPED if load(path).route != "print"]
BOARD = next(path for path in SHIPPED if path.stem == "8x10-mat-board")


def call(*args: str | Path) -> Result:
    return CliRunner().invoke(app, [str(a) for a in args])


def as_json(path: Path) -> dict[str, Any]:
    done = call("stock", path, "--json")
    assert done.exit_code == 0, done.stderr
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def with_sheets(folder: Path, sheets: str, more: str = "") -> Path:
    text = with_values(
        BOARD.read_text(), {"cover": None}
    )  # a wall for glass needs thicker sheets than some of these
    old = "sheets_mm = [0.55, 1.42, 3.04]"
    assert old in text
    path = folder / "p.toml"
    path.write_text(text.replace(old, f"sheets_mm = {sheets}\n{more}"))
    return path


@pytest.mark.parametrize("path", CUT, ids=lambda p: p.stem)
def test_the_first_stack_is_the_one_that_is_built(path: Path) -> None:
    found = as_json(path)
    checked = json.loads(call("check", path, "--json").stdout)["design"]
    first = found["stacks"][0]
    assert found["built"] == 1
    assert first["sheets"] == checked["ledge_sheets"]
    assert first["ledge"] == pytest.approx(checked["ledge_height"], abs=1e-4)
    assert checked["ledge_glue"] == pytest.approx(found["glue_line"] * (len(first["sheets"]) - 1), abs=1e-4)
    assert found["reaches_band"] is True
    assert found["verdict"]


def test_every_stack_adds_up() -> None:
    found = as_json(BOARD)
    assert [s["rank"] for s in found["stacks"]] == list(
        range(1, 35)
    )  # 3 + 6 + 10 + 15 of up to four from three
    for stack in found["stacks"]:
        glue = found["glue_line"] * (len(stack["sheets"]) - 1)
        assert stack["ledge"] == pytest.approx(sum(stack["sheets"]) + glue, abs=1e-3)
        assert stack["error"] == pytest.approx(stack["ledge"] - found["ledge_wanted"], abs=1e-3)
        low, high = found["ledge_band"]
        assert stack["in_band"] == (low <= stack["ledge"] <= high)
        assert 0 <= stack["chance"] <= 1
        assert stack["spread"] <= stack["worst"] + 1e-9


def test_people_read_the_same() -> None:
    done = call("stock", BOARD)
    assert done.exit_code == 0
    assert "3.04 + 0.55 mm" in done.stdout
    assert "* this is the design's" in done.stdout
    assert "each glued joint adds 0.05 ± 0.04 mm" in done.stdout
    found = as_json(BOARD)
    good = [s["rank"] for s in found["stacks"] if s["in_band"] or s["chance_most"] >= 0.9]
    assert found["shown"] == good
    assert f"{len(good)} good stack" in done.stdout
    assert f"; {34 - len(good)} others left out" in done.stdout


@pytest.mark.parametrize(
    ("sheets", "prices"),
    [("[0.55, 1.42, 3.04]", "[2.0, 3.5, 12.0]"), ("[1.2, 1.23]", "[120.0, 99.5]"), ("[5.0]", "[31.5]")],
)
def test_the_table_fits_the_usual_terminal(tmp_path: Path, sheets: str, prices: str) -> None:
    """Piles of two and three sheets, in the band or not, with prices: no cell folds within 80 columns."""
    done = call("stock", with_sheets(tmp_path, sheets, f"sheet_prices = {prices}"))
    assert done.exit_code == 0, done.stderr
    lines = [line.rstrip() for line in done.stdout.splitlines()]
    start = next(k for k, line in enumerate(lines) if line.startswith("rank"))
    rows = list(takewhile(lambda line: re.match(r"(rank|─|\d+( \*)? +\d)", line), lines[start:]))
    assert len(rows) >= 3
    assert all(len(line) <= 80 for line in rows), rows  # piped, the table is as wide as it wishes
    assert lines[start + len(rows)][:1].strip()  # no folded cell below


def test_no_stack_reaches_the_band_is_said_and_what_to_buy(tmp_path: Path) -> None:
    found = as_json(with_sheets(tmp_path, "[5.0]"))
    assert found["reaches_band"] is False
    assert found["verdict"].startswith("no stack of these sheets reaches the band")
    assert found["one_more"]["in_band"] is True
    assert f"a sheet of {found['one_more']['thickness']:g} mm would make" in found["verdict"]
    done = call("stock", tmp_path / "p.toml")
    assert "no stack of these sheets reaches the band" in " ".join(done.stdout.split())
    assert found["shown"] == [1, 2, 3]
    assert "No good stack; the nearest 3; 1 other left out" in done.stdout


def test_prices_are_shown_and_added_up(tmp_path: Path) -> None:
    path = with_sheets(tmp_path, "[0.55, 1.42, 3.04]", "sheet_prices = [1.5, 2.0, 4.25]")
    found = as_json(path)
    assert [s["price"] for s in found["sheets"]] == [1.5, 2.0, 4.25]
    pair = next(s for s in found["stacks"] if s["sheets"] == [3.04, 0.55])
    assert pair["price"] == 5.75
    done = call("stock", path)
    assert "5.75" in done.stdout
    assert "prices in your currency: 1.5 for 0.55 mm" in " ".join(done.stdout.split())
    assert "price" not in as_json(BOARD)["stacks"][0]


def test_the_built_stack_is_as_likely_as_the_check_says(tmp_path: Path) -> None:
    for path in CUT:
        found = as_json(path)
        checked = json.loads(call("check", path, "--json").stdout)["findings"]
        (chance,) = [f for f in checked if f["code"] == "sharpness"]
        built = found["stacks"][found["built"] - 1]
        assert 100 * built["chance_most"] == pytest.approx(chance["measured"], abs=2.0)
        assert built["chance_most"] >= built["chance"] - 0.25


def test_a_measured_glue_line_moves_the_choice(tmp_path: Path) -> None:
    thin = as_json(with_sheets(tmp_path, "[0.55, 1.42, 3.04]", "glue_line_mm = 0.0"))
    thick = as_json(with_sheets(tmp_path, "[0.55, 1.42, 3.04]", "glue_line_mm = 0.2\nglue_spread_mm = 0.02"))
    assert (thin["glue_line"], thick["glue_line"], thick["glue_spread"]) == (0.0, 0.2, 0.02)
    pair = next(s for s in thick["stacks"] if s["sheets"] == [3.04, 0.55])
    assert pair["ledge"] == pytest.approx(3.79)
    same = next(s for s in thin["stacks"] if s["sheets"] == [3.04, 0.55])
    assert same["ledge"] == pytest.approx(3.59)


def test_a_printed_holder_has_no_stack() -> None:
    printed = next(path for path in SHIPPED if path.stem == "8x10-printed")
    done = call("stock", printed)
    assert done.exit_code == 2
    assert "a printed ledge is no stack" in done.stderr
    assert done.stdout == ""


def test_bad_input_is_one_clear_line(tmp_path: Path) -> None:
    done = call("stock", with_sheets(tmp_path, "[0.55]", "glue_line_mm = -1.0"))
    assert done.exit_code == 2
    assert "glue_line_mm" in done.stderr
    assert "Traceback" not in done.stderr
    missing = call("stock", tmp_path / "none.toml")
    assert missing.exit_code == 2
