"""STL and 3MF read back from their own bytes, without a loader that mends: sizes, units, closed surfaces."""

from __future__ import annotations

import io
import re
import struct
import xml.etree.ElementTree as ET
import zipfile
from collections import Counter

import numpy as np
import pytest
import shapely
import shapely.affinity

from holders.design.model import Part
from holders.design.parts.volume import part_volume
from holders.design.pieces.eased import eased
from holders.design.pieces.pose import print_pose
from holders.design.resolve import design
from holders.facts.tables import paper
from holders.geometry.outline import bounds
from holders.output.bundle.plan_files import export_of, files_for
from holders.output.formats.stl import stl_bytes
from holders.output.formats.threemf import PlateItem, threemf_bytes
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.solid.build import build
from holders.solid.mesh import LINEAR_MM, Mesh, mesh
from holders.solid.surfaces import volume as made_volume
from holders.workshop.plates import Laid
from tests.fixtures_design import frame_part, lid_part, made
from tests.presets_made import SHIPPED_FEW
from tests.solid.chords import volume_room

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"


def triangles_of(stl: bytes) -> tuple[np.ndarray, np.ndarray]:
    """Normals and corners by the published layout: 80 bytes, a count, 50 bytes a facet, little-endian."""
    (count,) = struct.unpack("<I", stl[80:84])
    assert len(stl) == 84 + 50 * count
    rows = [struct.unpack("<12fH", stl[84 + 50 * k : 134 + 50 * k]) for k in range(count)]
    flat = np.array([row[:12] for row in rows])
    assert all(row[12] == 0 for row in rows)
    return flat[:, :3], flat[:, 3:].reshape(-1, 3, 3)


def volume_of(corners: np.ndarray) -> float:
    return float(np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6)


def assert_closed(triangles: list[tuple[int, int, int]]) -> None:
    ways = Counter((t[i], t[(i + 1) % 3]) for t in triangles for i in range(3))
    assert all(len({*t}) == 3 for t in triangles)
    assert set(ways.values()) == {1}
    assert all((b, a) in ways for a, b in ways)


@pytest.fixture(scope="module")
def frame_mesh() -> Mesh:
    pose = print_pose(frame_part())
    return mesh(build(frame_part())).posed(pose.turned, (pose.dx, pose.dy, pose.dz))


def test_stl_layout_and_header(frame_mesh: Mesh) -> None:
    data = stl_bytes(frame_mesh)
    assert not data[:80].lower().startswith(b"solid")
    assert b"mm" in data[:80]
    assert b"0.01" in data[:80]
    normals, corners = triangles_of(data)
    assert len(corners) == len(frame_mesh.triangles)
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(cross, axis=1)
    sound = length > 1e-6
    assert np.einsum("ij,ij->i", normals, cross)[sound] == pytest.approx(length[sound], rel=1e-3)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0, abs=1e-5)


def test_stl_is_closed_by_its_own_numbers(frame_mesh: Mesh) -> None:
    _, corners = triangles_of(stl_bytes(frame_mesh))
    index: dict[bytes, int] = {}
    numbered = [tuple(index.setdefault(p.astype("<f4").tobytes(), len(index)) for p in t) for t in corners]
    assert_closed(numbered)  # type: ignore[arg-type]
    assert volume_of(corners) == pytest.approx(part_volume(frame_part()), rel=1e-4)


def test_stl_starts_at_the_origin_on_its_underside(frame_mesh: Mesh) -> None:
    _, corners = triangles_of(stl_bytes(frame_mesh))
    assert corners.reshape(-1, 3).min(axis=0) == pytest.approx([0, 0, 0], abs=1e-4)
    assert corners.reshape(-1, 3).max(axis=0) == pytest.approx([120, 150, 4.4], abs=1e-4)
    # the pocket opens upward: more material at the bottom than at the top
    flat = np.ptp(corners[:, :, 2], axis=1) < 1e-6
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1) / 2
    bottom = area[flat & (corners[:, 0, 2] < 1e-6)].sum()
    top = area[flat & (corners[:, 0, 2] > 4.4 - 1e-4)].sum()
    assert bottom > top


def model_of(package: bytes) -> ET.Element:
    with zipfile.ZipFile(io.BytesIO(package)) as files:
        assert files.testzip() is None
        return ET.fromstring(files.read("3D/3dmodel.model"))


