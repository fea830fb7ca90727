"""Holes for what puts a laser's sheets in their place: two pins while they are glued, and a mark under each foot."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from holders.design.draft.places import Layout
from holders.design.model import Foot, Groove, Part, Rect
from holders.facts.habits import habit
from holders.facts.models import Process
from holders.geometry.outline import Outline, bounds, circle

GRID_MM = 2.0
EVEN_MM = 1e-6
MARK_MM = 1.0  # of the hole that marks a foot's middle; the foot covers it
CROSS_MM = 4.0  # of the cross that marks it where a blade cuts


def past_corner_mm(x: float, y: float, rules: Process) -> float:
    """How far a point lies past what is taken off the home corner, from which x and y are counted, mm."""
    if rules.corner_form == "hollow":
        return math.hypot(x, y) - rules.corner_cut_mm
    past_x, past_y = x - rules.corner_cut_mm, y - rules.corner_cut_mm
    return math.hypot(max(past_x, 0.0), max(past_y, 0.0)) if max(past_x, past_y) > 0 else max(past_x, past_y)


def pins(
    layout: Layout, rules: Process, corner_radius_mm: float, blocks: Sequence[Rect], feet: Sequence[Foot]
) -> tuple[Outline, ...]:
    """Two holes through every sheet of a stack, as far apart as they find room; none where there is none.

    They lie a wall from the rim, whose corners are rounded by ``corner_radius_mm``, from pockets, notches, fittings
    (``blocks``), feet and calibration zone, and beyond the lamp area in every place of the holder, so that no light
    comes through once the pins are out.
    """
    size = habit("dowel")
    wall = max(
        min(layout.wall, 2 * rules.wall_mm), rules.wall_mm
    )  # a wide bar between openings says nothing of pins
    radius, keep = size / 2, size / 2 + wall
    lamps = [Rect(layout.lamp.x - x, layout.lamp.y - y, layout.lamp.width, layout.lamp.height)
             for x, y in layout.moves.stands]  # fmt: skip
    blocked = [(place.room, keep) for place in layout.places]
    blocked += [(block, keep) for block in blocks]
    blocked += [(core, keep + reach) for core, reach in (foot.core for foot in feet)]
    blocked += [] if layout.keep_open is None else [(layout.keep_open, keep)]
    blocked += [(lamp, radius) for lamp in lamps]
    spots = _grid(layout.outer, keep)
    for block, far in blocked:
        spots = spots[_away(spots, block) >= far - 1e-9]
    free = [
        (x, y)
        for x, y in spots.tolist()
        if _inside_round((x, y), layout.outer, corner_radius_mm, keep)
        and past_corner_mm(x - layout.outer.x, y - layout.outer.y, rules) >= keep
    ]
    if not free:
        return ()
    o = layout.outer
    corner = min(
        free, key=lambda p: (math.dist(p, (o.right, o.y)), p)
    )  # foot right: opposite the home corner's side
    other = max(free, key=lambda p: (round(math.dist(p, corner), 6), p))
    if math.dist(corner, other) < min(o.width, o.height) / 2:
        return ()
    return tuple(circle(x, y, radius) for x, y in (corner, other))


def pinned(parts: Sequence[Part]) -> bool:
    """Whether a frame of sheets has these holes."""
    holes = [hole for part in parts if part.in_frame for slab in part.slabs for hole in slab.region.holes]
    boxes = [bounds(hole) for hole in holes if len(hole.vertices) == 2]
    return any(abs(box[2] - box[0] - habit("dowel")) < EVEN_MM for box in boxes)


def marks(feet: Sequence[Foot]) -> tuple[Outline, ...]:
    """A small hole through the lowest sheet at the middle of each foot."""
    return tuple(circle(foot.x, foot.y, MARK_MM / 2) for foot in feet)


def crosses(feet: Sequence[Foot], z_top: float) -> tuple[Groove, ...]:
    """A cross at the middle of each foot, to be pricked through the lowest sheet."""
    half = CROSS_MM / 2
    return tuple(
        Groove(
            "foot",
            (((f.x - half, f.y), (f.x + half, f.y)), ((f.x, f.y - half), (f.x, f.y + half))),
            0.3,
            0.0,
            z_top,
        )
        for f in feet
    )


def _grid(outer: Rect, keep: float) -> NDArray[np.float64]:
    """(n, 2) points in the rectangle, ``keep`` from its rim, column by column."""
    if outer.width < 2 * keep or outer.height < 2 * keep:
        return np.empty((0, 2))
    across = math.floor((outer.width - 2 * keep) / GRID_MM)
    along = math.floor((outer.height - 2 * keep) / GRID_MM)
    x = outer.x + keep + np.arange(across + 1) * GRID_MM
    y = outer.y + keep + np.arange(along + 1) * GRID_MM
    return np.stack(np.meshgrid(x, y, indexing="ij"), axis=-1).reshape(-1, 2)


def _inside_round(spot: tuple[float, float], outer: Rect, radius: float, keep: float) -> bool:
    """Whether a point lies ``keep`` from the arcs that round a rectangle's corners."""
    past_x = max(outer.x + radius - spot[0], spot[0] - outer.right + radius)
    past_y = max(outer.y + radius - spot[1], spot[1] - outer.top + radius)
    return min(past_x, past_y) <= 0 or math.hypot(past_x, past_y) <= radius - keep


def _away(spots: NDArray[np.float64], block: Rect) -> NDArray[np.float64]:
    """How far each of (n, 2) points lies from a rectangle, 0 within, mm."""
    x, y = spots.T
    past_x = np.maximum(np.maximum(block.x - x, x - block.right), 0.0)
    past_y = np.maximum(np.maximum(block.y - y, y - block.top), 0.0)
    return np.asarray(np.hypot(past_x, past_y), dtype=np.float64)
