"""The form holds every key of the schema once, in words; values go to a preset and back without loss."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.face.page.assets import assets
from holders.face.page.form.form import NEEDED, PICKS, _rest, form
from holders.face.page.form.values import OPTIONAL, Refused, preset_of, text_of, values_of
from holders.face.page.form.words import GROUPS, all_words, asked_in, sections_in
from holders.facts.models import Bed
from holders.preset.load import load, parse
from holders.preset.schema import Preset
from holders.preset.shipped import shipped_paths
from holders.preset.tables.rows import _choice
from holders.preset.words import Words
from tests.face.page.pages import PRINTED


def fields() -> list[dict[str, Any]]:
    return [
        field
        for group in form()["groups"]
        for field in [*group["fields"], *(f for part in group["more"] for f in part["fields"])]
    ]


def schema_paths() -> set[str]:
    found = set()
    schema = Preset.model_json_schema()
    for name, part in schema["properties"].items():
        refs = [o["$ref"] for o in (part, *part.get("anyOf", ())) if "$ref" in o]
        inner = schema["$defs"][refs[0].rpartition("/")[2]]["properties"] if refs else None
        found |= {f"{name}.{key}" for key in inner} if inner else {name}
    return found


def test_every_key_of_the_schema_is_asked_once() -> None:
    paths = [field["path"] for field in fields()]
    assert len(paths) == len(set(paths))
    assert set(paths) == schema_paths() - {path for path, words in all_words().items() if words.hidden}


def test_a_table_that_no_group_names_is_asked_all_the_same() -> None:
    field = {"path": "novel.key_mm", "label": "Key"}
    found = _rest({"novel.key_mm": field, "title": {"path": "title"}}, {"title"})
    assert [(part["title"], part["fields"]) for part in found] == [("Novel", [field])]


def test_names_are_for_keys_that_exist() -> None:
    assert set(all_words()) == schema_paths()
    assert set(PICKS) <= schema_paths()


def test_every_place_in_the_form_is_taken_once_and_belongs_to_a_question() -> None:
    questions = {group.key for group in GROUPS}
    asked = [words.asked for words in all_words().values() if words.asked]
    assert len(set(asked)) == len(asked)
    assert {question for question, _ in asked} == questions
    assert sum(len(asked_in(key)) for key in questions) == len(asked)
    for key in questions:
        places = [section.asked[1] for section, _ in sections_in(key)]
        assert len(set(places)) == len(places)
    tables = {path.partition(".")[0] for path in schema_paths() if "." in path}
    assert {name for key in questions for _, names in sections_in(key) for name in names} >= tables


def test_words_for_a_key_that_is_not_there_are_refused() -> None:
    with pytest.raises(TypeError, match="bed: words for keys that it has not: colour"):
        _choice("bed", Bed, "The scanner.", {"colour": Words("Colour")})


def test_labels_are_unlike_within_a_list_and_free_of_code() -> None:
    for group in form()["groups"]:
        for part in [group, *group["more"]]:
            labels = [field["label"] for field in part["fields"]]
            assert len(labels) == len(set(labels)), labels
    for field in fields():
        assert "_" not in field["label"], field
        assert "`" not in field["help"], field


def test_numbers_bring_unit_and_bounds() -> None:
    by = {field["path"]: field for field in fields()}
    assert by["lip.all_mm"]["unit"] == "mm"
    assert (by["lip.all_mm"]["min"], by["lip.all_mm"]["max"]) == (0, 50)
    assert by["base.density_kg_m3"]["unit"] == "kg/m³"
    assert by["room.ambient_c"]["unit"] == "°C"
    assert by["bed.lamp_rise_k"]["unit"] == "K"
    assert by["layout.count"]["kind"] == "count"
    assert by["layout.label"]["kind"] == "switch"


@pytest.mark.parametrize("path", shipped_paths(), ids=lambda p: p.stem)
def test_a_shipped_preset_survives_form_and_saving(path: Path) -> None:
    values = values_of(path.read_text(encoding="utf-8"), path.name)
    text, preset = text_of(values)
    assert preset == load(path)
    assert parse(text, "saved") == load(path)
    assert values_of(text, "saved") == values


def test_the_page_knows_which_tables_are_there_or_not() -> None:
    kept = assets()["state.js"].data.decode().split("OPTIONAL = ")[1].split(";")[0]
    assert set(json.loads(kept)) == OPTIONAL


@pytest.mark.parametrize("table", sorted(OPTIONAL - {"carrier"}))  # a carrier needs its sizes
def test_a_table_that_is_there_or_not_stays_there_without_keys(table: str) -> None:
    text, preset = text_of({**PRINTED, table: {}})
    assert getattr(preset, table) is not None
    assert values_of(text, "x")[table] == {}


def test_feet_and_lid_without_keys_stay_there() -> None:
    text, _ = text_of({**PRINTED, "feet": {}, "lid": {}})
    assert parse(text, "x").feet is not None
    assert values_of(text, "x")["feet"] == {}
    assert values_of(text, "x")["lid"] == {}


def test_every_bad_field_gets_its_own_message() -> None:
    bad = {
        **PRINTED,
        "lip": {"all_mm": "abc", "left_mm": 99},
        "feet": {"count": 2},
        "layout": {"turn": "perhaps"},
    }
    with pytest.raises(Refused) as caught:
        preset_of(bad)
    found = {error.field: error.way_out for error in caught.value.errors}
    assert set(found) == {"lip.all_mm", "lip.left_mm", "feet.count", "layout.turn"}
    assert "number" in found["lip.all_mm"]
    assert found["lip.left_mm"] == "must be at most 50 mm"
    assert found["feet.count"] == "must be at least 3"
    assert "more after this" not in "".join(found.values())


def test_an_empty_form_names_what_is_needed() -> None:
    with pytest.raises(Refused) as caught:
        preset_of({})
    assert {e.field for e in caught.value.errors} == {"title", "route", "bed", "film", "material"}
    assert {path.split(".")[0] for path in NEEDED} == {"route", "bed", "film", "material"}


@pytest.mark.parametrize(
    "values",
    [
        {"bed": []},
        {"bed": {"name": {"name": 1}}},
        {"lip": None},
        {"title": ["x"]},
        {"material": {"name": "petg", "sheets_mm": ["a", 1]}},
        {"holders_preset": 7},
        {"feet": {"": 1}},
        {"": {}},
        {"lip.all_mm": 2},
    ],
)
def test_odd_shapes_are_refused_in_words(values: dict[str, Any]) -> None:
    with pytest.raises(Refused) as caught:
        preset_of({**PRINTED, **values})
    assert caught.value.errors
    assert all(error.way_out for error in caught.value.errors)


PLAIN = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8)
TREE = st.recursive(
    PLAIN, lambda x: st.lists(x, max_size=3) | st.dictionaries(st.text(max_size=8), x, max_size=3)
)
KEYS = st.sampled_from(
    ["bed", "film", "lip", "feet", "lid", "layout", "title", "route", "name", "all_mm", "count"]
)


@settings(max_examples=60, deadline=None)
@given(st.dictionaries(KEYS, st.dictionaries(KEYS, TREE, max_size=3) | TREE, max_size=4))
def test_nothing_a_browser_sends_ends_otherwise(values: dict[str, Any]) -> None:
    try:
        preset_of({**PRINTED, **values})
    except Refused as refused:
        assert refused.errors


def test_a_broken_file_is_refused_with_its_line() -> None:
    text = (
        'holders_preset = 1\ntitle = "x"\nroute = "print"\n[bed]\nname = "a4-wide"\n[film]\nformat = "4x5"\n'
    )
    text += '[material]\nname = "petg"\n[lip]\nall_mm = "wide"\n'
    with pytest.raises(InputError) as caught:
        values_of(text, "the file")
    assert (caught.value.field, caught.value.line) == ("lip.all_mm", 11)
    with pytest.raises(InputError):
        values_of("#" * 70_000, "the file")
