"""One number is one number: the page's chance, early and whole, is the command line's of the same preset."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from holders.core.findings import per_hundred, shown_chance
from holders.workshop.budget.tolerance import sharp_means
from tests.face.page.pages import ROOT

SUPPOSED = "your scanner's focus height is 3.1 ± 0.05 mm (supposed, not measured yet)"


def preset_file(name: str, folder: Path) -> Path:
    """A shipped preset, or one of them with what was measured on its scanner only supposed."""
    shipped = ROOT / "presets" / f"{name.removesuffix('+supposed')}.toml"
    if not name.endswith("+supposed"):
        return shipped
    text = shipped.read_text(encoding="utf-8")
    entry = 'supposed = ["bed.focus_sigma_mm = 0.05; bed.focus_height_mm = 3.1"]'
    mine = folder / "mine.toml"
    mine.write_text(text.replace("[bed]", f"{entry}\n\n[bed]", 1), encoding="utf-8")
    return mine


@pytest.mark.parametrize("name", ["8x10-one-board", "6x9-roll", "5x7-printed+supposed"])
def test_page_and_terminal_say_one_number_of_one_preset(page: TestClient, name: str, tmp_path: Path) -> None:
    """The page in its workers, whose films are dealt over two processes and which have answered other forms before;
    the terminal in a process of its own, without anything that was solved before.
    """
    file = preset_file(name, tmp_path)
    values = page.post("/api/open", content=file.read_bytes()).json()["values"]
    for kind in ("film", "film?drawing"):  # a coarse film, which the page has before the whole answer
        assert page.post(f"/api/{kind}", json=values).json()["ok"]
    early, whole = (page.post(f"/api/{kind}", json=values).json()["verdict"] for kind in ("chance", "whole"))
    done = subprocess.run(
        [sys.executable, "-m", "holders", "check", str(file), "--json", "--no-steps"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    told = json.loads(done.stdout)["verdict"]
    assert early == whole
    number, supposed = early.pop("of_100"), early.pop("supposed")
    assert early.pop("means") == sharp_means()
    assert early == told
    assert told["text"].lower().count(f"{number} of 100") == 1
    assert per_hundred(told["chance"]) == number
    assert (SUPPOSED in early["text"]) is supposed is name.endswith("+supposed")


@pytest.mark.parametrize(
    "chance",
    [0.0, 0.00999, 0.01, 0.67995, 0.67999, 0.679999995, 0.68, 0.98996, 0.99004, 0.9901, 0.99996, 1.0],
)
def test_the_number_in_words_is_that_of_the_four_digits(chance: float) -> None:
    """0.67996 to the nearest four digits is 0.68, of which a reader says 68, where the sentence says 67."""
    shown = shown_chance(chance)
    assert chance - 1e-4 < shown <= chance + 1e-8
    assert shown == round(shown, 4)
    assert per_hundred(shown) == per_hundred(chance)


def test_a_proposal_made_before_any_check_says_what_it_supposes(page: TestClient) -> None:
    """The page's first number of a holder: the words of what was added to it."""
    bed = {"name": "a4-wide", "focus_height_mm": 3.1, "focus_sigma_mm": 0.05}
    values = {
        "route": "print", "bed": bed, "film": {"format": "4x5", "emulsion": "down"}, "material": {"name": "petg"},
        "printer": {"name": "p300"}, "layout": {"count": 1},
        "base": {"curl_per_m": 0.5, "curl_low_per_m": 0.3, "curl_high_per_m": 0.7},
    }  # fmt: skip
    entry = "bed.focus_sigma_mm = 0.05; bed.focus_height_mm = 3.1"
    for more in ({}, {"supposed": [entry]}):
        words = page.post("/api/propose", json={"values": values | more, "by_hand": []}).json()["words"]
        assert " of 100" in words
        assert words.endswith(f" of 100, if {SUPPOSED}" if more else " of 100")
