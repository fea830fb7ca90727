"""A printer chosen for a holder as large as the glass is chosen again for a frame that became small."""

from __future__ import annotations

from holders.facts import tables
from holders.preset.template import template
from holders.search.propose import least_printer

SMALL = {
    "title": "Mine",
    "route": "print",
    "bed": {"name": "a4-wide"},
    "film": {"format": "4x5", "emulsion": "down"},
    "material": {"name": "petg"},
    "layout": {"count": 1, "outer_width_mm": 125.0, "outer_length_mm": 150.0},
    "printer": {"name": "p300"},
}


def test_a_small_frame_takes_the_smallest_printer_that_makes_it_whole() -> None:
    less = least_printer(SMALL, template)
    row = tables.printer(less["printer"]["name"])
    assert row.build_x_mm < tables.printer("p300").build_x_mm
    assert row.build_x_mm - 2 * row.margin_mm >= 125.0
    assert row.build_y_mm - 2 * row.margin_mm >= 150.0


def test_a_frame_as_large_as_the_glass_keeps_its_printer() -> None:
    large = {**SMALL, "layout": {"count": 1}}
    assert least_printer(large, template)["printer"]["name"] == "p300"
