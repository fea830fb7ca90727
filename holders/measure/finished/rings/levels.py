"""The octaves of a picture, and how strong a wave is in one of them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.rings import bands
from holders.measure.finished.rings.bands import F32, Field
from holders.measure.finished.rings.chirp import MARGIN, SIDE, Form, Grid, padded, scaled, spread

LEVELS = 4
LEAST_SIDE = 72  # px: a level smaller than this is not looked at


@dataclass(frozen=True)
class Level:
    """One octave: ``band`` of the logarithm of light (to a part in a thousand), ``field`` what is looked at.

    Both have a ``margin``, px, about the frame; ``frame`` is 1 inside and 0 in the margin. ``pitch_mm`` of its pixels.
    """

    band: Field
    field: Field
    frame: NDArray[np.bool_]
    pitch_mm: float
    margin: int

    def inside(self, row: int, col: int) -> tuple[int, int, int, int]:
        """What of the tile at ``row``, ``col`` lies in the frame: first row, first column, rows, columns, px of it."""
        high, wide = (int(self.frame.any(axis=k).sum()) for k in (1, 0))
        top, left = max(0, row - self.margin), max(0, col - self.margin)
        below, right = min(high, row - self.margin + SIDE), min(wide, col - self.margin + SIDE)
        return top, left, below - top, right - left


def levels_of(values: F32, pitch_mm: float) -> list[Level]:
    """The octaves of a picture (rows, columns, 1 or 3 channels), finest first; only colour gets a margin."""
    light = bands.log_light(values)
    out: list[Level] = []
    while len(out) < LEVELS and min(light.shape[1:]) >= LEAST_SIDE:
        band = bands.octave(light)
        margin = MARGIN if len(band) == 3 else 0
        light = bands.halved(light)
        high, wide = band.shape[1:]
        room = padded(np.ones((1, high, wide), np.bool_), margin)[0]
        field = np.zeros((9 if len(band) == 3 else 1, *room.shape), np.float16)
        inside = field[:, margin : margin + high, margin : margin + wide]
        if len(band) == 3:
            bands.planes(band, inside)
        else:
            inside[:] = bands.evened(band)
        out.append(
            Level(padded(band.astype(np.float16), margin), field, room, pitch_mm * 2 ** len(out), margin)
        )
    return out


def amplitude(
    level: Level,
    row: int,
    col: int,
    f: tuple[float, float],
    form: Form,
    ratios: tuple[float, ...],
    grid: Grid,
) -> float:
    """Amplitude of a wave in the logarithm of light: the middle one of the channels."""
    tile = level.band[:, row : row + SIDE, col : col + SIDE]
    window = grid.window * level.frame[row : row + SIDE, col : col + SIDE]
    out = []
    for plane, ratio in zip(tile, ratios, strict=True):
        chirp = sum(k * q for k, q in zip(scaled(form, ratio), grid.squares, strict=True))
        wave = np.exp(
            np.complex64(-1j) * (chirp + np.float32(np.pi * SIDE * ratio) * (f[0] * grid.x + f[1] * grid.y))
        )
        r2 = 2 * np.pi**2 * ratio**2 * (f[0] ** 2 + f[1] ** 2 + spread(form))
        passed = np.exp(-r2 * bands.FINE**2) - np.exp(-r2 * bands.COARSE**2)
        out.append(2 * abs(complex((plane * window * wave).sum())) / float(window.sum()) / float(passed))
    return float(np.median(out))
