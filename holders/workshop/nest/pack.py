"""Rectangles into bins with rectpack (Apache), in whole micrometres so that nothing is lost to rounding."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import rectpack

MICRONS = 1000

Turning = Literal["any", "grain"]

_ALGORITHMS = (
    rectpack.MaxRectsBssf,
    rectpack.MaxRectsBaf,
    rectpack.MaxRectsBl,
    rectpack.GuillotineBssfSas,
    rectpack.SkylineMwfl,
)
_SORTS = (rectpack.SORT_AREA, rectpack.SORT_LSIDE, rectpack.SORT_SSIDE)


@dataclass(frozen=True, slots=True)
class Bin:
    """A rectangle to pack into, how many there are (None: as many as it takes)."""

    width: float
    height: float
    count: int | None = 1


@dataclass(frozen=True, slots=True)
class Packed:
    """Rectangle ``item`` in copy ``copy`` of bin ``bin``; corner of least x and y; turned a quarter or not."""

    item: int
    bin: int
    copy: int
    x: float
    y: float
    turned: bool


def ways(bins: Sequence[Bin], sizes: Sequence[tuple[float, float]], turning: Turning) -> list[list[Packed]]:
    """One packing for each of several rules of placing and orders; what did not fit is missing from it."""
    return [_pack(bins, sizes, turning, algo, order) for algo in _ALGORITHMS for order in _SORTS]


def _pack(
    bins: Sequence[Bin], sizes: Sequence[tuple[float, float]], turning: Turning, algo: object, order: object
) -> list[Packed]:
    packer = rectpack.newPacker(
        mode=rectpack.PackingMode.Offline,
        bin_algo=rectpack.PackingBin.BFF,
        pack_algo=algo,
        sort_algo=order,
        rotation=turning == "any",
    )
    grid = [(_up(w), _up(h)) for w, h in sizes]
    for index, (w, h) in enumerate(grid):
        packer.add_rect(w, h, index)
    for index, room in enumerate(bins):
        count = float("inf") if room.count is None else room.count
        packer.add_bin(_down(room.width), _down(room.height), count=count, bid=index)
    packer.pack()
    found, copies = [], dict.fromkeys(range(len(bins)), 0)
    for used in packer:
        if not len(used):
            continue
        bid = used.bid
        for rect in used:
            turned = (rect.width, rect.height) != grid[rect.rid]
            found.append(Packed(rect.rid, bid, copies[bid], rect.x / MICRONS, rect.y / MICRONS, turned))
        copies[bid] += 1
    return found


def _up(length: float) -> int:
    return math.ceil(length * MICRONS - 1e-6)


def _down(length: float) -> int:
    return math.floor(length * MICRONS + 1e-6)
