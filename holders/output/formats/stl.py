"""Binary STL in mm: 80 bytes of header, a count, 50 bytes a triangle, little-endian.

The format carries no unit; the header states it, and the tolerance of the mesh.
"""

from __future__ import annotations

import struct

import numpy as np

from holders.solid.mesh import LINEAR_MM, Mesh

HEADER_BYTES = 80
FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(mesh: Mesh, tolerance_mm: float = LINEAR_MM) -> bytes:
    """The mesh as a binary STL file; ``tolerance_mm`` is what the mesh was made with, stated in the header."""
    facets = np.zeros(len(mesh.triangles), dtype=FACET)
    corners = mesh.vertices[mesh.triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    facets["normal"] = np.divide(normals, length, out=np.zeros_like(normals), where=length > 0)
    facets["corners"] = corners
    header = f"binary STL, lengths in mm, chords within {tolerance_mm:g} mm".encode("ascii").ljust(
        HEADER_BYTES
    )
    body: bytes = facets.tobytes()
    return header + struct.pack("<I", len(facets)) + body
