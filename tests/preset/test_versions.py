"""Presets as older versions wrote them: they open, each change is said in a line, and no key is lost without one.

``corpus/`` holds presets as they were written at the time in their names, each valid for the code of that time.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.face.page.work.reading import opened
from holders.preset.load import parse
from holders.preset.resolve import resolve
from holders.preset.schema import FORMAT_VERSION
from holders.preset.shipped import shipped_folder
from holders.preset.versions import STEPS, current_data, current_text
from holders.study import study_file

CORPUS = sorted((Path(__file__).parent / "corpus").glob("*.toml"))
# what opening them changes: the words that name it, and the keys with their values from then on
ROUND_FEET: tuple[str, dict[str, Any]] = ('feet.form = "round" written out', {"feet.form": "round"})
CHANGED: dict[str, list[tuple[str, dict[str, Any]]]] = {
    "20261125T1530-5x7-glass-cover": [("cover.buttons is by now cover.catches", {"cover.buttons": None})],
    "20261125T1541-4x5-insert": [
        ('carrier.corner = "slanted" written out', {"carrier.corner": "slanted"}),
    ],
    "20261130T0700-screwed-buttons": [
        ("cover.buttons is by now cover.catches", {"cover.buttons": None}),
        ("cover.button_thickness_mm taken away", {"cover.button_thickness_mm": None}),
        ("cover.screw taken away", {"cover.screw": None}),
    ],
    "20261125T1004-printer-since-gone": [
        (
            "the printer p256 is in the table no more: p250, with 256 x 256 x 256 mm where the preset says nothing",
            {"printer.name": "p250", "printer.build_x_mm": 256.0, "printer.build_y_mm": 256.0},
        )
    ],
    "20261125T2302-readings-out-of-order": [
        ("printer.layer_mm = 0.008 raised to 0.01", {"printer.layer_mm": 0.01}),
        ("coupon.heights_mm = 2, 1, 3 taken away", {"coupon.heights_mm": None}),
    ],
    "20261126T0640-stiffer-base": [
        (
            "base.modulus_low_mpa = 4000, base.modulus_high_mpa = 5500 written out",
            {"base.modulus_low_mpa": 4000.0, "base.modulus_high_mpa": 5500.0},
        )
    ],
    "20261128T2115-lid-of-usual-play": [
        ("lid.play_mm = 0.2 written out", {"lid.play_mm": 0.2}),
    ],
    "20261128T2115-no-pocket-cut": [
        ("layout.pocket_depth_mm = 0 taken away", {"layout.pocket_depth_mm": None}),
    ],
    "20261126T0640-small-roll-short-pitch": [
        ("film.image_height_mm = 60 written out", {"film.image_height_mm": 60.0})
    ],
}


def keys_of(data: dict[str, Any]) -> dict[str, Any]:
    """All keys with their tables, and their values."""
    found: dict[str, Any] = {}
    for name, value in data.items():
        found |= (
            {f"{name}.{key}": v for key, v in value.items()} if isinstance(value, dict) else {name: value}
        )
    return found


def test_a_step_leads_from_every_version_to_the_next() -> None:
    assert len(STEPS) + 1 == FORMAT_VERSION
    assert len(CORPUS) >= 25
    for path in shipped_folder().glob("*.toml"):
        assert tomllib.loads(path.read_text(encoding="utf-8"))["holders_preset"] == FORMAT_VERSION, path.name


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_old_presets_open_and_say_what_was_changed(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    preset = parse(text, path.name)
    resolve(preset)
    new, lines = current_text(text)
    assert parse(new, path.name).model_copy(update={"holders_preset": 0}) == preset.model_copy(
        update={"holders_preset": 0}
    )
    expected = [*CHANGED.get(path.stem, []), *([ROUND_FEET] if "\n[feet]" in text else [])]
    assert len(lines) == len(expected)
    for line, (words, _) in zip(lines, expected, strict=True):
        assert line.startswith(("preset of version 1: ", "preset of version 2: "))
        assert words in line
    # every key is still there with its value, but those that a line speaks of; and the comments are
    spoken = {key: value for _, keys in expected for key, value in keys.items()}
    before, after = keys_of(tomllib.loads(text)), keys_of(tomllib.loads(new))
    for key, value in before.items():
        if key != "holders_preset":
            assert after.get(key) == spoken.get(key, value), key
    assert set(after) - set(before) == {key for key in spoken if key not in before}
    assert after["holders_preset"] == (FORMAT_VERSION if expected else tomllib.loads(text)["holders_preset"])
    assert [row for row in new.splitlines() if row.startswith("#")] == [
        row for row in text.splitlines() if row.startswith("#")
    ]
    if not expected:
        assert new == text
    assert current_text(new) == (new, ())  # once is enough
    said = preset.model_dump(exclude_unset=True)
    assert set(keys_of(said)) >= set(after)  # none is ignored


SHORT = [path for path in CORPUS if path.stem in CHANGED and "base" not in path.stem]


@pytest.mark.parametrize(
    "path",
    [pytest.param(path, marks=() if path in SHORT else pytest.mark.slow) for path in CORPUS],
    ids=lambda path: path.stem,
)
def test_old_presets_are_designed(path: Path) -> None:
    study = study_file(path)
    assert study.design.parts
    told = [note for note in study.design.notes if note.startswith("preset of version")]
    assert len(told) == len(CHANGED.get(path.stem, []))
    assert study.preset_text == current_text(path.read_text(encoding="utf-8"))[0]


def test_the_page_says_what_was_changed() -> None:
    path = next(path for path in CORPUS if path.stem.endswith("printer-since-gone"))
    answer = opened({"data": path.read_bytes(), "name": path.name})
    assert answer["ok"]
    assert answer["values"]["printer"]["name"] == "p250"
    assert answer["values"]["printer"]["build_z_mm"] == 200.0  # the preset's own stays
    (note,) = answer["notes"]
    assert "p256" in note


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("[printer]\nlayer_mm = 0.005\n", "at least 0.01"),
        ("[coupon]\nheights_mm = [3.0, 2.0]\n", "the stair climbs"),
        ('[printer]\nname = "p256"\n', "did you mean"),
        ("[base]\nmodulus_mpa = 4200.0\n", "lies outside its range"),
    ],
)
def test_a_preset_of_today_is_held_to_todays_rules(line: str, words: str) -> None:
    text = (
        'holders_preset = 2\ntitle = "x"\nroute = "print"\nbed.name = "a4-wide"\nfilm.format = "4x5"\n'
        f'material.name = "petg"\n{line}'
    )
    with pytest.raises(InputError, match=words):
        resolve(parse(text, "mine.toml"))
    opens = text.replace("holders_preset = 2", "holders_preset = 1")
    resolve(parse(opens, "mine.toml"))


def test_an_unknown_key_is_refused_at_every_version() -> None:
    for version in range(1, FORMAT_VERSION + 1):
        text = (
            CORPUS[0].read_text(encoding="utf-8").replace("holders_preset = 1", f"holders_preset = {version}")
        )
        with pytest.raises(InputError, match="lipp"):
            parse(text + "\n[lipp]\nall_mm = 3.0\n", "mine.toml")


@pytest.mark.parametrize(
    "data",
    [
        {
            "holders_preset": 1,
            "printer": 3,
            "base": [],
            "coupon": {"heights_mm": "2"},
            "film": {"format": []},
        },
        {"holders_preset": 1, "printer": {"name": [1]}, "base": {"name": {}, "modulus_mpa": "x"}},
        {"holders_preset": True, "printer": {"layer_mm": 0.001}},
        {"holders_preset": 0, "printer": {"layer_mm": 0.001}},
        {"printer": {"layer_mm": 0.001}},
    ],
)
def test_what_cannot_be_read_is_left_to_be_refused(data: dict[str, Any]) -> None:
    assert current_data(data) == data


def test_a_text_that_is_no_toml_stays() -> None:
    assert current_text("holders_preset = \n") == ("holders_preset = \n", ())
