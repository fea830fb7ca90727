"""What was measured stands in for a row's own values: within the row's bounds, and no more of it than is read."""

from __future__ import annotations

import pytest

from holders.core.errors import InputError
from holders.preset.load import parse
from holders.preset.resolve import resolve
from holders.preset.tables.rows import MaterialChoice

PRINTED = """holders_preset = 1
title = "weir"
route = "print"
[bed]
name = "a4-wide"
[film]
format = "4x5"
[material]
name = "petg"
"""


def test_of_two_values_out_of_bounds_in_python_the_first_is_named() -> None:
    """A copy of pydantic's checks nothing; the row's own bounds do, and a refusal names the table's key."""
    preset = parse(PRINTED, "p.toml")
    bed = preset.bed.model_copy(update={"focus_band_mm": -1.0, "focus_height_mm": -2.0})
    with pytest.raises(InputError) as refusal:
        resolve(preset.model_copy(update={"bed": bed}))
    assert refusal.value.field == "bed.focus_height_mm"
    assert refusal.value.value == -2.0


@pytest.mark.parametrize("key", ["sheets_mm", "sheet_prices"])
def test_twelve_sheets_with_their_prices_are_read_and_no_more(key: str) -> None:
    """The schema that editors check a preset by says the same number."""
    read = MaterialChoice.model_validate({"name": "mdf", key: [3.0] * 12})
    assert getattr(read, key) == (3.0,) * 12
    with pytest.raises(ValueError, match="at most 12"):
        MaterialChoice.model_validate({"name": "mdf", key: [3.0] * 13})
    assert MaterialChoice.model_json_schema()["properties"][key]["maxItems"] == 12
