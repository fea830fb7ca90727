"""A lid that its clearance leaves too narrow, or no body at all, is refused by name before anything is drawn."""

from __future__ import annotations

import pytest

from holders.core.errors import InputError
from holders.design.resolve import design
from tests.presets_made import job


@pytest.mark.parametrize("film", ["35mm-strip", "4x5", "mount-30"])
@pytest.mark.parametrize("clearance", [4.0, 12.0, 19.03, 50.0])
def test_a_clearance_that_leaves_no_lid_is_named(film: str, clearance: float) -> None:
    with pytest.raises(InputError, match=r"leaves the lid frame narrower") as caught:
        design(job(film={"format": film}, lid={"clearance_mm": clearance}))
    assert caught.value.field == "lid.clearance_mm"
    assert caught.value.value == clearance