def objects_of(model: ET.Element) -> dict[str, tuple[np.ndarray, list[tuple[int, int, int]]]]:
    found = {}
    for thing in model.iter(f"{CORE}object"):
        corners = np.array([[float(v.get(a, "nan")) for a in "xyz"] for v in thing.iter(f"{CORE}vertex")])
        triangles = [
            tuple(int(t.get(a, "-1")) for a in ("v1", "v2", "v3")) for t in thing.iter(f"{CORE}triangle")
        ]
        found[thing.get("name", "")] = (corners, triangles)
    return found  # type: ignore[return-value]


@pytest.fixture(scope="module")
def package() -> bytes:
    return files_for(made(), paper("a4"))["holder.3mf"]()


def test_threemf_unit_names_and_no_colours(package: bytes) -> None:
    model = model_of(package)
    assert model.tag == f"{CORE}model"
    assert model.get("unit") == "millimeter"  # 3MF Core Specification: ST_Unit
    assert list(objects_of(model)) == ["frame", "lid"]
    assert b"color" not in ET.tostring(model).lower().replace(b"colorgroup", b"")
    assert not list(model.iter(f"{CORE}basematerials"))


def test_threemf_surfaces_are_closed_by_their_own_vertices(package: bytes) -> None:
    parts = {"frame": frame_part(), "lid": lid_part()}
    for name, (corners, triangles) in objects_of(model_of(package)).items():
        assert_closed(triangles)
        assert len({tuple(c) for c in corners}) == len(corners)  # no two vertices at one place
        assert {i for t in triangles for i in t} == set(range(len(corners)))  # and none unused
        part = parts[name]
        solid = made_volume(build(part, eased(part)))
        assert solid < part_volume(part)
        assert volume_of(corners[np.array(triangles)]) == pytest.approx(solid, rel=1e-4)
        assert corners.min(axis=0) == pytest.approx([0, 0, 0], abs=1e-4)


def read_strictly(package: bytes) -> int:
    """How many bodies the 3MF Consortium's own reader finds in strict mode, without a warning, each one closed."""
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(list(package))
    assert reader.GetWarningCount() == 0
    things = model.GetMeshObjects()
    count = 0
    while things.MoveNext():
        assert things.GetCurrentMeshObject().IsManifoldAndOriented()
        count += 1
    return count


def test_threemf_reads_without_a_warning_in_strict_mode(package: bytes) -> None:
    assert read_strictly(package) == 2


def test_the_strict_reader_refuses_what_is_not_allowed(package: bytes) -> None:
    """It would tell: a triangle that names a corner which is not there."""
    import lib3mf

    with zipfile.ZipFile(io.BytesIO(package)) as files:
        entries = {name: files.read(name) for name in files.namelist()}
    model = entries["3D/3dmodel.model"]
    spoilt = re.sub(rb'v1="\d+"', b'v1="99999999"', model, count=1)
    assert spoilt != model
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as files:
        for name, data in {**entries, "3D/3dmodel.model": spoilt}.items():
            files.writestr(name, data)
    with pytest.raises((lib3mf.ELib3MFException, AssertionError)):
        read_strictly(made.getvalue())


@pytest.mark.parametrize("turn", [0.0, 90.0, 37.0])
def test_threemf_items_lie_where_the_plate_has_them(turn: float) -> None:
    """The transform as the 3MF core specification has it (row vectors), against shapely's own turn of the box."""
    shape = mesh(build(lid_part())).posed(False, (-11.0, -28.3, -3.5))
    laid = Laid("lid", 1, 100.0, 60.0, turn)
    model = model_of(threemf_bytes("weir", [PlateItem("lid", shape, (laid, Laid("lid", 2, 5.0, 7.0)))]))
    one, two = (
        np.array(item.get("transform", "").split(), dtype=float) for item in model.iter(f"{CORE}item")
    )
    low, high = shape.box()
    wide, deep = (high - low)[:2]
    flat = shapely.box(100 - wide / 2, 60 - deep / 2, 100 + wide / 2, 60 + deep / 2)
    want = np.array(shapely.affinity.rotate(flat, turn).exterior.coords)
    corners = np.array([[*xy, low[2], 1.0] for xy in shapely.box(*low[:2], *high[:2]).exterior.coords])
    found = corners @ one.reshape(4, 3)
    assert found[:, :2] == pytest.approx(want, abs=2e-3)
    assert found[:, 2] == pytest.approx(0.0, abs=1e-6)
    assert two[9:11] == pytest.approx(np.array([5.0, 7.0]) - (low + high)[:2] / 2, abs=1e-3)


