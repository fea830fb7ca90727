"""A key that is set stands where its line was commented out, and what is supposed is marked."""

from __future__ import annotations

import pytest

from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.template import short_template

TEXT = """title = "weir"

# --- what it is made of
[material]
name = "acrylic-cast"
# Measured thicknesses.
# sheets_mm = []

# --- a glass plate
[cover]
# Thickness of the glass.
thickness_mm = 2.0
"""


def test_a_key_takes_the_line_that_was_commented_out_for_it() -> None:
    made = with_values(TEXT, {"material.sheets_mm": [2.0, 3.0]})
    assert made == TEXT.replace("# sheets_mm = []", "sheets_mm = [2.0, 3.0]")


def test_a_key_without_such_a_line_stands_above_the_next_tables_comments() -> None:
    made = with_values(TEXT, {"material.finish": "dark"})
    before, after = made.split("# --- a glass plate")
    assert 'finish = "dark"' in before
    assert "finish" not in after
    assert with_values(TEXT, {"cover.thickness_mm": 4.0}) == TEXT.replace("2.0", "4.0")


@pytest.mark.parametrize(
    ("key", "value"), [("bed.focus_sigma_mm", 0.03), ("material.sheets_mm", [2.0]), ("feet.count", 6)]
)
def test_a_new_preset_has_each_key_once_after_an_edit(key: str, value: object) -> None:
    values = {"title": "weir", "route": "laser", "bed": {"name": "a4-wide"}, "film": {"format": "4x5"},
              "material": {"name": "acrylic-cast"}}  # fmt: skip
    made = with_values(short_template(values, "weir.toml"), {key: value})
    name = key.split(".")[1]
    assert sum(line.lstrip("# ").startswith(f"{name} =") for line in made.split("\n")) == 1
    assert getattr(getattr(parse(made, "weir"), key.split(".", maxsplit=1)[0]), name) in (
        value,
        tuple(value) if isinstance(value, list) else value,
    )
