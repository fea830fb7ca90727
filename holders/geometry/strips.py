"""Where a thin strip across the bed meets an area: asked thousands of times of one area while seams are sought."""

from __future__ import annotations

from bisect import bisect_left

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

LINE_MM = 1e-3  # half the width of the strip that stands for a line
LEAST_SPAN_MM = 1e-2

Span = tuple[float, float]
Edge = tuple[float, float, float]  # x and y of a point on it, and how x changes with y


class Strips:
    """An area, ready to be asked where strips of constant y meet it.

    Between two neighbouring corners' y the same edges are met, in the same order; they are found once.
    """

    def __init__(self, shape: BaseGeometry) -> None:
        self.shape = shape
        xy, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(shape)), return_index=True)
        edge = ring[:-1] == ring[1:]
        self._from, self._to = xy[:-1][edge], xy[1:][edge]
        self._corners: list[float] = np.unique(xy[:, 1]).tolist()
        self._met: dict[int, list[Edge]] = {}

    def spans(self, v: float, across: Span) -> tuple[Span, ...]:
        """What the strip about y = ``v`` meets within ``across`` (x), from low to high, mm."""
        above = bisect_left(self._corners, v + 2 * LINE_MM)
        if above > 0 and self._corners[above - 1] >= v - 2 * LINE_MM:
            return self._cut_out(v, across)
        edges = self._met.get(above)
        if edges is None:
            edges = self._met[above] = self._edges(v)
        found = []
        for (x0, y0, s0), (x1, y1, s1) in zip(edges[::2], edges[1::2], strict=True):
            low = max(across[0], x0 + (v - y0) * s0 - LINE_MM * abs(s0))
            high = min(across[1], x1 + (v - y1) * s1 + LINE_MM * abs(s1))
            if high - low > LEAST_SPAN_MM:
                found.append((low, high))
        return tuple(found)

    def _edges(self, v: float) -> list[Edge]:
        """The edges that a line meets between corners, from low to high x."""
        met = (self._from[:, 1] < v) != (self._to[:, 1] < v)
        (x, y), (dx, dy) = self._from[met].T, (self._to - self._from)[met].T
        order = np.argsort(x + (v - y) * dx / dy)
        return [(float(x[k]), float(y[k]), float(dx[k] / dy[k])) for k in order]

    def _cut_out(self, v: float, across: Span) -> tuple[Span, ...]:
        """The same with corners in the strip."""
        met = shapely.clip_by_rect(self.shape, across[0], v - LINE_MM, across[1], v + LINE_MM)
        found = [part.bounds for part in shapely.get_parts(met) if part.geom_type == "Polygon"]
        return tuple(sorted((low, high) for low, _, high, _ in found if high - low > LEAST_SPAN_MM))
