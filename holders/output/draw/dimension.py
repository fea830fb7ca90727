"""Dimension lines: extension lines, arrow heads, the length in mm above the line."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from holders.core.lengths import measure
from holders.geometry.outline import Point
from holders.output.draw.canvas import DIMENSION, Picture, text_width

ARROW_MM = 1.8
SIZE_MM = 2.3
GAP_MM = 0.8
TINY_MM = 0.05  # shorter lengths are not worth a dimension


def across(picture: Picture, x0: float, x1: float, y: float, value: float, start_y: float) -> None:
    """A horizontal dimension at height ``y`` with extension lines from ``start_y``; ``value`` in mm is written."""
    _extend(picture, (x0, start_y), (x0, y), (x1, start_y), (x1, y))
    _arrows(picture, (x0, y), (x1, y))
    words = measure(value)
    if text_width(words, SIZE_MM) + 0.4 <= abs(x1 - x0):
        picture.text(((x0 + x1) / 2, y - GAP_MM), words, SIZE_MM, "middle", halo=True)
    else:
        picture.text(
            ((x0 + x1) / 2 + SIZE_MM * 0.35, y - GAP_MM), words, SIZE_MM, "start", turned=True, halo=True
        )


def along(picture: Picture, y0: float, y1: float, x: float, value: float, start_x: float) -> None:
    """A vertical dimension at ``x``; the words read from below, or lie flat where the length is short."""
    _extend(picture, (start_x, y0), (x, y0), (start_x, y1), (x, y1))
    _arrows(picture, (x, y0), (x, y1))
    words = measure(value)
    if text_width(words, SIZE_MM) + 0.4 <= abs(y1 - y0):
        picture.text((x - GAP_MM, (y0 + y1) / 2), words, SIZE_MM, "middle", turned=True, halo=True)
    else:
        picture.text((x - GAP_MM, (y0 + y1) / 2 + SIZE_MM * 0.35), words, SIZE_MM, "end", halo=True)


def chain_across(picture: Picture, stops: Sequence[tuple[float, float]], y: float, start_y: float) -> None:
    """Dimensions end to end; each stop is (x on the paper, length coordinate in mm)."""
    for (x0, a), (x1, b) in pairwise(stops):
        if abs(b - a) > TINY_MM:
            across(picture, x0, x1, y, abs(b - a), start_y)


def chain_along(picture: Picture, stops: Sequence[tuple[float, float]], x: float, start_x: float) -> None:
    """The same from bottom to top; each stop is (y on the paper, length coordinate in mm)."""
    for (y0, a), (y1, b) in pairwise(stops):
        if abs(b - a) > TINY_MM:
            along(picture, y0, y1, x, abs(b - a), start_x)


def leader(picture: Picture, at: Point, to: Point, words: str, size: float = SIZE_MM) -> None:
    """A note with a thin line to what it names; the words stand to the right of ``to`` (left if it lies left)."""
    picture.line(at, to, DIMENSION)
    picture.circle(at, 0.35, None, "#000")
    right = to[0] >= at[0]
    gap = GAP_MM if right else -GAP_MM
    picture.text((to[0] + gap, to[1] + size * 0.35), words, size, "start" if right else "end", halo=True)


def _extend(picture: Picture, *points: Point) -> None:
    for a, b in zip(points[::2], points[1::2], strict=True):
        past_x = 0.8 if b[0] > a[0] else -0.8 if b[0] < a[0] else 0.0
        past_y = 0.8 if b[1] > a[1] else -0.8 if b[1] < a[1] else 0.0
        picture.line(a, (b[0] + past_x, b[1] + past_y), DIMENSION)


def _arrows(picture: Picture, a: Point, b: Point) -> None:
    length = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5
    if length < 1e-6:
        return
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    outside = length < 2.6 * ARROW_MM
    if outside:  # arrows from outside, as on any short dimension
        picture.line((a[0] - 3 * ux, a[1] - 3 * uy), (b[0] + 3 * ux, b[1] + 3 * uy), DIMENSION)
    else:
        picture.line(a, b, DIMENSION)
    turn = -1.0 if outside else 1.0
    _head(picture, a, (ux * turn, uy * turn))
    _head(picture, b, (-ux * turn, -uy * turn))


def _head(picture: Picture, tip: Point, inward: Point) -> None:
    ux, uy = inward
    back = (tip[0] + ARROW_MM * ux, tip[1] + ARROW_MM * uy)
    side = ARROW_MM * 0.17
    picture.polygon(
        [[tip, (back[0] - uy * side, back[1] + ux * side), (back[0] + uy * side, back[1] - ux * side)]],
        None,
        "#000",
    )
