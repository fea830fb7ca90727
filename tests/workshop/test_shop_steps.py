"""Single steps of stiffness with answers that are known by hand."""

from __future__ import annotations

import pytest

from holders.design.parts.members import Layer, Member, SectionMaterial
from holders.geometry.rect import Rect
from holders.workshop.stiffness.bow import strip
from holders.workshop.stiffness.standing import _as_one_beam
from holders.workshop.stiffness.stiffness import judge
from holders.workshop.stiffness.warm import _round

SOFT = SectionMaterial(2000.0, 0.38, 1270.0)


@pytest.mark.parametrize("left", [1.0, 0.5])
def test_a_frame_as_one_beam_sags_as_the_handbook_says_and_more_once_it_creeps(left: float) -> None:
    """5 q L⁴ / (384 E I) of a beam on two supports (Roark's Formulas for Stress and Strain, from memory)."""
    q = 1270 * 9.80665e-9 * 3.0
    sag = 5 * q * 200.0**4 / (384 * left * 2000.0 * 3.0**3 / 12)
    assert _as_one_beam(strip(200.0, 3.0, 2000.0, 1270.0), left, 50.0) == pytest.approx(sag)


def test_places_along_a_window_are_on_its_edges_from_corner_to_corner() -> None:
    r = Rect(10.0, 20.0, 90.0, 40.0)
    found = _round(r)
    assert {(10.0, 20.0), (100.0, 20.0), (10.0, 60.0), (100.0, 60.0), (55.0, 60.0), (100.0, 40.0)} <= set(
        found
    )
    assert all(
        (x in (r.x, r.right) and r.y <= y <= r.top) or (y in (r.y, r.top) and r.x <= x <= r.right)
        for x, y in found
    )


def ring(wide: float, high: float) -> list[Member]:
    """Four rails of 12 x 1.2 mm between their middles."""
    layers = (Layer(12.0, 0.0, 1.2),)
    corners = [(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]
    return [Member(*sorted((a, b)), layers) for a, b in zip(corners, corners[1:] + corners[:1], strict=True)]


def test_ribs_are_as_high_whichever_way_the_frame_is_turned() -> None:
    """A frame held at its head, and the same frame lying on its side and held there."""
    upright, lying = judge(ring(60.0, 185.0), SOFT, "head", 1.2), judge(ring(185.0, 60.0), SOFT, "right", 1.2)
    assert upright.sag_mm == pytest.approx(lying.sag_mm)
    assert upright.rib_height_mm is not None
    assert upright.rib_height_mm > 0
    assert upright.rib_height_mm == pytest.approx(lying.rib_height_mm)
