"""Lengths written with a unit, a fraction or a decimal comma."""

from __future__ import annotations

import pytest

from holders.core.errors import InputError
from holders.core.lengths import length_mm
from holders.preset.load import parse

GOOD = """
holders_preset = 1
title = "weir"
route = "knife"
[bed]
name = "a4-wide"
focus_height_mm = {height}
[film]
format = "4x5"
[material]
name = "mat-board"
sheets_mm = {sheets}
"""


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3.1 mm", 3.1),
        ("3,1", 3.1),
        ("0.3cm", 3.0),
        ("1/8 in", 3.175),  # 25.4 mm to the inch exactly: NIST SP 811, appendix B
        ('1 1/2"', 38.1),
        ("2 inches", 50.8),
        ("-0,5 mm", -0.5),
    ],
)
def test_a_length_in_mm(text: str, mm: float) -> None:
    assert length_mm(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize(
    "text", ["", "mm", "3 ft", "1/0 in", "3.1.2", "1,200.5", "1 2 mm", "nan", "1e3", "9" * 60]
)
def test_what_is_no_length(text: str) -> None:
    assert length_mm(text) is None


def test_a_preset_takes_lengths_with_units() -> None:
    found = parse(GOOD.format(height='"1/8 in"', sheets='["3,04", 1.42, "0.55 mm"]'), "p.toml")
    assert found.bed.focus_height_mm == pytest.approx(3.175)
    assert found.material.sheets_mm == pytest.approx((3.04, 1.42, 0.55))


def test_what_is_no_length_is_refused_with_field_value_and_way_out() -> None:
    with pytest.raises(InputError) as refused:
        parse(GOOD.format(height='"3 feet"', sheets="[3.0]"), "p.toml")
    assert (refused.value.field, refused.value.value) == ("bed.focus_height_mm", "3 feet")
    assert '"3.1 mm"' in refused.value.way_out


def test_limits_hold_for_lengths_with_units() -> None:
    with pytest.raises(InputError) as refused:
        parse(GOOD.format(height="3.0", sheets='["2 in"]'), "p.toml")
    assert refused.value.field.startswith("material.sheets_mm")
