"""A lid that its clearance leaves too narrow, or no body at all, is refused by name before anything is drawn."""

from __future__ import annotations

import re
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.design.resolve import design
from tests.design.test_laws import slabs_keep_laws
from tests.presets_made import job


@pytest.mark.parametrize("film", ["35mm-strip", "4x5", "mount-30"])
@pytest.mark.parametrize("clearance", [4.0, 12.0, 19.03, 50.0])
def test_a_clearance_that_leaves_no_lid_is_named(film: str, clearance: float) -> None:
    with pytest.raises(InputError, match=r"leaves the lid frame narrower") as caught:
        design(job(film={"format": film}, lid={"clearance_mm": clearance}))
    assert caught.value.field == "lid.clearance_mm"
    assert caught.value.value == clearance


def test_a_lid_with_no_lip_in_a_tight_pocket_is_refused_with_a_lip_that_will_do() -> None:
    """Found over random presets: what lies on the film reached into the frame's wall beside it."""
    tight = {"clearance_mm": 0.76, "play_mm": 0.0, "tabs": 0, "lip_mm": 0.0}
    values: dict[str, Any] = {
        "layout": {"clearance_mm": 0.05, "finger_notches": False},
        "lip": {"all_mm": 1.4},
    }
    with pytest.raises(InputError) as refused:
        design(job(film={"format": "roll-6x6-single"}, lid=tight, **values))
    assert refused.value.field == "lid.lip_mm"
    (least,) = re.findall(r"at least ([\d.]+) mm", refused.value.way_out)
    made = design(job(film={"format": "roll-6x6-single"}, lid=tight | {"lip_mm": float(least)}, **values))
    slabs_keep_laws(made)
