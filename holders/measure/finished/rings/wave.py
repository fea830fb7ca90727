"""A fitted wave: what speaks for it and against it, and how it goes on beside its tile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.rings.chirp import SIDE, Form

Pair = tuple[float, float]
Cube = tuple[float, float, float, float]
NO_CUBE: Cube = (0.0, 0.0, 0.0, 0.0)
LEFT_BY_NOISE = 2.0  # of two planes
BESIDE = 1.5  # what the other channels hold counts so much against a wave
SHARED_BY_NOISE = 2.0
SHARED = 0.45  # and what a channel holds at the middle channel's own frequency so much


@dataclass(frozen=True)
class Wave:
    """A fitted wave in the tile at ``row``, ``col``.

    ``fx``, ``fy`` cycles per px at its middle and ``form`` as in ``Peak``; ``cube`` the phase's part of third order,
    cube·(X³, 2X²Y, 2XY², Y³) rad; ``ratios`` of the channels to the middle wavelength as fitted; ``own`` their peaks
    over their neighbourhoods, ``left`` what ``bands.pair_left`` has at each one's wave, alike, sum of its two planes;
    ``shared`` what each channel but the middle one has at the middle one's frequency. ``astray``: bins between its
    frequency and that of the wave it continues, half way.
    """

    row: int
    col: int
    fx: float
    fy: float
    form: Form
    cube: Cube
    ratios: tuple[float, ...]
    own: tuple[float, ...]
    left: tuple[float, ...]
    shared: tuple[float, ...] = (0.0, 0.0, 0.0)
    astray: float = 0.0

    @property
    def evidence(self) -> float:
        """The two weaker channels and as much of the strongest: one channel alone says nothing."""
        return _agreed(self.own)

    @property
    def worth(self) -> float:
        """Evidence less what a wave of many colours, or one pitch for all colours, would explain as well.

        Rings of one wavelength show in one channel; a picture's waves show in the others too. In noise ``left`` is a
        sum of six exponential values of mean 1, so what exceeds that counts against rings. Few and wide fringes have
        nearly one pitch in all channels, as a picture's waves have: what one pitch explains counts about half.
        """
        beyond = [
            o - SHARED * max(0.0, s - SHARED_BY_NOISE) for o, s in zip(self.own, self.shared, strict=True)
        ]
        return _agreed(beyond) - BESIDE * max(0.0, sum(self.left) - len(self.left) * LEFT_BY_NOISE)

    @property
    def steady(self) -> float:
        """Worth less what it strays from the wave it continues, bins squared."""
        return self.worth - self.astray**2

    def moved(self, shift: NDArray[np.float64]) -> tuple[Pair, Form]:
        """Frequency and chirp of the same wave at the middle of a tile ``shift`` (x, y) px away."""
        x, y = (float(d) for d in shift / (SIDE / 2))
        (a, b, c), (p, q, r, s) = self.form, self.cube
        fx = self.fx + (2 * (a * x + b * y) + 3 * p * x * x + 4 * q * x * y + 2 * r * y * y) / (np.pi * SIDE)
        fy = self.fy + (2 * (b * x + c * y) + 2 * q * x * x + 4 * r * x * y + 3 * s * y * y) / (np.pi * SIDE)
        form = (a + 3 * p * x + 2 * q * y, b + 2 * q * x + 2 * r * y, c + 2 * r * x + 3 * s * y)
        return (fx, fy), form

    def between(self, other: Wave) -> float:
        """Bins between the two waves' frequencies half way from one tile to the other."""
        half = np.array([other.col - self.col, other.row - self.row]) / 2
        return bins_apart(self.moved(half)[0], other.moved(-half)[0])

    def is_like(self, other: Wave, px: float, bins: float) -> bool:
        """Whether the other is this wave seen from at most ``px`` away; a wave and its mirror are the same."""
        shift = np.array([other.col - self.col, other.row - self.row], float)
        if np.abs(shift).max() > px:
            return False
        f, _ = self.moved(shift)
        return min(bins_apart(f, (s * other.fx, s * other.fy)) for s in (1, -1)) < bins


def bins_apart(one: Pair, other: Pair) -> float:
    """Between two frequencies, cycles per px."""
    return float(np.hypot(one[0] - other[0], one[1] - other[1])) * SIDE


def _agreed(powers: Sequence[float]) -> float:
    low, middle, high = sorted(powers)
    return low + middle + min(high, middle)
