"""The holder's code is alike for the same holder and bed, and another for any other; it is engraved."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holders.design.resolve import design
from holders.preset.holder_code import LENGTH, holder_code
from tests.presets_made import job

PRINTED = {"route": "print", "material": {"name": "petg"}, "printer": {"name": "p300"}}


def test_the_same_holder_has_the_same_code() -> None:
    made = job(**PRINTED)
    again = job(**PRINTED, title="by another name", note="and a note")
    assert holder_code(made) == holder_code(again)
    assert holder_code(made) == holder_code(job(**PRINTED, layout={}, lip={}))  # tables that say nothing
    assert holder_code(made) == holder_code(
        job(**PRINTED, layout={"finger_notches": True})
    )  # what is usual anyway
    assert len(holder_code(made)) == LENGTH


@pytest.mark.parametrize(
    "change", [{"film": {"format": "5x7"}}, {"layout": {"clearance_mm": 0.45}}, {"lip": {"all_mm": 3.0}}]
)
def test_another_holder_has_another(change: dict[str, object]) -> None:
    assert holder_code(job(**PRINTED)) != holder_code(job(**(PRINTED | change)))


def test_another_bed_has_another() -> None:
    made = job(**PRINTED)
    moved = replace(made, bed=made.bed.model_copy(update={"lamp_x_mm": made.bed.lamp_x_mm + 0.5}))
    assert holder_code(made) != holder_code(moved)


def test_it_is_engraved() -> None:
    made = job(**PRINTED)
    assert holder_code(made) in {groove.text for part in design(made).parts for groove in part.grooves}
