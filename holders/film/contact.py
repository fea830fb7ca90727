"""Where the film can touch: the points of ledge, lid, cover and glass, as inequalities on the unknowns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.film.basis import gauss
from holders.film.layout import Axis, Layout
from holders.film.models import Array
from holders.film.plate import Plate

Flags = NDArray[np.bool_]
STRIP_POINTS = 3  # across a lip: its inner line, its middle, the film's edge
BY = ("ledge", "lid", "cover", "glass")


@dataclass(frozen=True)
class Touch:
    """Inequalities ``rows @ c + room >= 0``; ``sign`` is +1 where something pushes up, -1 where it pushes down."""

    rows: Array
    room: Array
    sign: Array
    x: Array
    y: Array
    by: NDArray[np.int64]  # index into BY

    @property
    def count(self) -> int:
        """How many."""
        return len(self.room)


def _stations(axis: Axis, functions: int, whole: bool, density: int) -> tuple[Array, Flags, Flags]:
    """Points along one direction with flags (on the ledge's strip, on the lid's strip)."""
    lo, hi = -axis.half, axis.half
    n = int(np.ceil(1.5 * density * functions * (2 if axis.symmetric and not whole else 1)))
    strip = (STRIP_POINTS - 1) * density + 1
    inner_lo, inner_hi = lo + max(axis.ledge[0], axis.lid[0]), hi - max(axis.ledge[1], axis.lid[1])
    g = gauss(n + n % 2)[0]
    xs = [0.5 * (inner_lo + inner_hi) + 0.5 * (inner_hi - inner_lo) * g]
    for reach in {axis.ledge[0], axis.lid[0]} - {0.0}:
        xs.append(np.linspace(lo, lo + reach, strip))
    for reach in {axis.ledge[1], axis.lid[1]} - {0.0}:
        xs.append(np.linspace(hi - reach, hi, strip))
    # without a lip the very edge is a station too, so that nothing dips under a neighbour's ledge or the glass
    x = np.unique(np.round(np.concatenate([*xs, np.array([lo, hi])]), 12))
    if axis.symmetric and not whole:
        x = x[x >= 0]
    eps = 1e-9
    ledge = ((x <= lo + axis.ledge[0] + eps) & (axis.ledge[0] > 0)) | (
        (x >= hi - axis.ledge[1] - eps) & (axis.ledge[1] > 0)
    )
    lid = ((x <= lo + axis.lid[0] + eps) & (axis.lid[0] > 0)) | (
        (x >= hi - axis.lid[1] - eps) & (axis.lid[1] > 0)
    )
    return x, ledge, lid


def touches(layout: Layout, plate: Plate, whole: tuple[bool, bool], floor: bool, density: int = 1) -> Touch:
    """All inequalities for this class; ``whole`` says per direction whether the full line is in use.

    ``density`` multiplies the number of points per direction.
    """
    if not layout.contact and not floor:
        none = np.empty(0)
        return Touch(np.empty((0, plate.size)), none, none, none, none, np.empty(0, dtype=int))
    xs, ledge_x, lid_x = _stations(layout.x, plate.line_x.size, whole[0], density)
    ys, ledge_y, lid_y = _stations(layout.y, plate.line_y.size, whole[1], density)
    x, y = np.repeat(xs, len(ys)), np.tile(ys, len(xs))
    ledge = (ledge_x[:, None] | ledge_y[None, :]).ravel()
    lid = (lid_x[:, None] | lid_y[None, :]).ravel()
    values = plate.grid_rows(xs, ys)
    parts: list[tuple[Flags, float, int, int]] = []
    if layout.contact:
        parts.append((ledge, 0.0, 1, 0))
        if layout.ceiling is not None:
            everywhere = layout.ceiling_everywhere
            parts.append(
                (np.ones_like(lid) if everywhere else lid, layout.ceiling, -1, 2 if everywhere else 1)
            )
    if floor:
        parts.append((~ledge, -layout.floor, 1, 3))
    rows, room, sign, px, py, by = [], [], [], [], [], []
    for mask, r, s, b in parts:
        n = int(mask.sum())
        rows.append(s * values[mask])
        room.append(np.full(n, r))
        sign.append(np.full(n, float(s)))
        px.append(x[mask])
        py.append(y[mask])
        by.append(np.full(n, b))
    return Touch(
        np.vstack(rows),
        np.concatenate(room),
        np.concatenate(sign),
        np.concatenate(px),
        np.concatenate(py),
        np.concatenate(by),
    )


def deepest(touch: Touch, c: Array) -> float:
    """How far the shape reaches into anything, in thicknesses (0: nowhere)."""
    return max(0.0, -float((touch.rows @ c + touch.room).min())) if touch.count else 0.0
