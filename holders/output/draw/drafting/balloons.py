"""Numbers beside the parts pulled apart, each in a ring with a line to where its part is seen (ISO 6433)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import shapely
from shapely import STRtree

from holders.design.model import Design
from holders.geometry.outline import Point
from holders.output.draw import apart
from holders.output.draw.canvas import DIMENSION, FINE, Picture
from holders.output.draw.drafting.items import KIND_FEET, KIND_FILM, KIND_MAGNET, KIND_PIN, Item
from holders.output.draw.drafting.lettering import HEAD, spread
from holders.output.typeface import CAPITAL

RING_MM = 4.2  # radius: numbers of two digits in lettering of 3.5 mm
GAP_MM = 4.0  # from the picture to the ring
PITCH_MM = 2 * RING_MM + 1.0
INSIDE_MM = 0.2  # of a surface's rim, where the line ends
DOT_MM = 0.5
LEAST_MM2 = 0.12  # a smaller piece of a surface is not pointed at

KEYS = {
    KIND_FEET: apart.FEET, KIND_FILM: apart.FILM, KIND_MAGNET: apart.MAGNET, KIND_PIN: apart.PIN,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Pointer:
    """A number and where its part is seen on paper."""

    number: int
    at: Point


def numbered(design: Design, rows: Sequence[Item], width: float, height: float) -> Picture:
    """The parts pulled apart with a number at each, within ``width`` x ``height`` mm."""
    beside = GAP_MM + 2 * RING_MM + 0.5
    view = apart.pulled_apart(design, width - 2 * beside, height, exact=True)
    inner = view.picture
    picture = Picture(inner.width + 2 * beside, inner.height, exact=True)
    picture.place(inner, beside, 0.0)
    middle = inner.width / 2
    found = pointers(view.painted, rows, inner.width)
    for left in (True, False):
        mine = sorted((p for p in found if (p.at[0] < middle) == left), key=lambda p: p.at[1])
        x = RING_MM + 0.3 if left else picture.width - RING_MM - 0.3
        spots = spread([p.at[1] for p in mine], PITCH_MM, RING_MM + 0.3, picture.height - RING_MM - 0.3)
        for pointer, y in zip(mine, spots, strict=True):
            end = pointer.at[0] + beside, pointer.at[1]
            picture.line((x + (RING_MM if left else -RING_MM), y), end, DIMENSION)
            picture.circle(end, DOT_MM, None, "#000")
            picture.circle((x, y), RING_MM, FINE, "#fff")
            picture.text((x, y + HEAD * CAPITAL / 2), str(pointer.number), HEAD, "middle")
    return picture


def pointers(painted: Sequence[apart.Painted], rows: Sequence[Item], width: float) -> list[Pointer]:
    """For each item that is seen, a place on it toward a side of the picture, not covered by what lies above."""
    keys: Mapping[str, list[Item]] = _by_key(rows)
    shapes = [one.shape for one in painted]
    tree = STRtree(shapes)
    found = []
    for key, items in keys.items():
        best: tuple[float, Point] | None = None
        for number, one in enumerate(painted):
            if one.key != key:
                continue
            seen = _seen(one, number, painted, tree)
            for piece in shapely.get_parts(seen):
                spot = _toward_a_side(piece, width)
                if spot is not None and (best is None or spot[0] < best[0]):
                    best = spot
        if best is not None:
            found += [Pointer(item.number, best[1]) for item in items[:1]]
    return found


def _by_key(rows: Sequence[Item]) -> dict[str, list[Item]]:
    found: dict[str, list[Item]] = {}
    for item in rows:
        key = item.part or KEYS.get(item.kind, "")
        if key:
            found.setdefault(key, []).append(item)
    return found


def _seen(
    one: apart.Painted, number: int, painted: Sequence[apart.Painted], tree: STRtree
) -> shapely.geometry.base.BaseGeometry:
    over = [painted[k].shape for k in tree.query(one.shape) if k > number and painted[k].key != one.key]
    inner = one.shape.buffer(-INSIDE_MM / 2)
    return inner.difference(shapely.union_all(over)) if over else inner


def _toward_a_side(piece: shapely.geometry.base.BaseGeometry, width: float) -> tuple[float, Point] | None:
    """A place well inside a visible piece that lies near the left or right rim; smaller is better."""
    if piece.is_empty or piece.area < LEAST_MM2:
        return None
    x0, y0, x1, y1 = piece.bounds
    left = x0 < width - x1
    edge, reach = (x0, min(6.0, x1 - x0)) if left else (x1, min(6.0, x1 - x0))
    strip = shapely.box(edge, y0, edge + reach, y1) if left else shapely.box(edge - reach, y0, edge, y1)
    near = piece.intersection(strip)
    if near.is_empty:
        return None
    point = near.representative_point()
    return (point.x if left else width - point.x), (point.x, point.y)
