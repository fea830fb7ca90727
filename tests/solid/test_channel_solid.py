"""A frame with terraced rails and its lids as solids: one closed body each, of its slabs' volume."""

from __future__ import annotations

import pytest

from holders.design.parts.volume import volume_by_sections
from holders.fittings.channel.arc import Channel
from holders.solid.surfaces import box_of
from tests.checks.make_channel import channelled
from tests.solid.sound import sound


def test_every_part_is_one_valid_closed_body_of_its_slabs_volume() -> None:
    _, made = channelled()
    for part in made.parts:
        body = sound(part)
        assert box_of(body)[2] == pytest.approx(part.z0, abs=1e-6)


def test_the_lids_rails_add_their_bars() -> None:
    """Each bar is width x length x layer; the lid without them is its first slab."""
    _, made = channelled(layout={"count": 1, "finger_notches": False})
    assert made.find(Channel) is not None
    lid = next(part for part in made.parts if part.name == "lid")
    pocket, film = made.windows[0].pocket, made.windows[0].film
    outer = pocket.width / 2 - 0.3
    length = pocket.height - 2 * 0.3 - 2 * 1.0
    bars = sum(2 * (outer - corner) * length * made.find(Channel).layer for corner in made.find(Channel).high)
    from dataclasses import replace

    bare = replace(lid, slabs=lid.slabs[:1])
    assert volume_by_sections(lid) - volume_by_sections(bare) == pytest.approx(bars, rel=1e-6)
    assert film.width == pytest.approx(2 * made.find(Channel).half)
