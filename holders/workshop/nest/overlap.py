"""The nesting looked at once more with exact outlines: is every piece in its place and clear of the others?"""

from __future__ import annotations

from collections import defaultdict
from itertools import combinations

import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.parts.sections import polygon
from holders.design.pieces.cutting import CutPart
from holders.workshop.nest.nest import Nesting, Placement, placed

CHORD_MM = 0.005
SLACK_MM = 0.011  # two chords


def outline_area(piece: CutPart, spot: Placement) -> BaseGeometry:
    """What the cut paths of a piece keep of the sheet, in the sheet's coordinates (mm)."""
    shape: BaseGeometry = polygon(placed(piece.outer, piece, spot), CHORD_MM)
    for hole in piece.inner:
        shape = shape.difference(polygon(placed(hole, piece, spot), CHORD_MM))
    return shape


def faults(nesting: Nesting) -> tuple[str, ...]:
    """In words, everything wrong: pieces nearer than the spacing, or nearer to a sheet's edge than the margin.

    Pieces are compared with their holes open, so one that lies in another's drop-out is judged by its distance to
    the other's material.
    """
    found = []
    by_sheet: dict[int, list[tuple[str, BaseGeometry]]] = defaultdict(list)
    for piece, spot in zip(nesting.pieces, nesting.placements, strict=True):
        by_sheet[spot.sheet].append((f"{spot.part} {spot.copy}", outline_area(piece, spot)))
    for number, shapes in sorted(by_sheet.items()):
        use, rim = nesting.sheets[number], nesting.margin_mm
        usable = shapely.box(rim, rim, use.width_mm - rim, use.height_mm - rim).buffer(SLACK_MM)
        found += [f"{name} leaves sheet {number + 1}" for name, shape in shapes if not usable.contains(shape)]
        for (one, a), (two, b) in combinations(shapes, 2):
            gap = a.distance(b)
            if gap < nesting.spacing_mm - SLACK_MM or a.intersects(b):
                found.append(f"{one} and {two} are {gap:.3f} mm apart on sheet {number + 1}")
    return tuple(found)
