"""Meshes: closed, within tolerance, and cut through at any height they show the section of the design."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
import shapely
import trimesh

from holders.core.errors import HoldersError
from holders.design.model import Part, Slab
from holders.design.parts.sections import section
from holders.design.parts.volume import part_volume
from holders.geometry.outline import Region, circle
from holders.solid.build import build
from holders.solid.mesh import LINEAR_MM, Mesh, _welded, mesh
from tests.fixtures_design import LEDGE, TOP, UNDER, frame_part, lid_part, sheet_parts

PARTS = [frame_part(), lid_part(), *sheet_parts()]


@pytest.fixture(scope="module")
def frame_mesh() -> Mesh:
    return mesh(build(frame_part()))


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_closed_and_of_the_right_volume(part: Part) -> None:
    made = mesh(build(part))
    assert made.open_edges() == 0
    assert made.volume() == pytest.approx(part_volume(part), rel=1e-4)
    # every edge met exactly once in each direction, counted apart from open_edges
    ways = Counter((int(t[i]), int(t[(i + 1) % 3])) for t in made.triangles for i in range(3))
    assert set(ways.values()) == {1}
    assert all((b, a) in ways for a, b in ways)


@pytest.mark.parametrize("part", PARTS, ids=lambda p: p.name)
def test_one_body_by_an_outside_judge(part: Part) -> None:
    made = mesh(build(part))
    judge = trimesh.Trimesh(made.vertices, made.triangles, process=False)
    assert judge.is_watertight
    assert judge.is_winding_consistent
    assert judge.body_count == 1
    assert judge.volume == pytest.approx(made.volume(), rel=1e-9)


@pytest.mark.parametrize("tolerance", [0.1, 0.01, 0.002])
def test_strays_from_a_cylinder_by_no_more_than_the_tolerance(tolerance: float) -> None:
    part = Part("disc", "disc", "print", "petg", 1, (Slab("disc", 0, 2, Region(circle(0, 0, 30))),))
    made = mesh(build(part), tolerance)
    rim = made.vertices[np.abs(made.vertices[:, 2]) < 1e-9][:, :2]
    assert np.hypot(*rim.T) == pytest.approx(30, abs=1e-4)
    angles = np.sort(np.arctan2(rim[:, 1], rim[:, 0]))
    widest = np.diff([*angles, angles[0] + 2 * np.pi]).max()
    assert 30 * (1 - np.cos(widest / 2)) <= tolerance * 1.001


@pytest.mark.parametrize("z", [UNDER + 0.3, UNDER + 0.9, LEDGE - 0.5, LEDGE + 0.01, TOP - 1.0, TOP - 0.2])
def test_cut_through_it_shows_the_design_s_section(frame_mesh: Mesh, z: float) -> None:
    solid = trimesh.Trimesh(frame_mesh.vertices, frame_mesh.triangles, process=False)
    path = solid.section(plane_origin=[0, 0, z], plane_normal=[0, 0, 1])
    rings = [shapely.Polygon(loop[:, :2]) for loop in path.discrete]
    found = shapely.Polygon()
    for ring in rings:  # loops one inside another: in, out, in
        found = found.symmetric_difference(ring)
    wanted = section(frame_part(), z)
    assert found.area == pytest.approx(wanted.area, rel=2e-5)
    assert found.symmetric_difference(wanted).area < 0.3  # of some 8,000 mm²: chords against chords
    assert found.symmetric_difference(wanted).buffer(-0.01).is_empty


def test_turned_over_it_keeps_its_volume_and_outside(frame_mesh: Mesh) -> None:
    turned = frame_mesh.posed(True, (1.0, 2.0, 3.0))
    assert turned.volume() == pytest.approx(frame_mesh.volume())
    low, high = frame_mesh.box()
    new_low, new_high = turned.box()
    assert new_low == pytest.approx([low[0] + 1, 2 - high[1], 3 - high[2]])
    assert new_high == pytest.approx([high[0] + 1, 2 - low[1], 3 - low[2]])


def test_an_open_surface_is_never_passed_on(frame_mesh: Mesh) -> None:
    torn = Mesh(frame_mesh.vertices, frame_mesh.triangles[1:])
    assert torn.open_edges() == 3
    with pytest.raises(HoldersError, match="does not close"):
        _welded(frame_mesh.vertices, frame_mesh.triangles[1:])
    flipped = frame_mesh.triangles.copy()
    flipped[0] = flipped[0][::-1]
    assert Mesh(frame_mesh.vertices, flipped).open_edges() > 0


def test_the_stated_tolerance_is_a_hundredth() -> None:
    assert LINEAR_MM == 0.01