def test_threemf_zip_carries_no_clock(package: bytes) -> None:
    with zipfile.ZipFile(io.BytesIO(package)) as files:
        assert {entry.date_time for entry in files.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert files.namelist()[0] == "[Content_Types].xml"


def test_same_bytes_again() -> None:
    one, two = (files_for(made(), paper("a4")) for _ in range(2))
    for name in ("frame.stl", "lid.stl", "holder.3mf"):
        assert one[name]() == two[name]()


def straight_ends(part: Part) -> tuple[bool, bool]:
    """Across and along: whether both ends of a part are corners or straight edges, no crowns of arcs."""
    outlines = [slab.region.outer for slab in part.slabs]
    # where two arcs meet, the crown may lie between them and the solid may have no corner there
    corners = np.array(
        [
            (v.x, v.y)
            for outline in outlines
            for k, v in enumerate(outline.vertices)
            if v.bulge == 0 or outline.vertices[k - 1].bulge == 0
        ]
    )
    x0, y0, x1, y1 = np.array([bounds(outline) for outline in outlines]).T
    reached = np.ptp(corners, axis=0)
    whole = (x1.max() - x0.min(), y1.max() - y0.min())
    return bool(whole[0] - reached[0] < 1e-6), bool(whole[1] - reached[1] < 1e-6)


@pytest.mark.parametrize("path", [p for p in SHIPPED_FEW if load(p.values[0]).route == "print"])
def test_stl_threemf_and_step_agree(path, tmp_path) -> None:  # type: ignore[no-untyped-def]
    from OCP.STEPControl import STEPControl_Reader

    from holders.solid.surfaces import box_of, solids
    from holders.solid.surfaces import volume as solid_volume

    holder = design(resolve(load(path)))
    files = files_for(holder, paper("a4"))
    (tmp_path / "h.step").write_bytes(files["holder.step"]())
    reader = STEPControl_Reader()
    reader.ReadFile(str(tmp_path / "h.step"))
    reader.TransferRoots()
    in_step = solids(reader.OneShape())
    packed = [make() for name, make in files.items() if name.endswith(".3mf")]
    packages = [model_of(package) for package in packed]
    # a part of which several are wanted may lie on several plates, and so in several files
    assert [read_strictly(package) for package in packed] == [len(objects_of(model)) for model in packages]
    in_threemf = {name: body for package in packages for name, body in objects_of(package).items()}
    assert sum(len(list(package.iter(f"{CORE}item"))) for package in packages) == sum(
        part.quantity for part in holder.parts
    )
    assert len(in_threemf) == len(holder.parts)
    copies = [
        part for part in holder.parts for _ in range(part.quantity)
    ]  # STEP shows every one in its place
    assert len(in_step) == len(copies)
    for part, solid in zip(copies, in_step, strict=True):
        _, corners = triangles_of(files[f"{part.name}.stl"]())
        vertices, triangles = in_threemf[part.name]
        box = box_of(solid)
        sides = [box[k + 3] - box[k] for k in range(3)]
        for spans in (np.ptp(corners.reshape(-1, 3), axis=0), np.ptp(vertices, axis=0)):
            short = np.array(sides) - spans
            assert (short >= -2e-3).all()
            # chords of an arc that forms an end of the part stay inside it, by the mesh's stated tolerance at most
            assert (
                short <= [2e-3 if straight else 2 * LINEAR_MM for straight in (*straight_ends(part), True)]
            ).all()
        less, more = volume_room(solid)
        for found in (volume_of(corners), volume_of(vertices[np.array(triangles)])):
            assert -less <= found - solid_volume(solid) <= more


def test_solids_are_made_once_and_shared(monkeypatch: pytest.MonkeyPatch) -> None:
    import holders.solid.build as building

    calls: list[str] = []
    real = building.build
    monkeypatch.setattr(
        building, "build", lambda part, eased: (calls.append(part.name), real(part, eased))[1]
    )
    export = export_of(made())
    for part in export.parts:
        export.mesh(part)
        export.solid(part)
        export.mesh(part)
    assert calls == ["frame", "lid"]
