"""Strips of a scan read piece by piece, and their spectra: only as much as the wanted certainty needs."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.focus.cut import Part
from holders.focus.placed import Placed
from holders.focus.spectra import F32, F64, Cells, Features, cell_power
from holders.focus.view import View

Progress = Callable[[str, float], None]

CHUNK_PIXELS = 6_000_000
FIRST_PASS_PIXELS = 4_000_000


@dataclass(frozen=True)
class Taken:
    """Spectra of strips: power (channels, strips, n, f), level and offset of the detail
    from the cell's middle in pixels (channels, strips, n), share of pixels clipped,
    and which cells (strips, n) lie in the window.
    """

    power: F64
    level: F64
    offset: F64
    clipped: float
    strips: tuple[int, ...]
    allowed: NDArray[np.bool_]

    def joined(self, more: Taken) -> Taken:
        """Both together."""
        n, m = len(self.strips), len(more.strips)
        return Taken(
            np.concatenate([self.power, more.power], axis=1),
            np.concatenate([self.level, more.level], axis=1),
            np.concatenate([self.offset, more.offset], axis=1),
            (n * self.clipped + m * more.clipped) / (n + m),
            self.strips + more.strips,
            np.concatenate([self.allowed, more.allowed]),
        )


def plan(starts: Sequence[int], part: Part, cells: Cells) -> list[list[int]]:
    """All strips worth reading, in passes: each spreads over the target, each doubles what came before."""
    wide, length = part.across[1] - part.across[0], part.along[1] - part.along[0]
    hop = cells.rows // 2
    gap = max(hop, int(np.median(np.diff(starts)))) if len(starts) > 1 else wide
    every = [s for s in range(0, wide - cells.rows + 1, hop) if any(abs(s - t) <= gap for t in starts)] or [0]
    passes: list[list[int]] = []
    done: set[int] = set()
    budget = max(6, FIRST_PASS_PIXELS // (length * hop))
    while len(done) < len(every):
        n = min(len(every), budget if not done else 2 * len(done))
        at = {every[i] for i in np.unique(np.linspace(0, len(every) - 1, n).round().astype(int))} - done
        at = at or set(every) - done
        passes.append(sorted(at))
        done |= at
    return passes


def take(
    view: View, placed: Placed, cells: Cells, features: Features, strips: list[int], tell: Progress
) -> Taken:
    """Read strips and make their spectra, a few million pixels at a time."""
    n = cells.count(placed.part.along[1] - placed.part.along[0])
    power = np.empty((view.channels, len(strips), n, features.weights.shape[1]))
    level = np.empty((view.channels, len(strips), n))
    offset = np.empty((view.channels, len(strips), n))
    clipped = 0.0
    for at, to, data in _pieces(view, placed, cells, strips):
        starts = cells.starts(to, n)
        starts = starts[starts - starts[0] + cells.block <= data.shape[2]] - starts[0]
        count = len(starts)
        share = count / n * data.shape[0] / len(strips)
        clipped += share * float(np.count_nonzero((data >= 0.9999) | (data <= 0.0))) / data.size
        for k in range(data.shape[0]):
            for c in range(view.channels):
                spectra, mean, behind = cell_power(np.ascontiguousarray(data[k, :, :, c]), cells, starts)
                power[c, at + k, to : to + count] = spectra.reshape(count, -1) @ features.weights
                level[c, at + k, to : to + count] = mean
                offset[c, at + k, to : to + count] = behind
        tell("reading", min(1.0, (at + data.shape[0]) / len(strips) * (to + count) / n))
    return Taken(power, level, offset, clipped, tuple(strips), placed.allowed(cells, strips))


def _pieces(view: View, placed: Placed, cells: Cells, strips: list[int]) -> Iterator[tuple[int, int, F32]]:
    """Pieces of strips: (first strip, first place, light (strips, rows, along, channels))."""
    part, n = placed.part, cells.count(placed.part.along[1] - placed.part.along[0])
    # where the slope runs down the file, every strip is cut out of the same rows, read once
    groups = [(i, [s]) for i, s in enumerate(strips)] if view.by_columns else [(0, strips)]
    for i, group in groups:
        low, high = group[0], group[-1] + cells.rows
        shifts = placed.shifts(cells, group)
        per = max(1, int(CHUNK_PIXELS / ((high - low) * cells.hop * view.channels)))
        for first in range(0, n, per):
            starts = cells.starts(first, min(n, first + per)) + part.along[0]
            a, length = int(starts[0] + shifts.min()), int(starts[-1] - starts[0]) + cells.block
            span = (a, int(starts[-1] + shifts.max()) + cells.block)
            block = view.read([span], (part.across[0] + low, part.across[0] + high))
            cut = [
                block[s - low : s - low + cells.rows, k : k + length]
                for s, k in zip(group, (shifts - shifts.min()).tolist(), strict=True)
            ]
            yield i, first, np.stack(cut)
