"""The assembly as GLB, read back by trimesh, and by the published layout (Khronos Group, glTF 2.0 Specification)."""

from __future__ import annotations

import io
import json
import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh

from holders.design.parts.volume import part_volume
from holders.design.pieces.eased import eased
from holders.design.resolve import design
from holders.facts.tables import paper
from holders.output.bundle.plan_files import files_for
from holders.output.bundle.write import record
from holders.output.formats.glb import Standing, glb_bytes
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.solid.build import build
from holders.solid.mesh import Mesh
from holders.solid.surfaces import volume as solid_volume
from tests.fixtures_design import made

ROOT = Path(__file__).resolve().parents[3]
MM3_PER_M3 = 1e9
CORNERS = np.array([[0, 0, 0], [9, 0, 0], [0, 7, 0], [0, 0, 5]], dtype=float)
SIDES = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])


def scene_of(data: bytes) -> trimesh.Scene:
    return trimesh.load_scene(io.BytesIO(data), file_type="glb", process=False)


@pytest.mark.parametrize("route", ["print", "laser"])
def test_nodes_are_the_parts_and_lengths_are_metres_with_y_up(route: str) -> None:
    holder = made(route)
    files = files_for(holder, paper("a4"))
    data = files["holder.glb"]()
    assert files["holder.glb"]() == data
    scene = scene_of(data)
    assert set(scene.graph.nodes_geometry) == {part.name for part in holder.parts}
    for part in holder.parts:
        x0, y0, x1, y1 = part.box
        low, high = scene.geometry[part.name].bounds * 1000  # mm
        # (x, y, z) of ours is (x, z, -y) there: 3.4, "+Y is up", a right-handed system
        assert low == pytest.approx([x0, part.z0, -y1], abs=1e-3)
        assert high == pytest.approx([x1, part.z1, -y0], abs=1e-3)
        mesh = scene.geometry[part.name].copy()
        mesh.merge_vertices()
        assert mesh.is_watertight
        whole = part_volume(part)
        want = solid_volume(build(part, eased(part)))  # printed: chamfered on the plate, by at most 2 %
        assert 0.98 * whole < want <= whole * (1 + 1e-6)
        assert mesh.volume * MM3_PER_M3 == pytest.approx(want, rel=1e-3)


def test_a_repeated_part_is_stored_once_and_stands_at_each_place() -> None:
    data = glb_bytes("weir", [Standing("foot", Mesh(CORNERS, SIDES), ((0.0, 0.0), (20.0, 30.0)))])
    scene = scene_of(data)
    assert set(scene.graph.nodes_geometry) == {"foot 1", "foot 2"}
    assert len(scene.geometry) == 1
    assert scene.graph.get("foot 2")[0][:3, 3] == pytest.approx([0.02, 0.0, -0.03])
    assert scene.extents == pytest.approx([0.029, 0.005, 0.037])


def test_the_container_is_as_published() -> None:
    """Section 4.4: magic, version 2, length; chunks of whole words, JSON first."""
    data = glb_bytes("Weir Ö", [Standing("foot", Mesh(CORNERS, SIDES))])
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert (size % 4, kind) == (0, b"JSON")
    tree = json.loads(data[20 : 20 + size])
    assert tree["asset"]["version"] == "2.0"
    assert tree["scenes"][0]["name"] == "Weir Ö"
    assert [node["name"] for node in tree["nodes"]] == ["foot"]
    rest, kind = struct.unpack_from("<I4s", data, 20 + size)
    assert (20 + size + 8 + rest, kind) == (len(data), b"BIN\0")


def test_the_manifest_says_metres() -> None:
    found = record(Path("holder.glb"), b"")
    assert (found.format, found.units) == ("glb", "m")


@pytest.mark.slow
def test_catches_stand_where_they_belong() -> None:
    holder = design(resolve(load(ROOT / "presets" / "5x7-glass-cover.toml")))
    scene = scene_of(files_for(holder, paper("a4"))["holder.glb"]())
    names = [
        part.name if len(part.places) == 1 else f"{part.name} {number}"
        for part in holder.parts
        for number in range(1, len(part.places) + 1)
    ]
    assert set(scene.graph.nodes_geometry) == set(names)
