"""A frame with pin holes and its catches as solids and as cut parts."""

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


def test_a_catch_is_its_pad_its_legs_its_ring_and_its_nose() -> None:
    """3 mm of: a pad of 10.5 x 6.1 mm with two holes of 3 mm; two legs of 1.6 mm; half a ring of 1.45 and 3.05 mm; a
    nose of 6 mm that reaches 2.5 mm over the pocket from 0.5 mm beside it, its two corners rounded by 1.5 mm."""
    catch = next(part for part in made().parts if part.name == "catch-foot")
    length = 20.0 + 3.0  # from the nose's middle to the ring, and half the nose
    pad = 10.5 * 6.1 - 2 * math.pi * 1.5**2
    legs = 1.6 * length + 1.6 * (length + 0.6)
    ring = math.pi / 2 * (3.05**2 - 1.45**2)
    nose = 6.0 * 3.0 - (2 - math.pi / 2) * 1.5**2
    assert part_volume(catch) == pytest.approx(3.0 * (pad + legs + ring + nose), rel=1e-9)


def test_pin_holes_take_their_volume() -> None:
    without = design(job(cover={"catches": 0}, layout={"label": False}))
    holed = design(job(cover={"catches": 2}, layout={"label": False}))
    assert holed.find(Pane) is not None
    taken = part_volume(without.parts[0]) - part_volume(holed.parts[0])
    assert taken == pytest.approx(4 * math.pi * 1.5**2 * holed.find(Pane).pin_depth, rel=1e-6)


def test_cut_sheets_have_the_holes_that_the_pins_need() -> None:
    """With a kerf of 0.2 mm a hole for a pin of 3 mm is drawn 2.8 mm wide; the lowest sheet has but the two
    that hold the sheets while they are glued."""
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
    assert holes[frame[0]] == [2.8] * 2
    assert sorted(holes[frame[-1]]) == [2.8] * (2 + 4 * 2)
    assert holes["catch-foot"] == holes["catch-head"] == [2.8] * 2
