"""Edges on the printer's plate are chamfered, by closed forms, and only where walls and lettering leave room."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from holders.design.model import Cut, Groove, Part, Role, Slab
from holders.design.parts.volume import part_volume
from holders.design.pieces.eased import WALL_MM, eased
from holders.facts.habits import habit
from holders.geometry.outline import Region, circle, rectangle
from holders.output.formats.export import Export
from holders.solid.build import build
from holders.solid.mesh import mesh
from holders.solid.surfaces import valid, volume
from tests.fixtures_design import LETTERS, PLATE, frame_part, lid_part, made

SIZE = 0.4  # mm: the chamfer as the habits have it


def block(hole: float = 8.0, off: float = 12.0, cuts: tuple[Cut, ...] = ()) -> Part:
    """40 x 30 x 5 mm with square corners, standing 1 mm over the glass, a round hole ``off`` from its left edge."""
    region = Region(rectangle(0, 0, 40, 30), (circle(off, 15, hole / 2),) if hole else ())
    return Part("b", "b", "print", "petg", 1, (Slab("s", 1.0, 6.0, region),), cuts, role=Role.OTHER)


def test_what_a_chamfer_takes_off_by_closed_form() -> None:
    """Outside: the block less a frustum of 40 x 30 over 39.2 x 29.2 (prismatoid formula); inside, of a cone."""
    assert habit("print-chamfer") == SIZE
    part = block()
    top, bottom = 40 * 30, (40 - 2 * SIZE) * (30 - 2 * SIZE)
    middle = (40 - SIZE) * (30 - SIZE)
    outside = top * SIZE - SIZE / 6 * (top + 4 * middle + bottom)
    hole = math.pi * SIZE / 3 * (4.4**2 + 4.4 * 4 + 4**2) - math.pi * 4**2 * SIZE
    one = build(part, eased(part))
    assert valid(one)
    assert volume(build(part)) - volume(one) == pytest.approx(outside + hole, rel=1e-6)


def widths(part: Part, z: float) -> tuple[float, float]:
    """The part's size at its corners near a height."""
    corners = mesh(build(part, eased(part))).vertices
    near = corners[np.abs(corners[:, 2] - z) < 1e-6]
    return float(np.ptp(near[:, 0])), float(np.ptp(near[:, 1]))


def test_the_edge_on_the_plate_stands_back_and_the_other_stays() -> None:
    assert widths(block(), 1.0) == pytest.approx((40 - 2 * SIZE, 30 - 2 * SIZE), abs=1e-6)
    assert widths(block(), 6.0) == pytest.approx((40, 30), abs=1e-6)


def test_a_lid_printed_on_its_top_is_chamfered_there() -> None:
    """A lid whose rim stands back lies on its top: below a plate of 40 x 30 one of 30 x 20."""
    below = Slab("lid", 1.0, 3.0, Region(rectangle(5, 5, 30, 20)))
    part = replace(block(hole=0.0), role=Role.LID)
    stepped = replace(part, slabs=(below, replace(part.slabs[0], z0=3.0)))
    assert widths(stepped, 6.0) == pytest.approx((40 - 2 * SIZE, 30 - 2 * SIZE), abs=1e-6)
    assert widths(stepped, 1.0) == pytest.approx((30, 20), abs=1e-6)


@pytest.mark.parametrize(
    ("wall", "outer", "inside"),
    [(3.0, SIZE, SIZE), (1.52, SIZE, SIZE / 2), (1.2, SIZE / 2, 0.0), (1.0, 0.0, 0.0)],
)
def test_a_wall_keeps_two_lines_on_the_plate(wall: float, outer: float, inside: float) -> None:
    """The outer edge has its chamfer first; the hole's is halved or left out where the wall between is thin."""
    part = block(off=4.0 + wall)
    found = {ease.outside: abs(ease.z_in - ease.z_plate) for ease in eased(part)}
    assert found.get(True, 0.0) == pytest.approx(outer)
    assert found.get(False, 0.0) == pytest.approx(inside)
    assert wall - outer - inside >= WALL_MM - 1e-6


def test_feet_and_other_holes_from_below_are_chamfered_and_sloped_ones_are_not() -> None:
    foot = Cut("foot recess", circle(30, 15, 4), 1.0, 2.0, foot=True)
    sloped = Cut("window chamfer", circle(12, 15, 4), 1.0, 4.0, 2.0)
    part = block(cuts=(foot, sloped))
    assert [ease.outside for ease in eased(part)] == [True, False]
    (inner,) = (ease.inner for ease in eased(part) if not ease.outside)
    assert inner == foot.outline
    assert valid(build(part, eased(part)))


def test_lettering_on_the_plate_is_left_whole() -> None:
    """A lid on its top with letters that reach to 0.2 mm from its edge keeps its edge there."""
    below = Slab("lid", 1.0, 3.0, Region(rectangle(5, 5, 30, 20)))
    part = replace(block(hole=0.0), role=Role.LID)
    plain = replace(part, slabs=(below, replace(part.slabs[0], z0=3.0)))
    near = tuple(tuple((x + 10, y + 0.5) for x, y in stroke) for stroke in LETTERS)
    lettered = replace(plain, grooves=(Groove("AOI", near, 0.6, 0.4, 6.0),))
    assert eased(plain)
    assert not eased(lettered)


def test_only_a_printed_holders_parts_are_chamfered_and_once() -> None:
    assert eased(lid_part("laser")) == ()
    export = Export("t", "t", "print", (frame_part(),), plate=PLATE)
    plain = Export("t", "t", "print", (frame_part(),))
    assert volume(export.solid(export.parts[0])) < volume(plain.solid(plain.parts[0])) - 10.0
    assert volume(plain.solid(plain.parts[0])) == pytest.approx(part_volume(frame_part()), rel=1e-6)
    assert made().plate == PLATE
    assert made("laser").plate is None
