"""The room that chords leave a mesh's volume: against the inscribed polygon by hand, and tight enough to see faults."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from holders.design.model import Part, Slab
from holders.design.pieces.eased import eased
from holders.design.resolve import design
from holders.geometry.outline import Region, circle, rectangle
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.solid.build import build
from holders.solid.engrave import faces
from holders.solid.mesh import LINEAR_MM, mesh
from holders.solid.surfaces import volume
from tests.presets_made import SHIPPED
from tests.solid.chords import curved, rounding, volume_room


def disc(radius: float, hole: float = 0.0) -> Any:
    """2 mm thick."""
    holes = (circle(0, 0, hole),) if hole else ()
    slab = Slab("disc", 0, 2, Region(circle(0, 0, radius), holes))
    return build(Part("disc", "disc", "print", "petg", 1, (slab,)))


@pytest.mark.parametrize("sides", [12, 40, 400])
def test_the_room_of_a_disc_is_what_its_inscribed_polygon_lacks(sides: int) -> None:
    """Area of a regular polygon in a circle: n r²/2 sin(2 pi/n); its sagitta: r (1 - cos(pi/n)) (any handbook)."""
    radius = 30.0
    lacks = 2 * radius**2 * (math.pi - sides / 2 * math.sin(2 * math.pi / sides))
    solid = disc(radius)
    less, more = volume_room(solid, radius * (1 - math.cos(math.pi / sides)))
    still = rounding(solid)
    assert more == still
    assert lacks <= less - still <= 1.01 * lacks


def test_a_hole_adds_and_a_rim_takes() -> None:
    solid = disc(30.0, 10.0)
    less, more = (room - rounding(solid) for room in volume_room(solid))
    assert less == pytest.approx(2 / 3 * LINEAR_MM * 2 * math.pi * 30 * 2)
    assert more == pytest.approx(2 / 3 * LINEAR_MM * 2 * math.pi * 10 * 2)


def test_a_part_without_arcs_has_no_room_but_that_of_rounding() -> None:
    solid = build(Part("b", "b", "print", "petg", 1, (Slab("b", 0, 5, Region(rectangle(0, 0, 20, 10))),)))
    assert volume_room(solid) == (rounding(solid), rounding(solid))
    assert rounding(solid) < 1e-5 * volume(solid)


@pytest.mark.parametrize("tolerance", [3 * LINEAR_MM, 5 * LINEAR_MM])
def test_chords_three_times_as_coarse_are_seen(tolerance: float) -> None:
    solid = disc(30.0)
    lacks = volume(solid) - mesh(solid, tolerance).volume()
    assert lacks > volume_room(solid)[0]
    assert volume(solid) - mesh(disc(30.0)).volume() < volume_room(solid)[0]


@cache
def parts_of(stem: str) -> tuple[Part, ...]:
    return design(resolve(load(next(path for path in SHIPPED if path.stem == stem)))).parts


NAMED = [
    ("4x5-insert", "catch-foot"), ("5x7-printed", "lid"), pytest.param("4x5-insert", "insert", marks=pytest.mark.slow),
]  # fmt: skip


@pytest.mark.parametrize(("stem", "name"), NAMED)
def test_a_cut_that_is_missing_and_a_hundredth_too_thick_are_seen(stem: str, name: str) -> None:
    part = next(part for part in parts_of(stem) if part.name == name)
    solid = build(part)
    less, more = volume_room(solid)
    whole = volume(solid)
    found = mesh(solid)
    assert -less < found.volume() - whole < more
    tall = part.z1 - part.z0
    assert (1 + 0.01 / tall) * found.volume() - whole > more  # the same mesh, 0.01 mm too thick
    biting = 0
    for cut in part.cuts:
        without = replace(part, cuts=tuple(one for one in part.cuts if one is not cut))
        added = mesh(build(without)).volume() - whole
        if added > LINEAR_MM:  # the others do not take it away all the same
            biting += 1
            assert added > more, cut.name
    assert biting or not part.cuts


def test_a_saddle_has_room_on_both_sides() -> None:
    """One of the corners of a chamfer between arcs that do not share their centre."""
    part = next(part for part in parts_of("4x5-insert") if part.name == "carrier-piece-1")
    assert (True, True) in {curved(face) for face in faces(build(part, eased(part)))}
