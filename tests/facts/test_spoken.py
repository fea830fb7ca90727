"""Plain words for rows: what is meant is taken, what may be several is asked back, presets keep exact keys."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.face.program import app
from holders.facts.models import Material
from holders.facts.spoken import sheets_listed, spoken, thickness_apart
from holders.facts.tables import keys, table
from holders.preset.load import load
from holders.preset.tables.supposed import supposed_words

SPOKEN = ("formats", "materials", "beds", "printers", "processes")


@pytest.mark.parametrize(
    ("name", "word", "key"),
    [
        *(("formats", word, "4x5") for word in ("4 x 5", "4×5", "5x4", "4x5in", '4"x5"', "4 by 5 inches", "4x5 film")),
        *(("formats", word, "4x5") for word in ("4x5 inch sheets", "4x5 sheets", "large format 4x5", "4x5 negatives")),
        *(("formats", word, "8x10") for word in ("8 X 10", "10x8 in", '8 x 10"', "8×10 sheet")),
        ("formats", "6x17", "roll-6x17"),
        ("formats", "6 x 9 single", "roll-6x9-single"),
        ("formats", "645", "roll-645"),
        ("formats", "6 x 4,5", "roll-645"),
        ("formats", "35 mm strip", "35mm-strip"),
        ("formats", "9x12", "9x12cm"),
        ("formats", "9 x 12 cm plate", "plate-9x12cm"),
        ("formats", "4x5 glass", "plate-4x5"),
        ("formats", "Whole plate", "whole-plate"),
        ("materials", "acrylic", "acrylic-cast"),
        ("materials", "extruded acrylic", "acrylic-extruded"),
        ("materials", "plywood", "plywood-birch"),
        ("materials", "foam board", "foam-board"),
        ("materials", "matboard", "mat-board"),
        ("materials", "PETG", "petg"),
        ("beds", "A4 wide", "a4-wide"),
        ("beds", "A3 scanner", "a3"),
        ("printers", "220 mm", "p220"),
        ("printers", "300", "p300"),
        ("processes", "3D printed", "print"),
        ("processes", "by hand", "knife"),
    ],
)  # fmt: skip
def test_what_is_meant_is_taken_and_said(name: str, word: str, key: str) -> None:
    found = spoken(name, word, field="--it")
    assert found.key == key
    assert f"taken as {key} (" in found.said


@pytest.mark.parametrize(
    ("name", "word", "among"),
    [
        ("formats", "6x9", ("roll-6x9 (", "roll-6x9-single (")),
        ("formats", "120", ("roll-645", "roll-6x7", "roll-6x17", "holders list formats")),
        ("formats", "35 mm", ("35mm-strip (", "35mm-single (")),
        ("formats", "half frame", ("35mm-half", "mount-50-half")),
        ("materials", "foam", ("foam-board", "eva-foam")),
        ("beds", "a4", ("a4-wide", "a4-narrow", "a4-strip", "a4-small")),
        ("processes", "cut", ("laser", "knife")),
    ],
)
def test_what_may_be_several_is_asked_back(name: str, word: str, among: tuple[str, ...]) -> None:
    with pytest.raises(InputError, match="may be any of these") as refused:
        spoken(name, word, field="--it")
    assert all(each in refused.value.way_out for each in among)


@pytest.mark.parametrize("word", ["8x11", "9x12 in", "weir", "", "  ", "x", "\u0664x\u0665" * 200])
def test_what_is_nothing_is_refused(word: str) -> None:
    """Nine by twelve inches is no film, though in centimetres it is."""
    with pytest.raises(InputError, match="holders list formats"):
        spoken("formats", word, field="--format")


@pytest.mark.parametrize("name", SPOKEN)
def test_every_key_means_its_row_and_every_name_too(name: str) -> None:
    for row in table(name):
        assert spoken(name, row.key, field="x") == type(spoken(name, row.key, field="x"))(row.key, "")
        assert spoken(name, row.name, field="x").key == row.key


def test_what_else_is_known_narrows_it_down() -> None:
    def printed(row: object) -> bool:
        return isinstance(row, Material) and "print" in row.routes

    assert spoken("materials", "polycarbonate", field="x", fits=printed).key == "pc"
    with pytest.raises(InputError, match="polycarbonate-sheet"):
        spoken("materials", "polycarbonate", field="x")


@given(word=st.text(max_size=40), name=st.sampled_from(SPOKEN))
def test_any_word_gives_a_key_or_a_clear_refusal(word: str, name: str) -> None:
    try:
        assert spoken(name, word, field="--it").key in keys(name)
    except InputError as error:
        assert error.field == "--it"
        assert "list" in error.way_out or "any of these" in error.way_out


@pytest.mark.parametrize(
    ("word", "rest", "sheets"),
    [
        ("3 mm plywood", "plywood", (3.0,)),
        ("3mm birch plywood", "birch plywood", (3.0,)),
        ("mat board 1,5 MM", "mat board", (1.5,)),
        ("1.4 mm 2 mm mat board", "mat board", (1.4, 2.0)),
        ("plywood", "plywood", ()),
        ("3 mm", "3 mm", ()),  # of nothing
        ("1/8 in plywood", "1/8 in plywood", ()),
        ("1/3 mm plywood", "1/3 mm plywood", ()),  # not 3 mm
        ("-3 mm plywood", "-3 mm plywood", ()),
    ],
)
def test_a_thickness_is_taken_off_the_words(word: str, rest: str, sheets: tuple[float, ...]) -> None:
    assert thickness_apart(word) == (rest, sheets)


@pytest.mark.parametrize(
    ("word", "listed"),
    [
        ("3 mm plywood, 2 mm mat board", (("plywood", (3.0,)), ("mat board", (2.0,)))),
        ("3 and 2 mm plywood", (("plywood", (3.0, 2.0)),)),
        ("3 mm, 1,5 mm plywood", (("plywood", (3.0, 1.5)),)),
        ("plywood 3 mm + 2 mm", (("plywood", (3.0, 2.0)),)),
        ("3 mm plywood & 4 mm plywood", (("plywood", (3.0, 4.0)),)),
        ("plywood, birch", (("plywood, birch", ()),)),
        ("3 mm; 2 mm", (("", (3.0, 2.0)),)),
    ],
)
def test_several_sheets_are_listed_in_plain_words(
    word: str, listed: tuple[tuple[str, tuple[float, ...]], ...]
) -> None:
    assert sheets_listed(word) == listed


def test_new_takes_several_sheets_of_one_material(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    asked = [
        "new",
        str(file),
        "--route",
        "laser",
        "--plain",
        "--material",
        "3 mm plywood and 1.5 mm birch plywood",
    ]
    done = CliRunner().invoke(app, asked)
    assert done.exit_code == 0, done.output
    assert "3, 1.5 mm: taken as the sheets you have" in " ".join(done.stderr.split())
    preset = load(file)
    assert preset.material.name == "plywood-birch"
    assert preset.material.sheets_mm == (3.0, 1.5)


def test_new_names_the_option_that_gave_a_refused_value(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    done = CliRunner().invoke(app, ["new", str(file), "--plain", "--title", "x" * 300])
    assert done.exit_code == 2
    assert done.stderr.startswith("holders: --title = ")
    assert "at most 80 characters" in done.stderr
    assert str(file) not in done.stderr


def test_new_takes_a_thickness_as_the_sheet_that_is_there_but_not_measured(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    asked = ["new", str(file), "--format", "4x5 sheets", "--route", "laser", "--plain", "--material"]
    done = CliRunner().invoke(app, [*asked, "3 mm plywood"])
    assert done.exit_code == 0, done.output
    assert "supposed until you measure it" in " ".join(done.stderr.split())
    preset = load(file)
    assert preset.material.name == "plywood-birch"
    assert preset.material.sheets_mm == (3.0,)
    assert supposed_words(preset, 100.0) == ("your sheets are 3 mm thick",)  # the chance says it


@pytest.mark.parametrize(
    ("route", "word", "way_out"),
    [
        ("print", "1.75 mm petg", "give the material without thickness, petg"),
        ("laser", "1/8 in plywood", 'a thickness is given in mm, as in "3 mm plywood"'),
        (
            "laser",
            "0 mm plywood",
            "--material = 0 mm plywood: a sheet must be at least 0.1 and at most 30 mm thick",
        ),
        ("laser", "3 mm, 60 mm plywood", "at most 30 mm thick, not 60 mm"),
        (
            "laser",
            "3 mm plywood, 2 mm mat board",
            "all of one material: list those of one, plywood-birch or mat-board",
        ),
        ("knife", "3 mm and 2 mm", 'say also what the sheets are of, as in "3 mm, 2 mm plywood"'),
        (
            "laser",
            ";".join(f"{k}mm" for k in range(1, 14)) + " ply",
            "lists 13 thicknesses; a preset takes at most 12",
        ),
        ("laser", "3 mm plywood, " * 7, "say it in at most 80 letters"),
    ],
)
def test_new_refuses_a_thickness_that_it_cannot_take(
    route: str, word: str, way_out: str, tmp_path: Path
) -> None:
    file = tmp_path / "mine.toml"
    done = CliRunner().invoke(app, ["new", str(file), "--route", route, "--material", word])
    assert done.exit_code == 2
    said = " ".join(done.stderr.split())
    assert way_out in said
    assert "line" not in said  # of a file that was never written
    assert not file.exists()


def test_new_takes_plain_words_and_writes_exact_keys(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    asked = [
        "new",
        str(file),
        "--format",
        "5 x 7 in",
        "--route",
        "by hand",
        "--material",
        "Mat board",
        "--plain",
    ]
    done = CliRunner().invoke(app, asked)
    assert done.exit_code == 0, done.output
    text = file.read_text(encoding="utf-8")
    assert 'format = "5x7"' in text
    assert 'name = "mat-board"' in text
    assert 'route = "knife"' in text
    assert "5 x 7 in: taken as 5x7 (5x7 in sheet)" in done.stderr
    refused = CliRunner().invoke(app, ["new", str(tmp_path / "other.toml"), "--format", "6x9"])
    assert refused.exit_code == 2
    assert "roll-6x9-single (6x9 on roll film, single frame)" in refused.output
    assert not (tmp_path / "other.toml").exists()
