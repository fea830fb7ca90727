"""3MF in mm: one named object a part, side by side on the plate, no colours; the same parts give the same bytes."""

from __future__ import annotations

import ctypes
import io
import uuid
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from holders.core.errors import MachineError
from holders.solid.mesh import Mesh

BESIDE_MM = 10.0  # between neighbours on the plate
ZIP_TIME = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can carry; a fixed stamp keeps the bytes the same
# ours, fixed: names alone decide the identifiers
NAMESPACE = uuid.UUID("6f1d5b0c-6a53-5c9e-9d0a-0f3c1d2b4a57")


@dataclass(frozen=True, slots=True)
class PlateItem:
    """A part's name, its mesh starting at the origin, and how many of it to make."""

    name: str
    mesh: Mesh
    quantity: int = 1


def threemf_bytes(title: str, items: Sequence[PlateItem]) -> bytes:
    """All parts as one 3MF package.

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
    x = 0.0
    for item in items:
        made = model.AddMeshObject()
        made.SetName(item.name)
        made.SetUUID(_identifier(title, item.name))
        made.SetGeometry(*_geometry(lib3mf, item.mesh))
        low, high = item.mesh.box()
        for number in range(1, item.quantity + 1):
            place = wrapper.GetTranslationTransform(x - float(low[0]), 0.0, 0.0)
            placed = model.AddBuildItem(made, place)
            placed.SetUUID(_identifier(title, f"{item.name} {number}"))
            x += float(high[0] - low[0]) + BESIDE_MM
    writer = model.QueryWriter("3mf")
    writer.SetStrictModeActive(True)
    return _settled(bytes(writer.WriteToBuffer()))


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
