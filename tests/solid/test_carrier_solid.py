"""Carrier, whole and in pieces, and insert as solids; assembled they share nothing."""

from __future__ import annotations

from pathlib import Path

import pytest
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

from holders.design.resolve import design
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.solid.build import build
from holders.solid.surfaces import volume as solid_volume
from tests.presets_made import job
from tests.solid.sound import sound

PRESET = Path(__file__).parent.parent.parent / "presets" / "4x5-insert.toml"
WHOLE = {"carrier": {"insert_width_mm": 120.0, "insert_length_mm": 150.0}, "layout": {"label": False}}


@pytest.mark.parametrize(
    "made", [design(resolve(load(PRESET))), design(job(**WHOLE))], ids=["pieces", "whole"]
)
def test_every_part_is_one_valid_closed_body_of_its_slabs_volume(made) -> None:  # type: ignore[no-untyped-def]
    for part in made.parts:
        sound(part)


def test_the_insert_lies_in_its_carrier_and_shares_nothing_with_it() -> None:
    made = design(job(**WHOLE))
    bed, insert = (build(part) for part in made.parts)
    both = BRepAlgoAPI_Common(bed, insert)
    assert solid_volume(both.Shape()) == pytest.approx(0.0, abs=1e-6)
