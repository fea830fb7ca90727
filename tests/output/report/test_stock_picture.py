"""The picture of a stock sheet: sheet, pieces and offcut to one scale, each where it lies, its words on it."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from types import SimpleNamespace
from typing import Any, cast

import pytest

from holders.design.model import Rect
from holders.geometry.outline import rectangle
from holders.output.draw.stock import RIM_MM, one_sheet, sheets_picture
from holders.workshop.nest.nest_job import CutSheet

NS = "{http://www.w3.org/2000/svg}"
SCALE = 0.25


def sheet(offcut: Rect | None = None) -> CutSheet:
    """A sheet of 400 x 200 mm with a frame, its window cut first, and a mark."""
    cuts = [
        SimpleNamespace(part="frame", copy=0, kind="through", outline=rectangle(30, 30, 60, 10)),
        SimpleNamespace(part="frame", copy=0, kind="through", outline=rectangle(10, 10, 100, 50)),
        SimpleNamespace(part="frame", copy=0, kind="mark", outline=None),
        SimpleNamespace(part="lid", copy=0, kind="through", outline=rectangle(340, 170, 50, 20)),
    ]
    use = SimpleNamespace(width_mm=400.0, height_mm=200.0, offcut=offcut)
    return cast(
        CutSheet, SimpleNamespace(use=use, number=3, thickness_mm=2.0, cuts=SimpleNamespace(cuts=cuts))
    )


def drawn(picture: Any) -> tuple[list[tuple[float, float, float, float]], dict[str, tuple[float, float]]]:
    """Boxes of the paths (left, top, right, bottom; mm on the paper), and where words stand."""
    root = ET.fromstring(picture.svg("t")).find(f"{NS}g")
    assert root is not None
    boxes = []
    for path in root.iter(f"{NS}path"):
        numbers = [float(n) for n in re.findall(r"-?[\d.]+", path.attrib["d"])]
        x, y = numbers[::2], numbers[1::2]
        boxes.append((min(x), min(y), max(x), max(y)))
    words = {e.text or "": (float(e.attrib["x"]), float(e.attrib["y"])) for e in root.iter(f"{NS}text")}
    return boxes, words


def size(box: tuple[float, float, float, float]) -> tuple[float, float]:
    return (box[2] - box[0]) / SCALE, (box[3] - box[1]) / SCALE


def test_sheet_pieces_and_offcut_are_to_one_scale_where_they_lie() -> None:
    boxes, words = drawn(one_sheet(sheet(Rect(120, 20, 160, 100)), SCALE))
    stock, frame, lid, rest = boxes
    assert size(stock) == pytest.approx((400.0, 200.0))
    assert size(frame) == pytest.approx((100.0, 50.0))  # the window lies inside it
    assert size(lid) == pytest.approx((50.0, 20.0))
    assert size(rest) == pytest.approx((160.0, 100.0))
    for box, (left, bottom) in ((frame, (10, 10)), (lid, (340, 170)), (rest, (120, 20))):
        assert (box[0] - stock[0]) / SCALE == pytest.approx(left)
        assert (stock[3] - box[3]) / SCALE == pytest.approx(bottom)
    assert stock[0] == RIM_MM
    assert words["offcut 160 x 100"] == pytest.approx(((rest[0] + rest[2]) / 2, (rest[1] + rest[3]) / 2))
    for name, box in (("frame", frame), ("lid", lid)):
        x, y = words[name]
        assert x == pytest.approx((box[0] + box[2]) / 2)
        assert box[1] < y < box[3]
    assert "3: 2 mm, 400 x 200 mm" in words


def test_no_offcut_is_drawn_where_there_is_none() -> None:
    boxes, words = drawn(one_sheet(sheet(), SCALE))
    assert len(boxes) == 3
    assert not [word for word in words if word.startswith("offcut")]


def test_two_sheets_stand_beside_one_another() -> None:
    text = sheets_picture([sheet(), sheet(), sheet()], 180.0).svg("t").decode()
    assert text.count("3: 2 mm, 400 x 200 mm") == 3


def test_of_a_sheet_that_is_mostly_left_over_the_offcut_that_will_do_is_drawn() -> None:
    small = sheet()
    small.cuts.cuts.pop()
    boxes, words = drawn(one_sheet(small, SCALE))
    assert size(boxes[0]) == pytest.approx((120.0, 70.0))  # the frame with its rim of 10 mm on all sides
    assert "3: 2 mm, 400 x 200 mm" in words
