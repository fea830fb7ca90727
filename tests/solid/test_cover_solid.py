"""A frame with screw holes and its turn buttons as solids and as cut parts."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from holders.design.model import Design
from holders.design.parts.volume import part_volume
from holders.design.pieces.cutting import cut_part
from holders.design.resolve import design
from holders.fittings.cover.pane import Pane
from holders.geometry.outline import bounds
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.design.test_cover import LASER
from tests.presets_made import job
from tests.solid.sound import sound

PRESET = Path(__file__).parent.parent.parent / "presets" / "5x7-glass-cover.toml"


def made() -> Design:
    return design(resolve(load(PRESET)))


def test_every_part_is_one_valid_closed_body_of_its_slabs_volume() -> None:
    for part in made().parts:
        sound(part)


def test_a_button_is_a_bar_with_a_hole() -> None:
    """2 mm of a 7.6 x 10.9 mm bar with corners of 1.9 mm and a hole of 3.4 mm."""
    button = next(part for part in made().parts if part.name == "button-foot")
    x0, y0, x1, y1 = button.box
    area = (x1 - x0) * (y1 - y0) - (4 - math.pi) * 1.9**2 - math.pi * 1.7**2
    assert part_volume(button) == pytest.approx(2.0 * area, rel=1e-9)


def test_screw_holes_take_their_volume() -> None:
    without = design(job(cover={"buttons": 0}, layout={"label": False}))
    holed = design(job(cover={"buttons": 4}, layout={"label": False}))
    assert holed.find(Pane) is not None
    taken = part_volume(without.parts[0]) - part_volume(holed.parts[0])
    assert taken == pytest.approx(4 * math.pi * 1.25**2 * holed.find(Pane).screw_depth, rel=1e-6)


def test_cut_sheets_have_the_holes_that_the_screws_need() -> None:
    """With a kerf of 0.2 mm a hole for an M3 thread (2.5 mm) is drawn 2.3 mm wide; the lowest sheet stays whole."""
    cut = design(job(**LASER, cover={"thickness_mm": 2.0}))
    holes = {}
    for part in cut.parts:
        widths = []
        for path in cut_part(part, 0.2).inner:
            x0, _, x1, _ = bounds(path)
            if x1 - x0 < 5:
                widths.append(round(x1 - x0, 6))
        holes[part.name] = widths
    frame = [name for name in holes if name.startswith("sheet")]
    assert holes[frame[0]] == []
    assert holes[frame[-1]] == [2.3] * 4
    assert holes["button-foot"] == holes["button-head"] == [3.2]
