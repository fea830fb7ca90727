"""What must be done stands where it is done: in the steps of the job sheet, not in its annex alone."""

from __future__ import annotations

from typing import Any

import pytest

from holders.checks.frame.seam import BOTH_HANDS
from holders.output.sheet.blocks import Items, Section, Words
from holders.output.sheet.content import sheet_content
from holders.preset.schema import Preset
from holders.study import Study, study
from tests.presets_made import changed

IN_PIECES: dict[str, Any] = {"film": {"format": "8x10"}, "printer": {"name": "p220"}}


def made(**tables: Any) -> Study:
    return study(Preset.model_validate(changed(**tables)), extremes=False)


def section(found: Study, key: str) -> Section:
    (one,) = [one for one in sheet_content(found, "").sections if one.key == key]
    return one


def rows(found: Study, key: str) -> list[str]:
    blocks = section(found, key).blocks
    words = [block.text for block in blocks if isinstance(block, Words)]
    return words + [row for block in blocks if isinstance(block, Items) for row in block.rows]


@pytest.mark.parametrize(
    ("tables", "said"),
    [(IN_PIECES, True), (IN_PIECES | {"split": {"fit": "press"}}, False), ({}, False)],
    ids=["glued", "pressed", "one piece"],
)
def test_a_holder_in_glued_pieces_is_lifted_with_both_hands(tables: dict[str, Any], said: bool) -> None:
    found = made(**tables)
    laid = [row for row in rows(found, "loading") if "calibration zone" in row]
    assert len(laid) == 1
    assert (BOTH_HANDS in laid[0]) == said


@pytest.mark.parametrize("percent", [None, 60.0, 35.0])
def test_the_room_that_the_chance_counts_on_is_made_before_loading(percent: float | None) -> None:
    found = made(**({} if percent is None else {"room": {"humidity_percent": percent}}))
    first, care = rows(found, "loading"), " ".join(rows(found, "care"))
    if percent is None:
        assert not any("humidity" in row for row in first)
        assert "near 50 % humidity" in care
        return
    steps = [row for row in first if f"in a room of {percent:g} % humidity for a day first" in row]
    assert len(steps) == 1
    assert "Store no film above 60 %: mould" in steps[0]
    assert "50 %" not in care
    assert f"{percent:g} % humidity that this holder is set for" in care
