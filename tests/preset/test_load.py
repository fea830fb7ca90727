"""Reading presets: errors name file, line, key, value and the way out; hostile files are refused quietly."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.facts.tables import keys
from holders.preset.carried import MAX_CARRIER_BYTES
from holders.preset.folder_name import slug_of
from holders.preset.load import MAX_BYTES, load, located, parse
from holders.preset.places import line_of
from holders.preset.resolve import resolve
from holders.preset.schema import Preset
from holders.preset.template import template, toml_value
from holders.preset.wayout import fields_at
from tests.presets_made import SHIPPED, changed

ROOT = Path(__file__).parent.parent.parent

GOOD = """holders_preset = 1
title = "weir"
route = "print"

[bed]
name = "a4-wide"

[film]
format = "4x5"

[material]
name = "petg"
"""


def refusal(text: str) -> InputError:
    with pytest.raises(InputError) as caught:
        resolve(parse(text, "p.toml"))
    return located(caught.value, text, "p.toml")


def test_good_one_reads() -> None:
    assert parse(GOOD, "p.toml").title == "weir"


@pytest.mark.parametrize(
    ("old", "new", "field", "line", "hint"),
    [
        (
            'name = "a4-wide"',
            'name = "a4-wide"\nglass_widht_mm = 215',
            "bed.glass_widht_mm",
            7,
            "glass_width_mm",
        ),
        (
            'name = "a4-wide"',
            'name = "a4-wide"\nfocus_height_mm = nan',
            "bed.focus_height_mm",
            7,
            "plain number",
        ),
        (
            'name = "a4-wide"',
            'name = "a4-wide"\nfocus_height_mm = -1',
            "bed.focus_height_mm",
            7,
            "at least 0",
        ),
        (
            'name = "a4-wide"',
            'name = "a4-wide"\nglass_width_mm = 1e9',
            "bed.glass_width_mm",
            7,
            "at most 2000",
        ),
        ('name = "a4-wide"', 'name = "a4-wide"\nglass_width_mm = "wide"', "bed.glass_width_mm", 7, "number"),
        ('route = "print"', 'route = "printt"', "route", 3, '"print"'),
        ('format = "4x5"', 'format = "4x6"', "film.format", 9, "4x5"),
        ('name = "petg"', 'name = "petgg"', "material.name", 12, "petg"),
        ("[film]", "[fiml]", "fiml", 8, "film"),
        ("holders_preset = 1", "holders_preset = 4", "holders_preset", 1, "update"),
        ("holders_preset = 1", "holders_preset = true", "holders_preset", 1, "whole number"),
        ("holders_preset = 1\n", "", "holders_preset", None, "needed"),
        ('title = "weir"', 'title = ""', "title", 2, "must not be empty"),
        ('title = "weir"', 'title = "' + "x" * 81 + '"', "title", 2, "at most 80"),
        ('title = "weir"', 'title = "../../etc"', None, None, None),
        ('title = "weir"', 'title = "\u2026"', "title", 2, "letter"),
        ('title = "weir"', 'title = "con"', "title", 2, "Windows"),
    ],
)
def test_errors_name_place_and_way_out(
    old: str, new: str, field: str | None, line: int | None, hint: str | None
) -> None:
    text = GOOD.replace(old, new)
    if field is None:
        assert resolve(parse(text, "p.toml")).slug == "etc"
        return
    error = refusal(text)
    assert error.field == field
    if line is not None:
        assert error.line == line
        assert error.file == "p.toml"
    assert hint is not None
    assert hint in error.way_out
    assert "\n" not in str(error)


def test_broken_toml_names_the_line() -> None:
    error = refusal(GOOD.replace('route = "print"', "route = print"))
    assert error.line == 3


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\x00\xff\xfe",
        b"a = " + b"[" * 5000,
        b"[" + b"a." * 20000 + b"b]",
        b"x = 1\n" * 20000,
        b"x = " + b"9" * 5000,
        b'title = "\x1b[2J"',
        b"a = {" * 4000,
        "ключ = 1".encode(),
        b"holders_preset = 1e400",
        b"[[bed]]\nname='x'",
        b"bed = 3",
        b"holders_preset = 1979-05-27",
    ],
)
def test_hostile_files_are_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "p.toml"
    path.write_bytes(data)
    with pytest.raises(InputError) as caught:
        load(path)
    assert "\x1b" not in str(caught.value)
    assert len(str(caught.value)) < 1000


def test_large_missing_and_odd_names(tmp_path: Path) -> None:
    big = tmp_path / "big.toml"
    big.write_bytes(b"#" * (MAX_BYTES + 1))
    for path in (big, tmp_path, tmp_path / "no.toml", Path("a\0b"), Path("x" * 5000)):
        with pytest.raises(InputError):
            load(path)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=200))
def test_any_text_is_read_or_refused(text: str) -> None:
    for candidate in (text, GOOD + text, GOOD.replace('"4x5"', text)):
        try:
            resolve(parse(candidate, "p.toml"))
        except InputError as error:
            assert "\n" not in str(error)


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=80))
def test_slug_is_a_safe_folder_name(title: str) -> None:
    try:
        slug = slug_of(title)
    except InputError:
        return
    assert set(slug) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    assert 0 < len(slug) <= 60
    assert slug[0] != "-"


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=60))
def test_toml_text_round_trips(text: str) -> None:
    try:
        text.encode()
    except UnicodeEncodeError:
        return  # a lone surrogate is not text that a file can hold
    assert tomllib.loads(f"x = {toml_value(text)}")["x"] == text


def test_lines_found_in_dotted_and_headed_tables() -> None:
    text = 'a = 1\nbed.name = "x"\n[lip]\n# all_mm = 2\nall_mm = 3\n[ layout ]\n count=1\n'
    assert line_of(text, ["bed", "name"]) == 2
    assert line_of(text, ["lip", "all_mm"]) == 5
    assert line_of(text, ["layout", "count"]) == 7
    assert line_of(text, ["layout", "turn"]) == 6
    assert line_of(text, ["feet"]) is None


def test_overrides_change_the_fact_and_only_it() -> None:
    plain = resolve(Preset.model_validate(changed()))
    measured = resolve(
        Preset.model_validate(changed(bed={"focus_height_mm": 3.4}, film={"cut_width_mm": 99.5}))
    )
    assert measured.bed.focus_height_mm == 3.4
    assert measured.film.cut_width_mm == 99.5
    own = {"source", "status", "sources"}
    back = measured.bed.model_copy(update={"focus_height_mm": plain.bed.focus_height_mm})
    assert back.model_dump(exclude=own) == plain.bed.model_dump(exclude=own)
    changed_sources = {s.value for s in measured.bed.sources} - {
        s.value for s in plain.bed.sources if s in measured.bed.sources
    }
    assert changed_sources == {"focus_height_mm"}


def test_a_laser_ban_cannot_be_overridden_by_a_preset() -> None:
    with pytest.raises(InputError):
        parse(GOOD + 'laser = "allowed"\n', "p.toml")


def test_strip_length_follows_frames() -> None:
    job = resolve(Preset.model_validate(changed(film={"format": "35mm-strip", "frames": 4})))
    # eight perforations of 4.750 mm to a frame: SMPTE ST 119:2011 scope (KS pitch 0.1870 in)
    assert job.film.cut_height_mm == pytest.approx(4 * 8 * 4.750)


def test_contradictions_are_refused() -> None:
    for changes, field in (
        ({"film": {"image_width_mm": 200.0}}, "film.image_width_mm"),
        ({"film": {"format": "35mm-strip", "frame_pitch_mm": 30.0}}, "film.frame_pitch_mm"),
        ({"bed": {"lamp_width_mm": 300.0}}, "bed.lamp_width_mm"),
        ({"bed": {"lamp_length_mm": 400.0}}, "bed.lamp_length_mm"),
        ({"base": {"modulus_low_mpa": 9000.0}}, "base.modulus_mpa"),
        ({"route": "laser"}, "material.name"),
    ):
        with pytest.raises(InputError) as caught:
            resolve(Preset.model_validate(changed(**changes)))
        assert caught.value.field == field


@pytest.mark.parametrize("key", keys("formats"))
def test_template_is_valid_for_every_format(key: str) -> None:
    text = template({"title": "x", "route": "print", "bed": {"name": "a3"}, "film": {"format": key},
                     "material": {"name": "petg"}})  # fmt: skip
    assert resolve(parse(text, "t.toml")).film.key == key


def test_every_key_of_the_template_can_be_uncommented() -> None:
    text = template({"title": "x", "route": "print", "bed": {"name": "a3"}, "film": {"format": "4x5"},
                     "material": {"name": "petg"}, "feet": {"count": 4}, "lid": {"tabs": 2}, "bars": {"ends": "fit"},
                     "cover": {"gap_mm": 0.2},
                     "carrier": {"insert_width_mm": 140.0, "insert_length_mm": 190.0},
                     "channel": {"rail_mm": 1.0}, "passes": {"overlap_mm": 15.0}, "wet": {"rim_mm": 14.0},
                     "glasses": {"rim_mm": 6.0}, "roll": {"frames": 36},
                     "more_films": [{"format": "roll-6x9-single", "count": 2}]})  # fmt: skip
    for line in text.splitlines():
        if (
            line.startswith("# ")
            and " = " in line
            and not line.endswith("=")
            and line[2:].split(" ")[0].islower()
        ):
            candidate = text.replace(line, line[2:], 1)
            assert parse(candidate, "t.toml")


def test_json_schema_is_current_and_judges_alike() -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "scripts" / "preset_schema.py"), "--check"],
        capture_output=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stderr
    schema = json.loads((ROOT / "presets" / "preset.schema.json").read_text())
    judge = jsonschema.Draft202012Validator(schema)
    for path in SHIPPED:
        assert not list(judge.iter_errors(tomllib.loads(path.read_text())))
    assert list(judge.iter_errors({**changed(), "titel": "x"}))
    assert list(judge.iter_errors(changed(bed={"focus_height_mm": -1.0})))


def test_there_are_at_least_eight_presets_of_all_routes() -> None:
    loaded = [load(path) for path in SHIPPED]
    assert len(loaded) >= 8
    assert {p.route for p in loaded} == {"print", "laser", "knife"}
    assert len({slug_of(p.title) for p in loaded}) == len(loaded)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("focus_height_mm = 3,2", "a decimal point, not a comma: focus_height_mm = 3.2"),
        ("focus_height_mm =", "focus_height_mm has no value"),
        ("focus_height_mm = # measured", "focus_height_mm has no value"),
        ("name = a4-wide", 'text stands in quotes: name = "a4-wide"'),
        ("= 3", "not valid TOML"),
    ],
)
def test_the_likeliest_slips_are_told_in_words(line: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(f"holders_preset = 1\n[bed]\n{line}\n", "mine.toml")
    assert words in caught.value.way_out
    assert caught.value.line == 3


CUT = """holders_preset = 1
title = "weir"
route = "knife"
bed = { name = "a4-wide" }
film = { format = "4x5" }

