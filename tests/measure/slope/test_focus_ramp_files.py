"""The printed ramp as STL and 3MF: each read from its own bytes by the published layouts, and both the same body."""

from __future__ import annotations

import io
import struct
import xml.etree.ElementTree as ET
import zipfile

import numpy as np
import pytest

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
    return {name: made[name]() for name in ("ramp.stl", "ramp.3mf")}


def test_the_3mf_holds_the_ramp_in_millimetres_and_is_the_stls_body(files: dict[str, bytes]) -> None:
    with zipfile.ZipFile(io.BytesIO(files["ramp.3mf"])) as package:
        assert package.testzip() is None
        root = ET.fromstring(package.read("3D/3dmodel.model"))
    assert root.get("unit") == "millimeter"
    assert [o.get("name") for o in root.iter(f"{CORE}object")] == ["ramp"]
    assert len(list(root.iter(f"{CORE}item"))) == 1
    corners = np.array([[float(v.get(k)) for k in "xyz"] for v in root.iter(f"{CORE}vertex")])
    faces = np.array([[int(t.get(k)) for k in ("v1", "v2", "v3")] for t in root.iter(f"{CORE}triangle")])
    threemf, stl = corners[faces], stl_triangles(files["ramp.stl"])
    assert len(threemf) == len(stl)
    assert np.ptp(threemf, axis=(0, 1)) == pytest.approx(
        [RAMP.length_mm, RAMP.width_mm, np.ptp(stl[:, :, 2])]
    )
    assert threemf[:, :, 2].min() == pytest.approx(0.0, abs=1e-6)
    assert volume(threemf) == pytest.approx(volume(stl), rel=1e-5)
    assert volume(threemf) > 0.0
    # closed: every edge is walked once each way
    ways = {(t[i], t[(i + 1) % 3]) for t in faces.tolist() for i in range(3)}
    assert len(ways) == 3 * len(faces)
    assert all((b, a) in ways for a, b in ways)


def test_the_same_ramp_gives_the_same_bytes(files: dict[str, bytes]) -> None:
    again = ramp_files(RAMP, None, 0.18)
    assert {name: again[name]() for name in files} == files
