"""How many sheets any nesting needs: bounds that no arrangement of the pieces can go below.

By material: what the pieces keep cannot exceed the sheets. By boxes: pieces that fit no hole of another lie beside one
another as boxes; dual feasible functions (S. P. Fekete and J. Schepers, "New classes of fast lower bounds for bin
packing
problems", Math. Programming 91 (2001) 11-31, from memory) turn their sizes into areas that cannot exceed the
sheets' either, but count a box of just over half a sheet as more than half.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

Size = tuple[float, float]
TINY = 1e-9


def _plain(x: float) -> float:
    return x


def _rounded(k: int) -> Callable[[float], float]:
    """u(k): x where (k+1) x is whole, else the floor of (k+1) x over k; sums of x up to 1 stay up to 1."""

    def u(x: float) -> float:
        whole = (k + 1) * x
        if abs(whole - round(whole)) < TINY:
            return x
        return math.floor(whole) / k

    return u


FUNCTIONS: tuple[Callable[[float], float], ...] = (_plain, _rounded(1), _rounded(2), _rounded(3))


def by_boxes(boxes: Sequence[Size], sheet: Size, turn: bool) -> int:
    """Sheets of one size that the boxes need at least; with ``turn`` each counts the way that takes less."""
    best = 0
    for f in FUNCTIONS:
        for g in FUNCTIONS:
            total = sum(min(_taken(box, sheet, f, g, turn)) for box in boxes)
            best = max(best, math.ceil(total - 1e-6))
    return best


def _taken(
    box: Size, sheet: Size, f: Callable[[float], float], g: Callable[[float], float], turn: bool
) -> list[float]:
    """The box's share of a sheet each way round that it fits (both where neither does)."""
    ways = [box, (box[1], box[0])] if turn else [box]
    fits = [(w, h) for w, h in ways if w <= sheet[0] + TINY and h <= sheet[1] + TINY] or ways
    return [f(min(1.0, w / sheet[0])) * g(min(1.0, h / sheet[1])) for w, h in fits]


def by_area(area_mm2: float, sheet: Size) -> int:
    """Sheets that hold so much material at least."""
    return math.ceil(area_mm2 / (sheet[0] * sheet[1]) - TINY)
