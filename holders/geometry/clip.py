"""Outlines cut by one another with their arcs kept: shapely does the cutting on chords, the arcs are put back after.

A corner that lies on a known arc keeps its place exactly, so a run of chords between two such corners is the arc
itself. Only where a cut crosses an arc does its end lie on the chord, at most ``CHORD_MM`` off.
"""

from __future__ import annotations

import math
from collections.abc import Set
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from holders.geometry.outline import Arc, Outline, Point, Region, Vertex, arc_of, points

CHORD_MM = 1e-3
FINE = 1e-7  # corners nearer than this are one
NONE: frozenset[int] = frozenset()
LARGEST_SWEEP = 3.0  # rad; a bulge of a full turn would be infinite


class ArcBook:
    """Polygons made of outlines, and outlines made of polygons again; it remembers which corner lies on which arc."""

    def __init__(self) -> None:
        self._arcs: list[Arc] = []
        self._on: dict[tuple[float, float], set[int]] = {}

    def polygon(self, outline: Outline) -> shapely.Polygon:
        """The outline as chords."""
        way: list[Point] = []
        for a, b in outline.segments():
            chords = points(Outline((a, Vertex(b.x, b.y))), CHORD_MM) if a.bulge else [(a.x, a.y), (b.x, b.y)]
            way += chords[:-1]
            if a.bulge:
                number = len(self._arcs)
                self._arcs.append(arc_of(a, b))
                for key in _keys(chords):
                    self._on.setdefault(key, set()).add(number)
        return shapely.Polygon(np.array(way))

    def area_of(self, region: Region) -> BaseGeometry:
        """A region as chords: outer less holes."""
        shape: BaseGeometry = self.polygon(region.outer)
        holes = [self.polygon(hole) for hole in region.holes]
        return shape.difference(shapely.union_all(holes)) if holes else shape

    def regions(self, shape: BaseGeometry, least_mm2: float = 1e-3) -> tuple[Region, ...]:
        """The polygons of a shape as regions, arcs restored, all outlines anticlockwise; slivers left out."""
        found = []
        for piece in shapely.get_parts(shape):
            if piece.geom_type == "Polygon" and piece.area > least_mm2:
                holes = [h for h in piece.interiors if shapely.Polygon(h).area > least_mm2]
                found.append(Region(self._outline(piece.exterior), tuple(self._outline(h) for h in holes)))
        return tuple(found)

    def _outline(self, ring: shapely.LinearRing) -> Outline:
        way = shapely.get_coordinates(ring)
        way = way[:-1] if ring.is_ccw else way[:0:-1]
        corners: list[Point] = [(x, y) for x, y in way.tolist()]
        on = [self._on.get(key, NONE) for key in _keys(way)]
        runs = [
            self._arc(corners[k - 1], corners[k], on[k - 1] & on[k]) if on[k - 1] and on[k] else None
            for k in [*range(1, len(corners)), 0]
        ]
        start = next((k for k in range(len(runs)) if runs[k] is None or runs[k] != runs[k - 1]), 0)
        corners, runs = corners[start:] + corners[:start], runs[start:] + runs[:start]
        found: list[Vertex] = []
        k = 0
        while k < len(runs):
            end = k + 1
            while runs[k] is not None and end < len(runs) and runs[end] == runs[k]:
                end += 1
            found.extend(
                self._run(corners[k : end + 1] if end < len(runs) else [*corners[k:], corners[0]], runs[k])
            )
            k = end
        return Outline(_straightened(found))

    def _arc(self, a: Point, b: Point, shared: Set[int]) -> int | None:
        """Of the arcs that two neighbouring corners share, one on which they lie no further apart than a chord."""
        for number in sorted(shared):
            arc = self._arcs[number]
            if math.dist(a, b) <= 2.02 * math.sqrt(2 * arc.radius * CHORD_MM):
                return number
        return None

    def _run(self, way: list[Point], number: int | None) -> list[Vertex]:
        """Vertices (each with the bulge that leaves it) for a run of chords of one arc; the last corner left out."""
        if number is None:
            return [Vertex(*way[0])]
        arc = self._arcs[number]
        turns = [math.atan2(y - arc.cy, x - arc.cx) for x, y in way]
        steps = [math.remainder(b - a, 2 * math.pi) for a, b in pairwise(turns)]
        cuts = max(1, math.ceil(abs(sum(steps)) / LARGEST_SWEEP))
        ends = [round(k * len(steps) / cuts) for k in range(cuts + 1)]
        return [Vertex(*way[low], math.tan(sum(steps[low:high]) / 4)) for low, high in pairwise(ends)]


def _keys(points: ArrayLike) -> list[tuple[float, float]]:
    """What corners are known by: their places in whole steps."""
    return [(x, y) for x, y in np.rint(np.asarray(points) / FINE).tolist()]


def _straightened(vertices: list[Vertex]) -> tuple[Vertex, ...]:
    """Without corners in the middle of a straight line, which cutting leaves behind."""
    kept: list[Vertex] = []
    count = len(vertices)
    for k, here in enumerate(vertices):
        before, after = vertices[k - 1], vertices[(k + 1) % count]
        if not before.bulge and not here.bulge:
            ax, ay, bx, by = here.x - before.x, here.y - before.y, after.x - here.x, after.y - here.y
            if abs(ax * by - ay * bx) <= FINE * math.hypot(ax, ay) + FINE**2 and ax * bx + ay * by >= 0:
                continue
        kept.append(here)
    return tuple(kept)


def transposed(outline: Outline) -> Outline:
    """The outline with x and y exchanged, still turning the way it did."""
    swapped = [Vertex(b.y, b.x, a.bulge) for a, b in outline.segments()]
    return Outline(tuple(reversed(swapped)))
