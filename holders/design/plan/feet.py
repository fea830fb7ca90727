"""Where anti-slip feet stand: on the underside, off the lamp area, clear of windows and the calibration zone."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.design.model import Foot, Rect
from holders.design.plan.layout import Layout
from holders.design.plan.notches import Notch
from holders.facts.models import Process
from holders.preset.resolve import Job

EDGE_MM = 1.5  # material left beside a foot
GRID_MM = 2.0
ALIKE_MM = 1e-9

# where feet would like to stand, as shares of the free width and length: spread wide, never in one line
WISHES: dict[int, tuple[tuple[float, float], ...]] = {
    3: ((0, 0), (1, 0), (0.5, 1)),
    4: ((0, 0), (1, 0), (0, 1), (1, 1)),
    5: ((0, 0), (1, 0), (0, 1), (1, 1), (0.5, 1)),
    6: ((0, 0), (1, 0), (0, 1), (1, 1), (0, 0.5), (1, 0.5)),
    7: ((0, 0), (1, 0), (0, 1), (1, 1), (0, 0.5), (1, 0.5), (0.5, 1)),
    8: ((0, 0), (1, 0), (0, 1), (1, 1), (0, 0.5), (1, 0.5), (0.5, 1), (0.5, 0)),
}


def feet(
    job: Job, layout: Layout, notches: tuple[tuple[Notch, ...], ...], rules: Process, flare: float
) -> tuple[Foot, ...]:
    """Feet nearest to their wished spots.

    Raises ``InputError`` when fewer fit than asked.
    """
    table = job.preset.feet
    if table is None:
        return ()
    diameter = table.diameter_mm
    blocked = _blocked(layout, notches, flare)
    o = layout.outer
    spots = _spots(o, diameter / 2 + EDGE_MM, tuple(blocked), rules.corner_cut_mm)
    chosen: list[tuple[float, float]] = []
    for share_x, share_y in WISHES[table.count]:
        if not len(spots):
            raise InputError(
                "feet.count",
                table.count,
                f"only {len(chosen)} feet of {diameter} mm find room off the lamp area; take fewer or smaller ones",
            )
        away = _distance(spots, (o.x + share_x * o.width, o.y + share_y * o.height))
        # of spots as near as the nearest always the same one, whatever the last digits say
        nearest = spots[away <= away.min() + ALIKE_MM]
        x, y = min(nearest.tolist())
        chosen.append((x, y))
        spots = spots[_distance(spots, (x, y)) >= diameter + EDGE_MM]
    return tuple(Foot(x, y, diameter) for x, y in chosen)


def _distance(spots: NDArray[np.float64], point: tuple[float, float]) -> NDArray[np.float64]:
    return np.hypot(spots[:, 0] - point[0], spots[:, 1] - point[1])


def _blocked(layout: Layout, notches: tuple[tuple[Notch, ...], ...], flare: float) -> list[Rect]:
    found = [layout.lamp]
    if layout.keep_open is not None:
        found.append(layout.keep_open)
    for place, mine in zip(layout.places, notches, strict=True):
        found.append(place.opening.grown(flare))
        found.extend(notch.rect(place.room) for notch in mine)
    return found


@lru_cache(maxsize=8)  # a holder is designed again when its ledge has moved, and feet have no heights
def _spots(o: Rect, reach: float, blocked: tuple[Rect, ...], corner: float) -> NDArray[np.float64]:
    """Grid points (n, 2) where a disc of radius ``reach`` lies inside the holder and off every blocked rectangle."""
    xs = np.array(_steps(o.x + reach, o.right - reach))
    ys = np.array(_steps(o.y + reach, o.top - reach))
    x, y = xs[None, :], ys[:, None]
    clear = (x - o.x + y - o.y - corner) / math.sqrt(2) >= reach
    for b in blocked:
        across = np.maximum(np.maximum(b.x - x, x - b.right), 0.0)
        along = np.maximum(np.maximum(b.y - y, y - b.top), 0.0)
        clear &= across**2 + along**2 >= (reach - EDGE_MM) ** 2
    j, i = np.nonzero(clear)
    spots = np.stack([xs[i], ys[j]], axis=1)
    spots.flags.writeable = False
    return spots


def _steps(low: float, high: float) -> list[float]:
    if high < low:
        return []
    count = max(1, math.floor((high - low) / GRID_MM))
    return [low + (high - low) * k / count for k in range(count + 1)]
