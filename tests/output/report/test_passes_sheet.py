"""The sheet of a holder that moves: what it says of each pass is enough to put the picture together again."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from holders.design.model import Design
from holders.design.resolve import design
from holders.face.page.work.answers import numbers
from holders.output.crop_boxes import INCH_MM, USUAL_PPI, ScanSetting, scan_setting
from holders.output.draw.passes import passes_drawn
from holders.output.draw.plan import plan
from holders.output.sheet import passes
from holders.output.sheet.blocks import Drawing, Items, Table
from holders.output.sheet.scanning import section
from tests.presets_made import job

TWO = {"bed": {"name": "a4-small"}, "film": {"format": "5x7"}, "passes": {}}
UPRIGHT = {
    "name": "a4-small", "lamp_x_mm": 55.5, "lamp_width_mm": 105.0, "lamp_y_mm": 90.0, "lamp_length_mm": 130.0,
}  # fmt: skip


def crops(**changes: Any) -> tuple[Design, Table]:
    asked = job(**{**TWO, **changes})
    made = design(asked)
    blocks = section((asked.film,), asked.preset, made).blocks
    (table,) = [b for b in blocks if isinstance(b, Table) and b.caption.startswith("Crop boxes")]
    return made, table


def test_boxes_of_a_worked_example() -> None:
    """Window 172 mm, lamp area from 103 to 208 mm, step 68: half a millimetre to spare at either end."""
    _, table = crops()
    assert table.head[0] == "pass and box"
    by = {row[:2]: row[-3:] for row in table.rows}  # from the home corner, size, in the joined picture
    assert by["1 crop", "mm"] == ("47.0,\u00a0103.0", "122.0,\u00a0104.5", "")
    assert by["2 crop", "mm"] == ("47.0,\u00a0103.5", "122.0,\u00a0104.5", "")
    assert by["1 crop", "pixels"][-1] == "0, 6378"  # 67.5 mm at 2400 ppi
    assert by["2 crop", "pixels"][-1] == "0, 0"


@pytest.mark.parametrize(
    "changes", [{}, {"bed": UPRIGHT}, {"bed": {"name": "a4-strip"}}], ids=["2", "2x2", "3"]
)
def test_the_passes_joined_by_the_table_are_the_picture(changes: dict[str, Any]) -> None:
    """A film painted with a number for every 0.1 mm, seen through each pass as the bed sees it, put together again."""
    made, table = crops(**changes)
    window, cell = made.windows[0].opening, 0.1
    wide, high = round(window.width / cell), round(window.height / cell)
    film = np.arange(wide * high, dtype=np.int64).reshape(high, wide)
    joined = np.full_like(film, -1)
    by = {row[:2]: row[-3:] for row in table.rows}
    for number, (across, along) in enumerate(made.stands, 1):
        corner, sides, _ = by[f"{number} crop", "mm"]
        (left, down), (width, height) = corner.split(","), sides.split(",")
        place = by[f"{number} crop", "pixels"][-1]
        # what lies over the crop box on the bed when the holder has been moved
        i, j = ((float(v) - at) / cell for v, at in ((left, window.x + across), (down, window.y + along)))
        size = [round(float(v) / cell) for v in (width, height)]
        # the lamp lights the whole crop box, and the box lies in the window
        box = [float(v) for v in (left, down, width, height)]
        assert made.lamp.x <= box[0] + 0.051
        assert box[0] + box[2] <= made.lamp.right + 0.051
        assert made.lamp.y <= box[1] + 0.051
        assert box[1] + box[3] <= made.lamp.top + 0.051
        seen = film[round(j) : round(j) + size[1], round(i) : round(i) + size[0]]
        to_x, to_y = (round(float(v) / USUAL_PPI * INCH_MM / cell) for v in place.split(", "))
        part = joined[to_y : to_y + size[1], to_x : to_x + size[0]]
        assert part.shape == seen.shape
        part[:] = np.where(part < 0, seen, np.where(part == seen, seen, -2))
    assert np.array_equal(joined, film)


def test_the_plan_of_passes() -> None:
    made = design(job(**{**TWO, "bed": UPRIGHT}))
    (told,) = passes.sections(made, ScanSetting(1200.0, "as set"))
    steps = next(b for b in told.blocks if isinstance(b, Items)).rows
    assert len(steps) == 4
    assert "against the left rim and the home rim" in steps[0]
    assert "step blocks of 43.0 mm from the rim at the head to the home rim" in steps[1]
    assert "step blocks of 18.0 mm from the right rim to the left rim" in steps[2]
    # the last goes back: the blocks return to the head
    assert "step blocks of 43.0 mm from the home rim to the rim at the head" in steps[3]
    assert any(isinstance(b, Drawing) for b in told.blocks)
    words = " ".join(getattr(b, "text", "") for b in told.blocks)
    assert "One exposure for all passes" in words
    assert "No automatic exposure, levels" in words


def test_a_holder_that_stays_has_no_plan_of_passes() -> None:
    asked = job(bed={"name": "a4-wide"}, film={"format": "5x7"})
    assert passes.sections(design(asked), scan_setting(asked.preset)) == ()


def test_drawings_show_every_place() -> None:
    made = design(job(**TWO))
    assert passes_drawn(made, 110.0).svg("x").decode().count(">Pass ") == 2
    both = [plan(one, 0.5, dimensions=False).svg("x").decode() for one in (made, replace(made, fitted=()))]
    assert both[0].count("<path") == both[1].count("<path") + 1  # the frame's outline 68 mm on


def test_the_page_says_how_many_passes() -> None:
    rows = dict(numbers(design(job(**{**TWO, "bed": UPRIGHT}))))
    assert rows["Passes"] == "4, the holder moved by 18.0 mm across the bed and 43.0 mm along the bed in all"
    assert (
        dict(numbers(design(job(**TWO))))["Passes"] == "2, the holder moved by 68.0 mm along the bed in all"
    )
    assert "Passes" not in dict(numbers(design(job(bed={"name": "a4-wide"}))))
