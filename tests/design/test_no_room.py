"""Film too large for the bed: every way out that is named makes room, and none is named that does not."""

from __future__ import annotations

import re
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.design.plan.layout import lay_out
from tests.presets_made import job


def refusal(**changes: Any) -> str:
    with pytest.raises(InputError) as caught:
        lay_out(job(**changes))
    return caught.value.way_out


def test_a_larger_bed_is_named_where_only_that_helps() -> None:
    narrow = {"bed": {"name": "a4-narrow"}, "film": {"format": "8x10"}}
    words = refusal(**narrow)
    beds = re.search(r"take a bed that is large enough: ([\w, -]+)", words)
    assert beds is not None
    assert "lip" not in words
    assert "wall_mm" not in words
    for name in beds[1].split(", "):
        assert lay_out(job(**{**narrow, "bed": {"name": name}})).places
    assert "a4-narrow" not in beds[1].split(", ")


def test_wider_lips_are_named_where_they_are_enough() -> None:
    """A lamp area a little narrower than the window: the clear border gives what is missing."""
    tight: dict[str, Any] = {
        "bed": {"name": "a4-wide", "lamp_x_mm": 40.0, "lamp_width_mm": 95.0},
        "lip": {"all_mm": 2.0},  # a window of 96 mm
        "layout": {"turn": "never"},
    }
    words = refusal(**tight)
    lip = re.search(r"set lip.all_mm = ([\d.]+)", words)
    assert lip is not None
    assert lay_out(job(**{**tight, "lip": {"all_mm": float(lip[1])}})).places


def test_turning_is_named_where_it_is_enough() -> None:
    tight = {"bed": {"name": "a4-wide", "lamp_width_mm": 100.0}, "layout": {"turn": "always"}}
    words = refusal(**tight)
    assert 'set layout.turn = "auto"' in words
    assert lay_out(job(**{**tight, "layout": {"turn": "auto"}})).places


def test_a_small_outside_is_named() -> None:
    words = refusal(layout={"outer_width_mm": 90.0, "turn": "never"})
    assert "leave out layout.outer_width_mm" in words


def test_nothing_helps_is_said() -> None:
    words = refusal(
        film={"format": "8x10", "cut_width_mm": 900.0, "cut_height_mm": 900.0, "image_width_mm": 890.0}
    )
    assert words.endswith(
        "no bed known here takes it: give your own bed's measurements, or take a smaller film"
    )
