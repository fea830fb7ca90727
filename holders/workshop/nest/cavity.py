"""What falls out of a piece and may hold smaller ones; the largest plain rectangle that is left free."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import shapely

from holders.design.model import Rect
from holders.design.parts.sections import polygon
from holders.geometry.outline import Outline

CHORD_MM = 0.01
SNAP_MM = 0.05
MOST_LINES = 24  # coordinates looked at on each axis


def inner_rectangle(hole: Outline, inset_mm: float) -> Rect | None:
    """The largest upright rectangle inside ``hole`` that stays ``inset_mm`` clear of its edge; None if none does.

    Sought over the coordinates of the shrunken hole's corners, which is exact for outlines of upright lines and
    misses little where corners are round.
    """
    room = polygon(hole, CHORD_MM).buffer(-inset_mm, join_style="mitre") if inset_mm > 0 else polygon(hole)
    if room.is_empty:
        return None
    pieces = list(room.geoms) if isinstance(room, shapely.MultiPolygon) else [room]
    found = [rect for piece in pieces if (rect := _largest_in(piece)) is not None]
    return max(found, key=lambda r: r.width * r.height, default=None)


def _largest_in(room: shapely.Polygon) -> Rect | None:
    corners = shapely.get_coordinates(room.simplify(SNAP_MM))
    xs, ys = _lines(corners[:, 0].tolist()), _lines(corners[:, 1].tolist())
    roomy = room.buffer(2 * SNAP_MM, join_style="mitre")
    shapely.prepare(roomy)
    best, most = None, 0.0
    for i, x0 in enumerate(xs):
        for x1 in xs[i + 1 :]:
            for j, y0 in enumerate(ys):
                for y1 in reversed(ys[j + 1 :]):
                    size = (x1 - x0) * (y1 - y0)
                    if size <= most:
                        break
                    if roomy.contains(shapely.box(x0, y0, x1, y1)):
                        best, most = Rect(x0, y0, x1 - x0, y1 - y0), size
                        break
    # the allowance that made rounded corners pass is taken back on every side
    return best if best is None else _shrunk(best, 2 * SNAP_MM)


def _shrunk(rect: Rect, by: float) -> Rect | None:
    if min(rect.width, rect.height) <= 2 * by:
        return None
    return rect.grown(-by)


def _lines(values: Sequence[float]) -> list[float]:
    """Distinct coordinates in rising order; of too many, an even choice that keeps both ends."""
    ordered = sorted(values)
    kept = ordered[:1] + [b for a, b in pairwise(ordered) if b - a > SNAP_MM]
    if len(kept) <= MOST_LINES:
        return kept
    step = (len(kept) - 1) / (MOST_LINES - 1)
    return [kept[round(k * step)] for k in range(MOST_LINES)]


def largest_free(sheet: Rect, taken: Sequence[Rect]) -> Rect | None:
    """The largest upright rectangle of ``sheet`` that meets none of ``taken``: the offcut worth keeping."""
    xs = sorted({sheet.x, sheet.right, *(t.x for t in taken), *(t.right for t in taken)})
    xs = [x for x in xs if sheet.x <= x <= sheet.right]
    best, most = None, 0.0
    for i, x0 in enumerate(xs):
        for x1 in xs[i + 1 :]:
            if (x1 - x0) * sheet.height <= most:
                continue
            for y0, y1 in _gaps(sheet, [t for t in taken if t.x < x1 - 1e-9 and t.right > x0 + 1e-9]):
                if (x1 - x0) * (y1 - y0) > most:
                    most = (x1 - x0) * (y1 - y0)
                    best = Rect(x0, y0, x1 - x0, y1 - y0)
    return best


def _gaps(sheet: Rect, blocks: list[Rect]) -> list[tuple[float, float]]:
    """Where a column of the sheet is free, as (from, to) in y."""
    found, low = [], sheet.y
    for block in sorted(blocks, key=lambda b: b.y):
        if block.y > low:
            found.append((low, block.y))
        low = max(low, block.top)
    if sheet.top > low:
        found.append((low, sheet.top))
    return found
