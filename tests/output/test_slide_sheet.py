"""The page that shows how to slide a holder: how far by the bed's and the film's own sizes."""

from __future__ import annotations

import json
from pathlib import Path

import pdfplumber
import pytest
from typer.testing import CliRunner

from holders.design.resolve import design
from holders.face.cli.main import app
from holders.facts import tables
from holders.output.formats.slide_sheet import rows_for, slide_mm, slide_pdf, unseen_mm
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.resolve import resolve

PRESETS = Path(__file__).resolve().parents[2] / "presets"
BED = tables.bed("a4-wide")  # glass 216 mm wide, 205 mm lit


def test_how_far_follows_from_glass_and_film() -> None:
    assert slide_mm(BED, tables.film_format("4x5")) == 40.0
    assert slide_mm(BED, tables.film_format("18x24cm")) == 25.0  # 216 - 178.5 - 12 of frame, whole mm
    assert slide_mm(BED, tables.film_format("8x10")) == 0.0
    # 202 / 2 + 10 - 205 / 2: of film slid 10 mm from the middle, what leaves the light
    assert unseen_mm(BED, tables.film_format("8x10"), 10.0) == pytest.approx(8.5)
    assert unseen_mm(BED, tables.film_format("4x5"), 20.0) == 0.0


def test_8x10_slides_as_far_as_is_said_in_a_frame_with_thin_walls() -> None:
    said = dict(rows_for(BED))[tables.film_format("8x10").name]
    assert "layout.wall_mm = 1.5, layout.shift_room_mm = 8" in said
    for name, bare in (
        ("8x10-mat-board", {}),
        ("8x10-acrylic-lid", {"bars": None}),
    ):  # bars need a wider rail
        text = (PRESETS / f"{name}.toml").read_text(encoding="utf-8")
        thin = with_values(text, {"layout.wall_mm": 1.5, "layout.shift_room_mm": 8.0} | bare)
        made = design(resolve(parse(thin, name)))
        assert made.outer.width + 8.0 < BED.glass_width_mm
    narrow = BED.model_copy(update={"glass_width_mm": 210.0})
    assert dict(rows_for(narrow))[tables.film_format("8x10").name] == "it fills the bed: no room to slide"


def test_the_page_says_stop_slide_stop_and_each_film(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["surface", "--sheet", "--out", str(tmp_path), "--json"])
    assert done.exit_code == 0, done.stderr
    path = Path(json.loads(done.stdout)["path"])
    assert path.read_bytes() == slide_pdf(BED, tables.paper("a4"))
    with pdfplumber.open(path) as pdf:
        (page,) = pdf.pages
        text = " ".join(page.extract_text().split())
    for words in (
        "Stop: lay",
        "Slide: push",
        "calibration zone stays uncovered",
        *(film for film, _ in rows_for(BED)),
    ):
        assert words in text
    missing = CliRunner().invoke(app, ["surface"])
    assert missing.exit_code == 2
    assert "--sheet" in missing.stderr
