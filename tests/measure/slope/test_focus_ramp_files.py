"""The printed ramp as STL and 3MF: each read from its own bytes by the published layouts, and both the same body."""

from __future__ import annotations

import io
import struct
import xml.etree.ElementTree as ET
import zipfile

import numpy as np
import pytest

from holders.design.ramp_parts import HORN_FLARE_MM, HORN_OUT_MM
from holders.measure.ramp import make_ramp
from holders.output.bundle.ramp_files import ramp_files

# 3MF core specification 1.x, namespace and element names
CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
RAMP = make_ramp(high_mm=2.0, target_width_mm=10.0, length_mm=60.0, slope_end_mm=53.0)


def volume(corners: np.ndarray) -> float:
    """Enclosed volume of triangles (n, 3, 3), by the divergence theorem."""
    return float(np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum() / 6)


def stl_triangles(data: bytes) -> np.ndarray:
    (count,) = struct.unpack("<I", data[80:84])
    rows = [struct.unpack("<12f", data[84 + 50 * k : 132 + 50 * k]) for k in range(count)]
    return np.array(rows)[:, 3:].reshape(-1, 3, 3)


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    made = ramp_files(RAMP, None, 0.18)
    return {name: made[name]() for name in ("ramp.stl", "ramp-lid.stl", "ramp.3mf")}


def test_the_3mf_holds_ramp_and_lid_in_millimetres_and_each_is_its_stls_body(files: dict[str, bytes]) -> None:
    """Two bodies: the ramp, and the frame that lies on the target and holds it down on the slope."""
    with zipfile.ZipFile(io.BytesIO(files["ramp.3mf"])) as package:
        assert package.testzip() is None
        root = ET.fromstring(package.read("3D/3dmodel.model"))
    assert root.get("unit") == "millimeter"
    bodies = {o.get("name"): o for o in root.iter(f"{CORE}object")}
    assert list(bodies) == ["ramp", "ramp-lid"]
    assert [i.get("objectid") for i in root.iter(f"{CORE}item")] == [o.get("id") for o in bodies.values()]
    sizes = {name: is_the_stls(body, stl_triangles(files[f"{name}.stl"])) for name, body in bodies.items()}
    horns = 2 * (HORN_OUT_MM + HORN_FLARE_MM)
    assert sizes["ramp"][:2] == pytest.approx([RAMP.length_mm, RAMP.width_mm + horns])
    # the lid lies in the bay between the walls and covers the window
    for axis, low, high in ((0, RAMP.window.x1 - RAMP.window.x0, RAMP.length_mm), (1, 0.0, RAMP.width_mm)):
        assert low < sizes["ramp-lid"][axis] < high


def is_the_stls(body: ET.Element, stl: np.ndarray) -> np.ndarray:
    """The size of a 3MF's body along x, y and z, mm, once it is closed and the same as an STL's."""
    corners = np.array([[float(v.get(k)) for k in "xyz"] for v in body.iter(f"{CORE}vertex")])
    faces = np.array([[int(t.get(k)) for k in ("v1", "v2", "v3")] for t in body.iter(f"{CORE}triangle")])
    threemf = corners[faces]
    assert len(threemf) == len(stl)
    assert np.ptp(threemf, axis=(0, 1)) == pytest.approx(np.ptp(stl, axis=(0, 1)))
    assert threemf[:, :, 2].min() == pytest.approx(0.0, abs=1e-6)
    assert volume(threemf) == pytest.approx(volume(stl), rel=1e-5)
    assert volume(threemf) > 0.0
    # closed: every edge is walked once each way
    ways = {(t[i], t[(i + 1) % 3]) for t in faces.tolist() for i in range(3)}
    assert len(ways) == 3 * len(faces)
    assert all((b, a) in ways for a, b in ways)
    return np.ptp(threemf, axis=(0, 1))


def test_the_same_ramp_gives_the_same_bytes(files: dict[str, bytes]) -> None:
    again = ramp_files(RAMP, None, 0.18)
    assert {name: again[name]() for name in files} == files
