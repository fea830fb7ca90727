"""A part's slabs as drawings show them: with the open ends cut out of them, which are cuts of the part."""

from __future__ import annotations

import numpy as np
import shapely

from holders.design.model import Part, Slab
from holders.design.parts.sections import CHORD_MM, area_of, polygon
from holders.geometry.outline import Outline, Region, Vertex

LEAST_MM2 = 0.01


def opened(part: Part) -> tuple[Slab, ...]:
    """The slabs, those that an open end runs through in the pieces that it leaves; the same where there is none."""
    cuts = [cut for cut in part.cuts if cut.open_end]
    if not cuts:
        return part.slabs
    found: list[Slab] = []
    for slab in part.slabs:
        mine = [cut for cut in cuts if cut.z0 < slab.z1 - 1e-9 and cut.z1 > slab.z0 + 1e-9]
        if not mine:
            found.append(slab)
            continue
        shape = area_of(slab.region, CHORD_MM).difference(
            shapely.union_all([polygon(cut.outline) for cut in mine])
        )
        pieces = [piece for piece in shapely.get_parts(shape) if piece.area > LEAST_MM2]
        found += [Slab(slab.name, slab.z0, slab.z1, _region(piece)) for piece in pieces]
    return tuple(found)


def _region(piece: shapely.Polygon) -> Region:
    return Region(_ring(piece.exterior), tuple(_ring(hole) for hole in piece.interiors))


def _ring(ring: shapely.LinearRing) -> Outline:
    return Outline(tuple(Vertex(float(x), float(y)) for x, y in np.asarray(ring.coords)[:-1]))
