"""How thin a flat shape is at its thinnest, and where: eroding and dilating it.

Three things count as thin at a width ``w``: a neck (eroding by w/2 parts the shape or joins two holes), an
island that vanishes, and a rib that ends free but keeps its width. A corner or a tapering tip, which every
erosion shortens, does not.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

ARC_SEGMENTS = 16  # per quarter: the chord error is 0.0012 of the radius
SLACK_MM = 0.02  # dilated this much further, so that chords leave no slivers behind
LEAST_AREA_MM2 = 0.02
RIB_FILL = 0.7  # area / (root width * reach): a rib 1, a triangular tip 1/2, a horn beside a circle 1/3
ONE_POINT_MM = 1e-7
STEP_MM = 0.005  # to which the thinnest width is found


@dataclass(frozen=True, slots=True)
class Thin:
    """The least width of a shape (mm) and a point in the middle of it."""

    width: float
    x: float
    y: float


def thinnest(shape: BaseGeometry, up_to_mm: float) -> Thin | None:
    """The least width of ``shape`` if it is below ``up_to_mm``, found to 0.005 mm by bisection; else None."""
    if shape.is_empty or not is_thin(shape, up_to_mm):
        return None
    low, high = 0.0, up_to_mm
    while high - low > STEP_MM:
        middle = (low + high) / 2
        if is_thin(shape, middle):
            high = middle
        else:
            low = middle
    x, y = _place(shape, high)
    return Thin((low + high) / 2, x, y)


def is_thin(shape: BaseGeometry, width_mm: float) -> bool:
    """Whether some wall, island or rib of ``shape`` is narrower than ``width_mm``."""
    eroded = _eroded(shape, width_mm / 2)
    if _pieces_and_holes(eroded) != _pieces_and_holes(shape):
        return True
    pieces = _left_over(shape, eroded, width_mm / 2)
    if not pieces:
        return False
    edge = shape.boundary.buffer(1e-6)  # dear, and the same for every piece
    return any(_is_rib(piece, edge) for piece in pieces)


def polygons(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of a shape, whatever collection holds them; lines and points are dropped."""
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and not part.is_empty]


def _eroded(shape: BaseGeometry, by: float) -> BaseGeometry:
    return shape.buffer(-by, quad_segs=ARC_SEGMENTS)


def _pieces_and_holes(shape: BaseGeometry) -> tuple[int, int]:
    found = polygons(shape)
    return len(found), sum(len(part.interiors) for part in found)


def _left_over(shape: BaseGeometry, eroded: BaseGeometry, radius: float) -> list[Polygon]:
    """What opening by ``radius`` loses; square corners are given back by the mitre, sharper ones are not."""
    plain = eroded.simplify(ONE_POINT_MM)  # a mitre over two corners in one point divides by zero
    opened = plain.buffer(radius + SLACK_MM, join_style="mitre", mitre_limit=1.5)
    return [piece for piece in polygons(shape.difference(opened)) if piece.area > LEAST_AREA_MM2]


def _is_rib(piece: Polygon, edge: BaseGeometry) -> bool:
    """Whether a lost piece is a strip that ends free (one root) and not a tip that narrows to nothing.

    ``edge`` is the whole shape's boundary, thick enough to take the piece's share of it away.
    """
    root = piece.boundary.difference(edge)
    roots = _lines(root)
    if len(roots) != 1:
        return False  # none: an island, two or more: a neck; both are seen in the eroded shape
    (ax, ay), (bx, by) = roots[0].coords[0][:2], roots[0].coords[-1][:2]
    across = math.hypot(bx - ax, by - ay)
    reach = float(shapely.distance(roots[0], shapely.points(piece.exterior.coords)).max())
    return bool(reach > across > 0 and piece.area > RIB_FILL * across * reach)


def _lines(found: BaseGeometry) -> list[LineString]:
    merged = shapely.line_merge(found) if isinstance(found, MultiLineString) else found
    return [part for part in shapely.get_parts(merged) if isinstance(part, LineString) and not part.is_empty]


def _place(shape: BaseGeometry, width: float) -> tuple[float, float]:
    """A point in the thin place: where the shape, eroded a little less than shuts it, is a mere thread."""
    little = 4 * STEP_MM
    thread = _eroded(shape, max(0.0, width / 2 - little))
    body = _eroded(thread, 2 * little).buffer(2.5 * little, join_style="mitre", mitre_limit=1.5)
    pieces = polygons(thread.difference(body)) or polygons(shape)
    point = max(pieces, key=lambda piece: piece.area).representative_point()
    return point.x, point.y
