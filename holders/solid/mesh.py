"""A solid becomes triangles whose corners are shared, so that the mesh is closed as it stands."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from holders.core.errors import HoldersError
from holders.solid.engrave import faces
from holders.solid.kernel import (
    BRep_Tool,
    BRepMesh_IncrementalMesh,
    TopAbs_Orientation,
    TopLoc_Location,
    TopoDS_Shape,
)

LINEAR_MM = 0.01  # stated tolerance of STL and 3MF
DRAWN_MM = 0.8 * LINEAR_MM  # what they are drawn with: a small round part keeps its volume, too
ANGULAR_RAD = 0.5  # coarse on purpose: the linear tolerance rules, and many letters mesh fast
GRID_MM = 1e-5  # corners nearer than this are one


@dataclass(frozen=True, slots=True)
class Mesh:
    """Corners ``vertices`` (n, 3) in mm and ``triangles`` (m, 3) as indices, anticlockwise from outside."""

    vertices: npt.NDArray[np.float64]
    triangles: npt.NDArray[np.int64]

    def volume(self) -> float:
        """Enclosed volume, mm³."""
        a, b, c = (self.vertices[self.triangles[:, k]] for k in range(3))
        return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)

    def box(self) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Least and greatest corner."""
        return self.vertices.min(axis=0), self.vertices.max(axis=0)

    def posed(self, turned: bool, shift: tuple[float, float, float]) -> Mesh:
        """Turned over about the x axis if ``turned``, then shifted (mm)."""
        flip = np.array([1.0, -1.0, -1.0]) if turned else np.ones(3)
        return Mesh(self.vertices * flip + np.array(shift), self.triangles)

    def open_edges(self) -> int:
        """How many edges lack their one opposite neighbour; 0 for a closed, consistently turned surface."""
        edges = self.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2)
        count = len(self.vertices)
        there = edges[:, 0] * count + edges[:, 1]
        back = edges[:, 1] * count + edges[:, 0]
        unique, times = np.unique(there, return_counts=True)
        return int((times != 1).sum() + np.setdiff1d(unique, back).size)


def mesh(shape: TopoDS_Shape, tolerance_mm: float = DRAWN_MM) -> Mesh:
    """Triangles that stray at most ``tolerance_mm`` from the solid.

    Raises
    ------
    HoldersError
        When the surface does not close: better no file than one that a slicer repairs by guessing.
    """
    BRepMesh_IncrementalMesh(shape, tolerance_mm, False, ANGULAR_RAD, False)
    corners: list[tuple[float, float, float]] = []
    triangles: list[tuple[int, int, int]] = []
    place = TopLoc_Location()
    for face in faces(shape):
        found = BRep_Tool.Triangulation_s(face, place)
        if found is None:
            raise HoldersError("the solid could not be meshed: one of its faces has no triangles")
        shift, move = len(corners) - 1, place.Transformation()
        for k in range(1, found.NbNodes() + 1):
            node = found.Node(k).Transformed(move)
            corners.append((node.X(), node.Y(), node.Z()))
        turned = face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        for k in range(1, found.NbTriangles() + 1):
            a, b, c = found.Triangle(k).Get()
            triangles.append(
                (a + shift, c + shift, b + shift) if turned else (a + shift, b + shift, c + shift)
            )
    return _welded(np.array(corners), np.array(triangles, dtype=np.int64))


def _welded(corners: npt.NDArray[np.float64], triangles: npt.NDArray[np.int64]) -> Mesh:
    keys = np.round(corners / GRID_MM).astype(np.int64)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    joined = inverse.reshape(-1)[triangles]
    flat = (joined[:, 0] == joined[:, 1]) | (joined[:, 1] == joined[:, 2]) | (joined[:, 2] == joined[:, 0])
    made = Mesh((keys[first] * GRID_MM).astype(np.float64), joined[~flat])
    if made.open_edges():
        raise HoldersError(f"the solid's surface does not close: {made.open_edges()} open edges in its mesh")
    return made
