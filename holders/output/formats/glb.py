"""Binary glTF 2.0 (GLB): the assembly as it stands, one named node a part, for viewers on screen.

Lengths are metres and y points up, as glTF 2.0 wants it (section 3.4, coordinate system and units); ours are
millimetres with z up, so that (x, y, z) becomes (x, z, -y) / 1000.

Source: Khronos Group, glTF 2.0 Specification, 3.4; ISO/IEC 12113:2022.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import trimesh

from holders.solid.mesh import Mesh

MM_PER_M = 1000.0
TO_Y_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])


@dataclass(frozen=True, slots=True)
class Standing:
    """A part's name, its mesh (mm, z up) and the shifts (dx, dy in mm) at which it stands."""

    name: str
    mesh: Mesh
    places: tuple[tuple[float, float], ...] = ((0.0, 0.0),)


def glb_bytes(title: str, items: Sequence[Standing]) -> bytes:
    """All parts as one GLB file in metres, y up; the same parts give the same bytes.

    A part that stands at several places is stored once, and each place is a node: "foot 1", "foot 2".
    """

    def described(tree: dict[str, Any]) -> None:
        tree["asset"]["generator"] = "holders"
        tree["scenes"][0]["name"] = title

    scene: Any = trimesh.Scene()  # the library leaves much of it without types
    for item in items:
        corners = item.mesh.vertices @ TO_Y_UP.T / MM_PER_M
        scene.geometry[item.name] = trimesh.Trimesh(corners, item.mesh.triangles, process=False)
        for number, (dx, dy) in enumerate(item.places, 1):
            node = item.name if len(item.places) == 1 else f"{item.name} {number}"
            shift = np.eye(4)
            shift[:3, 3] = TO_Y_UP @ (dx, dy, 0.0) / MM_PER_M
            scene.graph.update(frame_to=node, matrix=shift, geometry=item.name)
    return bytes(scene.export(file_type="glb", include_normals=False, tree_postprocessor=described))
