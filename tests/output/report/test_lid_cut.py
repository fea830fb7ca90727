"""The picture of the film cuts a lid where it is: rails beside the window, nothing across it."""

from __future__ import annotations

import pytest

from holders.design.parts.roles import own_lids
from holders.design.resolve import design
from holders.output.draw.drafting.small import small
from holders.output.draw.film import _cut
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.presets_made import SHIPPED


@pytest.mark.parametrize("name", ["8x10-printed", "8x10-acrylic-lid", "35mm-roll"])
def test_no_level_of_a_lid_lies_across_its_window(name: str) -> None:
    made = design(resolve(load(next(path for path in SHIPPED if path.stem == name))))
    window = made.mine[0]
    slabs = [slab for part in own_lids(made)[:1] for slab in part.slabs]
    assert slabs
    for z0 in {slab.z0 for slab in slabs}:
        cuts = _cut([slab.region for slab in slabs if slab.z0 == z0], window)
        assert cuts
        o = window.opening
        assert not any(a < o.x + o.width / 2 < b for a, b in cuts)
        assert all(b - a < o.width / 2 for a, b in cuts)


@pytest.mark.parametrize("name", ["5x7-glass-cover"])
def test_a_catch_is_drawn_with_the_names_that_its_step_uses(name: str) -> None:
    made = design(resolve(load(next(path for path in SHIPPED if path.stem == name))))
    text = small("catch", made).svg("t").decode()
    assert all(f">{word}<" in text for word in ("nose", "pad", "legs"))
