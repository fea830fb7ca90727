"""Whether a picture was once packed with losses in squares of eight pixels, whatever file it stands in now.

JPEG (ISO/IEC 10918-1) codes squares of 8 x 8 pixels one by one. What it rounds away does not meet at their borders, so
steps from pixel to pixel are larger there, at every eighth row and column. It takes away grain and noise alike, or puts
its own in their place, and how much of the grain is there is what tells sharp from soft.
"""

from __future__ import annotations

import numpy as np

from holders.measure.finished.rings.bands import F32

SIDE = 8
SAMPLED = 64  # rows of each strip that are looked at
MOST_STEPS = 8_000_000  # looked at in all
EXCESS = (
    0.008  # by how much one border's steps are the largest of three more often than any other's; judgement
)
SIGMAS = 5.0  # of chance, in small pictures


class Squares:
    """Takes a scan's rows as they come, and counts where a step from pixel to pixel is larger than both beside it."""

    def __init__(self) -> None:
        self._won = np.zeros((2, SIDE), np.int64)
        self._seen = np.zeros((2, SIDE), np.int64)
        self._top = 0

    def add(self, light: F32) -> None:
        """More rows of one channel, (rows, width)."""
        part = light[:SAMPLED]
        if int(self._seen.sum()) < MOST_STEPS and min(part.shape) > 2 * SIDE:
            self._count(0, np.abs(np.diff(part, axis=1)), 0)
            self._count(1, np.abs(np.diff(part, axis=0)).T, self._top)
        self._top += len(light)

    def _count(self, way: int, steps: F32, first: int) -> None:
        middle, before, after = steps[:, 1:-1], steps[:, :-2], steps[:, 2:]
        won = ((middle > before) & (middle > after)).sum(axis=0)
        seen = ((middle > 0) | (before > 0) | (after > 0)).sum(axis=0)
        place = (first + np.arange(len(won))) % SIDE
        self._won[way] += np.bincount(place, won, SIDE).astype(np.int64)
        self._seen[way] += np.bincount(place, seen, SIDE).astype(np.int64)

    def done(self) -> bool:
        """Whether one of eight borders stands out from all others, both along and across."""
        if self._seen.min() == 0:
            return False
        share = np.sort(self._won / self._seen, axis=1)
        sigma = np.sqrt(2.0 * share[:, -1] * (1.0 - share[:, -1]) / self._seen.min(axis=1))
        return bool((share[:, -1] - share[:, -2] > np.maximum(EXCESS, SIGMAS * sigma)).all())
