"""The notes of the workshop drawing: all of them whole on the paper, and a cut that is seen where they are not."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from functools import cache
from pathlib import Path

import pytest

from holders.design.model import Design
from holders.design.resolve import design
from holders.facts.tables import paper
from holders.output.draw.canvas import Picture
from holders.output.draw.drafting.lettering import TEXT, wrapped
from holders.output.draw.drafting.notes import notes
from holders.output.draw.drafting.workplan import workplan
from holders.output.draw.sheet import BORDER, LINE, PAD, STRIP, _noted, drawing, size_of
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.presets_made import SHIPPED

NS = "{http://www.w3.org/2000/svg}"


@cache
def shipped(path: Path) -> Design:
    return design(resolve(load(path)))


def said(data: bytes) -> str:
    return " ".join(e.text or "" for e in ET.fromstring(data).iter(f"{NS}text"))


@pytest.mark.parametrize("size", ["a4", "letter"])
@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_every_note_of_a_shipped_preset_is_whole_on_the_paper(path: Path, size: str) -> None:
    made, sheet = shipped(path), paper(size)
    wide, high = size_of(sheet)
    dropped = workplan(made, (wide - 2 * BORDER) * 0.6, high - 2 * BORDER - STRIP - 2 * PAD).dropped
    written = " ".join(said(drawing(made, sheet)[1]).split())
    for note in notes(made, dropped):
        assert " ".join(note.split()) in written


def test_notes_that_have_no_room_end_in_an_ellipsis() -> None:
    picture = Picture(100.0, 40.0)
    words = [["one", "two"], ["three"], ["four"]]
    _noted(picture, words, 5.0, 10.0, 10.0 + 2.2 * LINE, 80.0)
    assert said(picture.svg("t")) == "one two …"
    whole = Picture(100.0, 80.0)
    _noted(whole, words, 5.0, 10.0, 70.0, 80.0)
    assert said(whole.svg("t")) == "one two three four"


def test_a_number_and_its_unit_stay_on_one_line() -> None:
    for width in range(15, 90):
        lines = wrapped(
            "at most 0.83 mm below its ledge; 100.0 % of the picture (3.7 mm) at 20 °C.", width, TEXT
        )
        assert not any(line.endswith(("0.83", "100.0", "3.7", "(3.7", "20")) for line in lines), lines
    assert wrapped("4 mmx of 12 grains", 9.0, TEXT)[:2] == ["4", "mmx"]  # no unit


def test_the_key_keeps_the_zone_that_must_stay_clear() -> None:
    for stem in ("5x7-two-pass", "8x10-printed"):
        made = shipped(next(path for path in SHIPPED if path.stem == stem))
        assert "keep clear" in said(drawing(made)[1])