[layout]
count = 1

[material]
name = "mounting-board"
"""


@pytest.mark.parametrize(
    ("line", "field", "words"),
    [
        ("sheets_mm = 3", "material.sheets_mm", "must be a list of thicknesses, like [3.0, 4.0]"),
        ('sheets_mm = "3"', "material.sheets_mm", "must be a list of thicknesses, like [3.0, 4.0]"),
        ("sheets_mm = [3.0]\nsheet_prices = 4", "material.sheet_prices", "must be a list of prices"),
        ('sheets_mm = [3.0, "x"]', "material.sheets_mm.1", "must be a number"),
        ("sheets_mm = [" + "3.0, " * 13 + "]", "material.sheets_mm", "takes at most 12 values, not 13"),
        ('price_per_kg = "0.2"', "material.price_per_kg", "must be a number, without quotes"),
        ("feet = 4", "material.feet", "write [feet] on a line of its own"),
        ('route = "laser"', "material.route", "stands above the first table"),
        (
            "sheets_mm = [3.0]\nsheet_prices = [1.0, 2.0]",
            "material.sheet_prices",
            "one price for each of the 1",
        ),
        (
            "sheet_prices = [1.0]",
            "material.sheet_prices",
            "list the thicknesses of your sheets in sheets_mm first",
        ),
        ("sheets_mm = [3.0]\nsheet_prices = [-1.0]", "material.sheet_prices.0", "at least 0"),
        ("price_per_kg = 20.0", "material.price_per_kg", "set sheet_prices instead"),
    ],
)
def test_what_a_value_must_be_is_told_in_words_of_the_preset(line: str, field: str, words: str) -> None:
    error = refusal(CUT + line + "\n")
    assert error.field == field
    assert words in error.way_out
    for jargon in ("tuple", "Tuple", "valid", "integer", "boolean", "dictionary"):
        assert jargon not in error.way_out
    assert error.line is not None


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("count = 1", "count = 1.5", 'must be a whole number or "fill"'),
        ("count = 1", "count = 1\nlabel = 1", "must be true or false, without quotes"),
        ('name = "mounting-board"', "name = 3", "must be text in quotes"),
        ('route = "knife"', 'route = "knife"\nfeet = 4', "is a table: write [feet]"),
        ("count = 1", "count = 1\n[coupon]\nholes_mm = 20.1", "must be a list in square brackets, like"),
    ],
)
def test_kinds_of_value_are_told_in_words(old: str, new: str, words: str) -> None:
    assert words in refusal(CUT.replace(old, new)).way_out


def test_sheets_of_a_printed_holder_have_no_price() -> None:
    error = refusal(GOOD + "sheets_mm = [3.0]\nsheet_prices = [4.0]\n")
    assert "set price_per_kg instead" in error.way_out
    assert parse(GOOD + "price_per_kg = 20.0\n", "p.toml").material.price_per_kg == 20.0


@pytest.mark.parametrize(
    ("line", "field", "key"),
    [
        ("curl_per_m = 12.0", "base.curl_per_m", "set base.curl_high_per_m too"),
        ("curl_per_m = -9.0", "base.curl_per_m", "set base.curl_low_per_m too"),
        ("thickness_mm = 0.5", "base.thickness_mm", "set base.thickness_high_mm too"),
    ],
)
def test_a_value_outside_its_range_names_the_end_to_set(line: str, field: str, key: str) -> None:
    error = refusal(GOOD + f"[base]\n{line}\n")
    assert error.field == field
    assert key in error.way_out


def test_page_and_program_take_files_of_the_same_size() -> None:
    page = (ROOT / "holders" / "face" / "page" / "static" / "main.js").read_text(encoding="utf-8")
    assert f"file.size > {MAX_CARRIER_BYTES})" in page
    assert f"larger than {MAX_CARRIER_BYTES // 1024**2} MiB" in page


def test_a_key_that_takes_words_or_numbers_names_both_and_a_table_its_keys() -> None:
    error = refusal(CUT.replace("count = 1", "count = 1.5"))
    assert error.field == "layout.count"
    assert 'or "fill"' in error.way_out
    assert fields_at(("layout",))[:2] == ("count", "turn")
    assert fields_at(("layout", "count")) == ()
    assert "sheets_mm" not in fields_at(())


def test_so_many_prices_as_sheets_and_no_more() -> None:
    many = ", ".join(["3.0"] * 13)
    error = refusal(CUT + f"sheets_mm = [3.0]\nsheet_prices = [{many}]\n")
    assert error.field == "material.sheet_prices"
    assert "at most 12 values, not 13" in error.way_out
