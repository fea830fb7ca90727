"""Openings of a frame that was split: its pieces laid together again."""

from __future__ import annotations

import shapely

from holders.design.model import Design
from holders.design.parts.sections import area_of
from holders.geometry.outline import Outline, Vertex
from holders.output.draw.drafting.shapes import Opening, frame_slabs, opening, openings

CLOSED_MM = 1.0  # more than half of any gap between pieces
SIMPLE_MM = 0.02


def whole_openings(design: Design) -> list[Opening]:
    """The openings of the topmost slabs; of a split frame with its pieces together and the gaps between them closed."""
    slabs = frame_slabs(design)
    top = max(slab.z1 for slab in slabs)
    highest = [s for s in slabs if s.z1 > top - SIMPLE_MM]
    if not any(seam.role.in_frame for seam in design.seams):
        return [one for slab in highest for one in openings(slab)]
    shape = shapely.union_all([area_of(s.region) for s in highest])
    shape = shape.buffer(CLOSED_MM, join_style="mitre").buffer(-CLOSED_MM, join_style="mitre")
    found = []
    for piece in shapely.get_parts(shape):
        for ring in piece.interiors:
            corners = shapely.Polygon(ring).simplify(SIMPLE_MM).exterior.coords[:-1]
            found.append(opening(Outline(tuple(Vertex(x, y) for x, y in corners))))
    return found
