"""A straightedge and a blade cut no arcs: corners cut by hand are square unless the preset asks for round ones."""

from __future__ import annotations

import pytest

from holders.design.resolve import design
from tests.presets_made import job

BOARD = {"route": "knife", "material": {"name": "mat-board"}}


def arcs(**layout: object) -> list[float]:
    """Bulges of the outlines of all sheets but those of finger notches."""
    made = design(job(**BOARD, layout={"finger_notches": False, **layout}))
    slabs = [slab for part in made.parts for slab in part.slabs]
    rings = [ring for slab in slabs for ring in (slab.region.outer, *slab.region.holes)]
    assert len(rings) >= 4
    return [vertex.bulge for ring in rings for vertex in ring.vertices]


def test_a_knife_cuts_straight_lines_alone() -> None:
    assert set(arcs()) == {0.0}


def test_round_corners_are_there_when_asked_for() -> None:
    assert sum(bulge != 0.0 for bulge in arcs(corner_radius_mm=4.0)) >= 6  # three corners of each sheet


@pytest.mark.parametrize("route", ["print", "laser"])
def test_a_machine_rounds_them(route: str) -> None:
    material = {"print": "petg", "laser": "acrylic-cast"}[route]
    made = design(job(route=route, material={"name": material}))
    assert any(vertex.bulge for vertex in made.parts[0].slabs[0].region.outer.vertices)
