"""3MF in mm: one named object a part, each in its places on the plate; the same parts give the same bytes."""

from __future__ import annotations

import ctypes
import io
import math
import uuid
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from holders.core.errors import MachineError
from holders.solid.mesh import Mesh
from holders.workshop.plates import Laid

ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can carry; a fixed stamp keeps the bytes the same
# ours, fixed: names alone decide the identifiers
NAMESPACE = uuid.UUID("6f1d5b0c-6a53-5c9e-9d0a-0f3c1d2b4a57")


@dataclass(frozen=True, slots=True)
class PlateItem:
    """A part's name, its mesh as it lies on the printer, and where each of its pieces lies on this plate."""

    name: str
    mesh: Mesh
    places: tuple[Laid, ...]


def threemf_bytes(title: str, items: Sequence[PlateItem]) -> bytes:
    """The parts of one plate as one 3MF package.

    Raises ``MachineError`` when the library cannot be loaded.
    """
    try:
        import lib3mf  # noqa: PLC0415 - a C library; only this format needs it
    except (ImportError, OSError) as error:
        raise MachineError(f"the 3MF library cannot be loaded ({error}): `pip install lib3mf`") from error
    wrapper = lib3mf.get_wrapper()
    model = wrapper.CreateModel()
    model.SetUnit(lib3mf.ModelUnit.MilliMeter)
    model.SetBuildUUID(_identifier(title, "build"))
    _describe(model, title)
    for item in items:
        made = model.AddMeshObject()
        made.SetName(item.name)
        made.SetUUID(_identifier(title, item.name))
        made.SetGeometry(*_geometry(lib3mf, item.mesh))
        for laid in item.places:
            placed = model.AddBuildItem(made, _transform(lib3mf, item.mesh, laid))
            placed.SetUUID(_identifier(title, f"{item.name} {laid.copy}"))
    writer = model.QueryWriter("3mf")
    writer.SetStrictModeActive(True)
    return _settled(bytes(writer.WriteToBuffer()))


def _transform(lib3mf: Any, mesh: Mesh, laid: Laid) -> Any:
    """Turned about the middle of the mesh's box, and that middle moved to its place; rows as the 3MF core has them."""
    low, high = mesh.box()
    middle = (float(low[0] + high[0]) / 2, float(low[1] + high[1]) / 2)
    quarter = laid.turn_deg == 90.0  # without the rounding of a cosine
    turn = math.radians(laid.turn_deg)
    c, s = (0.0, 1.0) if quarter else (math.cos(turn), math.sin(turn))
    rows = (
        (c, s, 0.0),
        (-s, c, 0.0),
        (0.0, 0.0, 1.0),
        (
            laid.x - c * middle[0] + s * middle[1],
            laid.y - s * middle[0] - c * middle[1],
            -float(low[2]),
        ),
    )
    found = lib3mf.Transform()
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            found.Fields[i][j] = value
    return found


def _describe(model: Any, title: str) -> None:
    group = model.GetMetaDataGroup()
    for key, value in (("Title", title), ("Application", "holders")):
        group.AddMetaData("", key, value, "xs:string", True)


def _identifier(title: str, name: str) -> str:
    return str(uuid.uuid5(NAMESPACE, f"{title}/{name}"))


def _geometry(lib3mf: Any, mesh: Mesh) -> tuple[Any, Any]:
    corners = np.ascontiguousarray(mesh.vertices, dtype=np.float32)
    triangles = np.ascontiguousarray(mesh.triangles, dtype=np.uint32)
    position, triangle = lib3mf.Position, lib3mf.Triangle
    if ctypes.sizeof(position) != 12 or ctypes.sizeof(triangle) != 12:
        raise MachineError("the 3MF library has another layout of vertices than known: use lib3mf 2.x")
    return (
        (position * len(corners)).from_buffer(corners),
        (triangle * len(triangles)).from_buffer(triangles),
    )


def _settled(package: bytes) -> bytes:
    """The package zipped anew with fixed times and order."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(package)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in sorted(old.namelist(), key=lambda n: (n != "[Content_Types].xml", n)):
            entry = zipfile.ZipInfo(name, ZIP_TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            new.writestr(entry, old.read(name), compresslevel=6)
    return out.getvalue()
