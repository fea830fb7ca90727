"""Where the film can touch: the points of ledge, lid, cover and glass, as inequalities on the unknowns."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from holders.film.models import Array
from holders.film.solver.basis import Parity, gauss
from holders.film.solver.grid import Axis, Layout, Outline
from holders.film.solver.lines import film_line

Flags = NDArray[np.bool_]
STRIP_POINTS = 3  # across a lip: its inner line, its middle, the film's edge
BESIDE = 0.5  # points this near, against the depth of the deepest, are likely to touch next
BY = ("ledge", "lid", "cover", "glass")


@dataclass(frozen=True)
class ContactSet:
    """Inequalities ``rows @ c + room >= 0``; ``sign`` is +1 where something pushes up, -1 where it pushes down."""

    rows: Array
    room: Array
    sign: Array
    x: Array
    y: Array
    by: NDArray[np.int64]  # index into BY
    number: NDArray[np.int64]  # among those that the layout asks for; -1 for what was found between them

    @property
    def count(self) -> int:
        """How many."""
        return len(self.room)

    def where(self, chosen: Flags) -> ContactSet:
        """Some of them."""
        return ContactSet(*(getattr(self, field.name)[chosen] for field in fields(self)))


def _stations(axis: Axis, functions: int, whole: bool, density: int) -> tuple[Array, Flags, Flags]:
    """Points along one direction with flags (on the ledge's strip, on the lid's strip)."""
    lo, hi = -axis.half, axis.half
    mirrored = axis.symmetric and not whole
    n = int(np.ceil(1.5 * density * functions * (2 if mirrored else 1)))
    g = gauss(n + n % 2)[0]
    reach_lo, reach_hi = {axis.ledge[0], axis.lid[0]}, {axis.ledge[1], axis.lid[1]}
    inner_lo, inner_hi = lo + max(reach_lo), hi - max(reach_hi)
    middle, half = 0.5 * (inner_lo + inner_hi), 0.5 * (inner_hi - inner_lo)
    steps = (STRIP_POINTS - 1) * density
    # without a lip the very edge is a station too, so that nothing dips under a neighbour's ledge or the glass
    low = sorted({round(lo + r * k / steps, 12) for r in reach_lo for k in range(steps + 1)})
    high = sorted({round(hi - r * k / steps, 12) for r in reach_hi for k in range(steps + 1)})
    x = np.concatenate([g[g > 0] * half, high] if mirrored else [low, middle + half * g, high])
    eps = 1e-9
    ledge, lid = (
        ((x <= lo + a + eps) & (a > 0)) | ((x >= hi - b - eps) & (b > 0)) for a, b in (axis.ledge, axis.lid)
    )
    return x, ledge, lid


@dataclass(frozen=True)
class Net:
    """Points of a grid where contact is looked for; flattened with y running fastest.

    ``ledge``, ``lid`` say where those reach; ``along_x``, ``along_y`` are the functions' values at the grid lines.
    """

    x: Array
    y: Array
    ledge: Flags
    lid: Flags
    along_x: Array
    along_y: Array

    def heights(self, c: Array) -> Array:
        """Deflection of the shape ``c`` at all points."""
        grid = c.reshape(self.along_x.shape[1], -1)
        return np.asarray((self.along_x @ (grid @ self.along_y.T)).ravel())

    def rows(self, where: Flags) -> Array:
        """(count, n) values of the functions at some of the points."""
        i, j = np.divmod(np.flatnonzero(where), len(self.along_y))
        n = self.along_x.shape[1] * self.along_y.shape[1]
        return np.asarray((self.along_x[i][:, :, None] * self.along_y[j][:, None, :]).reshape(len(i), n))


Classes = tuple[Parity, Parity]
Part = Literal["ledge", "open", "lid", "all"]


@lru_cache(maxsize=48)
def net(outline: Outline, classes: Classes, density: int = 1) -> Net:
    """The contact points of one class; ``density`` multiplies their number per direction."""
    lines = film_line(outline.x, classes[0]).line, film_line(outline.y, classes[1]).line
    whole = [wanted == "none" for wanted in classes]
    xs, ledge_x, lid_x = _stations(outline.x, lines[0].size, whole[0], density)
    ys, ledge_y, lid_y = _stations(outline.y, lines[1].size, whole[1], density)
    return Net(
        x=np.repeat(xs, len(ys)),
        y=np.tile(ys, len(xs)),
        ledge=(ledge_x[:, None] | ledge_y[None, :]).ravel(),
        lid=(lid_x[:, None] | lid_y[None, :]).ravel(),
        along_x=lines[0].at(xs),
        along_y=lines[1].at(ys),
    )


def _where(points: Net, part: Part) -> Flags:
    return {
        "ledge": points.ledge,
        "open": ~points.ledge,
        "lid": points.lid,
        "all": np.ones_like(points.ledge),
    }[part]


@lru_cache(maxsize=24)
def part_rows(outline: Outline, classes: Classes, part: Part) -> Array:
    """(count, n) values of the functions at the points of one part of the net; remembered."""
    points = net(outline, classes)
    return points.rows(_where(points, part))


@lru_cache(maxsize=96)
def _crossed(outline: Outline, classes: Classes, other: Classes) -> tuple[Array, Array, Array, Array]:
    """The net's lines across and along of one class, and there the values of another class's functions."""
    points = net(outline, classes)
    ys = points.y[: len(points.along_y)]
    xs = points.x[:: len(ys)]
    along_x, along_y = (
        film_line(axis, one).line for axis, one in zip((outline.x, outline.y), other, strict=True)
    )
    return xs, ys, along_x.at(xs), along_y.at(ys)


def rows_in(outline: Outline, classes: Classes, other: Classes, touch: ContactSet) -> Array:
    """(count, n) values of the functions of an ``other`` class at the points of a contact set of ``classes``."""
    xs, ys, along_x, along_y = _crossed(outline, classes, other)
    i, j = np.searchsorted(xs[:-1], touch.x), np.searchsorted(ys[:-1], touch.y)
    if np.array_equal(xs[i], touch.x) and np.array_equal(ys[j], touch.y):
        along_x, along_y = along_x[i], along_y[j]
    else:  # some were found between the lines
        lines = (film_line(axis, one).line for axis, one in zip((outline.x, outline.y), other, strict=True))
        along_x, along_y = (line.at(at) for line, at in zip(lines, (touch.x, touch.y), strict=True))
    return np.asarray((along_x[:, :, None] * along_y[:, None, :]).reshape(touch.count, -1))


def _walls(layout: Layout, floor: bool) -> list[tuple[Part, float, int, int]]:
    """What the film can touch: where, free height, direction of the push, index into ``BY``."""
    walls: list[tuple[Part, float, int, int]] = []
    if layout.contact:
        walls.append(("ledge", 0.0, 1, 0))
        if layout.ceiling is not None:
            walls.append(
                ("all", layout.ceiling, -1, 2)
                if layout.ceiling_everywhere
                else ("lid", layout.ceiling, -1, 1)
            )
    if floor:
        walls.append(("open", -layout.floor, 1, 3))
    return walls


def touches(layout: Layout, classes: Classes, floor: bool, unknowns: int) -> ContactSet:
    """All inequalities for this class, with or without the glass below."""
    walls, parts = _walls(layout, floor), []
    if not walls:
        return joined((), unknowns)
    points = net(layout.outline, classes)
    for part, room, sign, by in walls:
        where, rows = _where(points, part), part_rows(layout.outline, classes, part)
        parts.append(_touch(points, where, rows, room, sign, by))
    every = joined(parts, unknowns)
    return replace(every, number=np.arange(every.count))


def missed(
    layout: Layout, classes: Classes, floor: bool, density: int, c: Array, enough: float
) -> ContactSet:
    """The points of a denser net that the shape ``c`` reaches into or nearly does, if by more than ``enough``."""
    walls, parts = _walls(layout, floor), []
    if not walls:
        return joined((), len(c))
    points = net(layout.outline, classes, density)
    heights = points.heights(c)
    gaps = [sign * heights + room for _, room, sign, _ in walls]
    parted = [_where(points, part) for part, *_ in walls]
    # a lid that reaches in over nothing has no points
    deep = max(-float(gap[where].min(initial=np.inf)) for gap, where in zip(gaps, parted, strict=True))
    if deep > enough:
        for gap, where, (_, room, sign, by) in zip(gaps, parted, walls, strict=True):
            near = where & (gap < BESIDE * deep)
            parts.append(_touch(points, near, points.rows(near), room, sign, by))
    return joined(parts, len(c))


def _touch(points: Net, where: Flags, rows: Array, room: float, sign: int, by: int) -> ContactSet:
    n = len(rows)
    return ContactSet(
        rows if sign > 0 else -rows,
        np.full(n, room),
        np.full(n, float(sign)),
        points.x[where],
        points.y[where],
        np.full(n, by),
        np.full(n, -1),
    )


def joined(parts: Sequence[ContactSet], unknowns: int) -> ContactSet:
    """Several sets of inequalities as one."""
    if len(parts) == 1:
        return parts[0]
    if not parts:
        none, no_number = np.empty(0), np.empty(0, dtype=int)
        return ContactSet(np.empty((0, unknowns)), none, none, none, none, no_number, no_number)
    return ContactSet(
        *(np.concatenate([getattr(part, f.name) for part in parts]) for f in fields(ContactSet))
    )


def deepest(touch: ContactSet, c: Array) -> float:
    """How far the shape reaches into anything, in thicknesses (0: nowhere)."""
    return max(0.0, -float((touch.rows @ c + touch.room).min())) if touch.count else 0.0
