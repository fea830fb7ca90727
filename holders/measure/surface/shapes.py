"""The film's surface as a sum of shapes over its opening, each with the size that is expected of it.

Coordinates over the opening run 0..1 from left to right and from top to bottom. The shapes are those of a plate on
its ledge (products of sines, smaller the shorter they are) and what the rim itself does: lifted corners and waves of
the edge that fade inward as a plate's do. A side that no scan shows is put further out, so that it binds nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.surface.opening import Opening, Side

F64 = NDArray[np.float64]

LEAST_WAVE_MM = 12.0  # half wave of the shortest shape of a large film
# a film that is bent up to its ledge is no sum of few sines: with 6 the rest beside the ledge passed for distortion
LEAST_WAVES, ENOUGH_WAVES, MOST_WAVES = 6, 14, 18
SHORTEST_MM = 4.0  # half wave that windows of some 2 mm still show: shorter ones fit their noise
EDGE_WAVES = 6
EDGE_SHARE = (
    0.7  # of a corner: with the corners, every place of an edge is then expected to be off about as much
)
LEAST_SIZE = 0.0005  # share of the largest: smaller shapes are left out
FALL = 1.5  # a plate's own is above 2 for an even load; a slower one lets the scans speak
BEYOND = 0.35  # of the film's width: how far a side that is not seen is put outside


@dataclass(frozen=True)
class Shapes:
    """Shapes over one opening. ``waves`` (across, along) of each sine product; ``seen`` what the scan shows of it."""

    opening: Opening
    seen: Opening
    waves: tuple[tuple[int, int], ...]
    aspect: float

    def unit(self, x_mm: F64, y_mm: F64) -> tuple[F64, F64]:
        """Places as shares 0..1 of the opening."""
        return _unit(self.opening, x_mm, y_mm)

    def seen_unit(self, x_mm: F64, y_mm: F64) -> tuple[F64, F64]:
        """Places as shares 0..1 of what is seen of the opening."""
        return _unit(self.seen, x_mm, y_mm)

    def sines(self, x_mm: F64, y_mm: F64, waves: tuple[tuple[int, int], ...] | None = None) -> F64:
        """Sine products at N places, (N, shapes)."""
        p, q = (np.clip(v, 0, 1) for v in self.unit(x_mm, y_mm))
        chosen = np.array(self.waves if waves is None else waves)
        return np.asarray(
            np.sin(np.pi * p[:, None] * chosen[None, :, 0]) * np.sin(np.pi * q[:, None] * chosen[None, :, 1])
        )

    def rim(self, x_mm: F64, y_mm: F64) -> F64:
        """Four corners, then ``EDGE_WAVES`` waves of each of the four edges, (N, 4 + 4 EDGE_WAVES)."""
        p, q = (np.clip(v, 0, 1) for v in self.unit(x_mm, y_mm))
        out = [(1 - p) * (1 - q), p * (1 - q), (1 - p) * q, p * q]
        for k in range(1, EDGE_WAVES + 1):
            for along, inward, ratio in (
                (q, p, self.aspect), (q, 1 - p, self.aspect), (p, q, 1 / self.aspect), (p, 1 - q, 1 / self.aspect),
            ):  # fmt: skip
                out.append(np.sin(np.pi * k * along) * _fading(inward, np.pi * k * ratio))
        return np.stack(out, axis=1)

    def sine_sizes(self) -> F64:
        """Expected size of each sine product, the longest being 1."""
        w = np.array(self.waves, float)
        stiff = (w[:, 0] / self.aspect) ** 2 + w[:, 1] ** 2
        return np.asarray(((1 / self.aspect**2 + 1) / stiff) ** FALL)

    def rim_sizes(self) -> F64:
        """Expected size of each rim shape, a corner's being 1."""
        return np.array([1.0] * 4 + [EDGE_SHARE / k for k in range(1, EDGE_WAVES + 1) for _ in range(4)])

    def rim_seen(self, seen: tuple[bool, bool, bool, bool]) -> NDArray[np.bool_]:
        """Which rim shapes belong to sides (left, right, top, bottom) that are seen."""
        left, right, top, bottom = seen
        # a corner outside the scan still lies on the ledge of its other side
        corners = [left or top, right or top, left or bottom, right or bottom]
        return np.array(corners + [left, right, top, bottom] * EDGE_WAVES)


def _unit(o: Opening, x_mm: F64, y_mm: F64) -> tuple[F64, F64]:
    left, right = o.left.place(y_mm), o.right.place(y_mm)
    top, bottom = o.top.place(x_mm), o.bottom.place(x_mm)
    return (x_mm - left) / (right - left), (y_mm - top) / (bottom - top)


def _fading(inward: F64, rate: float) -> F64:
    """sinh(rate (1 - t)) / sinh(rate), without overflow: 1 at the edge, 0 at the far side."""
    t = np.clip(inward, 0, 1)
    return np.asarray((np.exp(-rate * t) - np.exp(-rate * (2 - t))) / (1 - np.exp(-2 * rate)))


def shapes_over(opening: Opening) -> Shapes:
    """The shapes for an opening (mm)."""
    left, right, top, bottom = opening.box
    wide, high = right - left, bottom - top
    whole = Opening(
        _out(opening.left, -BEYOND * wide), _out(opening.right, BEYOND * wide),
        _out(opening.top, -BEYOND * high), _out(opening.bottom, BEYOND * high),
    )  # fmt: skip
    left, right, top, bottom = whole.box
    wide, high = right - left, bottom - top
    nx, ny = _waves(wide), _waves(high)
    aspect = wide / high
    first = 1 / aspect**2 + 1
    waves = tuple(
        (m, n)
        for m in range(1, nx + 1)
        for n in range(1, ny + 1)
        if (first / ((m / aspect) ** 2 + n**2)) ** FALL >= LEAST_SIZE
        and (m / nx) ** 2 + (n / ny) ** 2 <= 1.001
    )
    return Shapes(whole, opening, waves, aspect)


def _waves(size_mm: float) -> int:
    """How many half waves the shortest shape has over a side."""
    most = max(round(size_mm / LEAST_WAVE_MM), min(ENOUGH_WAVES, int(size_mm / SHORTEST_MM)))
    return int(np.clip(most, LEAST_WAVES, MOST_WAVES))


def _out(side: Side, by: float) -> Side:
    return side if side.seen else Side(side.at + by, side.slope, False)
