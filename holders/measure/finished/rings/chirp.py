"""Finds waves whose pitch changes evenly: a tile of the picture is unchirped and looked at through a Fourier transform.

Near any place the gap between film and glass is t = t0 + g·x + x'Kx/2, so the fringes are cos(4πt/λ): a wave whose
frequency changes evenly with place. Multiplied by exp(-i c|x|²) with the right c it becomes a plain wave, one sharp
peak in the Fourier transform, however far away the rings' centre lies and whatever tone the picture has. In another
channel the same place has c and the frequency larger by the ratio of the wavelengths: that pairs the channels.

The peak is judged against the power around it at neighbouring frequencies (cell-averaging constant false alarm rate,
e.g. Richards, *Fundamentals of Radar Signal Processing*, chapter 6, from memory): noise and even texture then give
values of a known spread, exponential with mean 1, wherever they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from holders.measure.finished.rings.bands import COARSE, F32, FINE, Field

C64 = NDArray[np.complex64]
SIDE = 128  # px of a tile
STEP = 64
HANN_VARIANCE = SIDE**2 * (1 / 12 - 1 / (2 * np.pi**2))  # px², along one axis of the window
KEPT, KERNELS_KEPT = 300, 60  # weights and windows kept for forms asked again
LEAST, MOST = 0.05, 0.25  # cycles per px looked at, middle channel
CELL = 4  # bins: a peak is compared with a square of five by five such cells
# bins of a line that are looked at, in a transform's order: MOST in the shortest wavelength's channel is bin 37, and
# what it is compared with goes on for two cells
LOW = np.r_[0:48, SIDE - 48 : SIDE]
LOW_CELLS = len(LOW) // CELL
MARGIN = 40  # px about the frame: a tile's window would weigh down rings at the frame's edge
CLOSE = (0.0, 3.0, 6.5, 10.5, 15.0, 20.5, 27.0, 35.0, 43.0)
WIDE = (52.0, 62.0, 73.0)
CHIRPS = (0.0, 2.0, 4.0, 6.0, 8.5, 11.0, 14.0, 18.0, 23.0, 29.0)  # phase at the middle of a tile's side, rad


Form = tuple[float, float, float]
Plane = TypeVar("Plane", F32, C64)
Half = TypeVar("Half", F32, Field, NDArray[np.bool_])


def even(chirp: float) -> Form:
    """The chirp of round rings: the same in all directions."""
    return (chirp, 0.0, chirp)


def bent(along: float, across: float) -> tuple[Form, ...]:
    """Unlike chirps along and across, in four directions."""
    mean, half = (along + across) / 2, (along - across) / 2
    return ((along, 0.0, across), (mean, half, mean), (across, 0.0, along), (mean, -half, mean))


BENT = (*bent(12.0, 0.0), *bent(24.0, 6.0), *bent(8.0, -8.0)[:2])


def forms_at(level: int) -> tuple[Form, ...]:
    """Round chirps near enough to one another for a fit to climb on.

    One level on, the same rings' chirp is four times as large; only the finest level, which costs most, does without.
    """
    near = (*map(even, CLOSE), *BENT)
    return near if level == 0 else (*near, *map(even, WIDE))


def scaled(form: Form, by: float) -> Form:
    """The same wave in a channel of another wavelength."""
    return (form[0] * by, form[1] * by, form[2] * by)


@dataclass(frozen=True)
class Peak:
    """One candidate wave in one tile, all for the middle channel.

    ``row``/``col`` of the tile's first pixel; ``fx``/``fy`` cycles per px at its middle; ``form`` the chirp: the wave's
    phase beside the plain wave's is form·(X², 2XY, Y²), X and Y being 1 at the middle of the tile's sides; ``value``
    the peak over its neighbourhood (colour: the second best of three channels); ``at`` the frequency's index.
    """

    row: int
    col: int
    form: Form
    fx: float
    fy: float
    value: float
    at: int

    def slope(self) -> NDArray[np.float64]:
        """How the frequency changes with place, cycles per px per px: a symmetric 2x2 matrix over (x, y)."""
        return slope_of(self.form)


def flatten(r2: NDArray[np.float64]) -> NDArray[np.float64]:
    """Weight on the power at a squared frequency (cycles per px) that makes a natural picture's about even.

    The band's own shape and the 1/f of pictures are taken out.
    """
    band = np.exp(-2 * np.pi**2 * FINE**2 * r2) - np.exp(-2 * np.pi**2 * COARSE**2 * r2)
    return np.asarray(r2 / np.maximum(band, 0.05) ** 2 * (r2 < 0.16))


def slope_of(form: Form) -> NDArray[np.float64]:
    """How the frequency changes with place, cycles per px per px: a symmetric 2x2 matrix over (x, y)."""
    xx, xy, yy = form
    return np.array([[xx, xy], [xy, yy]]) * 4.0 / (SIDE * SIDE * np.pi)


def spread(form: Form) -> float:
    """Mean square of the wave's frequencies in a tile about the one at its middle, (cycles per px)²."""
    return HANN_VARIANCE * float((slope_of(form) ** 2).sum())


def summed(planes: Plane, size: int) -> Plane:
    """Sums over squares of ``size`` by ``size`` of planes (..., rows, columns).

    Strips added one after the other are ten times faster than a sum over two axes.
    """
    *lead, high, wide = planes.shape
    strips = planes.reshape(-1, size, wide)
    rows = strips[:, 0].copy()
    for k in range(1, size):
        rows += strips[:, k]
    out = rows[:, 0::size].copy()
    for k in range(1, size):
        out += rows[:, k::size]
    return out.reshape(*lead, high // size, wide // size)


class Grid:
    """Arrays that depend on the tile size and the wavelengths only."""

    def __init__(self, ratios: tuple[float, ...]) -> None:
        self.ratios = ratios
        line = (np.arange(SIDE) - (SIDE - 1) / 2) / (SIDE / 2)
        self.y, self.x = (np.asarray(a, np.float32) for a in np.meshgrid(line, line, indexing="ij"))
        self.squares = (self.x * self.x, 2 * self.x * self.y, self.y * self.y)
        hann = np.hanning(SIDE + 2)[1:-1]
        self.window = np.outer(hann, hann).astype(np.float32)
        f = np.fft.fftfreq(SIDE)
        fy, fx = np.meshgrid(f, f, indexing="ij")
        r2 = fx**2 + fy**2
        self.r2 = np.ascontiguousarray(r2[np.ix_(LOW, LOW)])
        self._even: dict[Form, F32] = {}
        self._kernels: dict[Form, C64] = {}
        chosen = np.nonzero(((r2 >= LEAST**2) & (r2 <= MOST**2)).ravel())[0]
        self.fx, self.fy = fx.ravel()[chosen], fy.ravel()[chosen]
        self.bins = [self.bin_of(self.fx, self.fy, c) for c in range(len(ratios))]
        place = np.zeros(SIDE, np.int64)
        place[LOW] = np.arange(len(LOW))
        self.places = [place[at // SIDE] * len(LOW) + place[at % SIDE] for at in self.bins]
        self.cells = [at // len(LOW) // CELL * LOW_CELLS + at % len(LOW) // CELL for at in self.places]

    def bin_of(self, fx: NDArray[np.float64], fy: NDArray[np.float64], channel: int) -> NDArray[np.int64]:
        """Flat index of the Fourier bin of a middle-channel frequency as seen by another channel."""
        r = self.ratios[channel] * SIDE
        return np.asarray(
            np.round(fy * r).astype(np.int64) % SIDE * SIDE + np.round(fx * r).astype(np.int64) % SIDE
        )

    def evenly(self, form: Form) -> F32:
        """``flatten`` for what taking out a chirp leaves of a picture: every frequency smeared over its spread."""
        if form not in self._even:
            if len(self._even) > KEPT:
                self._even.clear()
            self._even[form] = flatten(self.r2 + spread(form)).astype(np.float32)
        return self._even[form]

    def _kernel(self, form: Form) -> C64:
        """The window with the chirp taken out."""
        if form not in self._kernels:
            if len(self._kernels) > KERNELS_KEPT:
                self._kernels.clear()
            phase = sum(k * q for k, q in zip(form, self.squares, strict=True))
            self._kernels[form] = (self.window * np.exp(np.complex64(-1j) * phase)).astype(np.complex64)
        return self._kernels[form]

    def _power(self, tiles: F32, form: Form) -> tuple[F32, F32]:
        """Power of the low frequencies, (n, low, low), and of their neighbourhoods, (n, cells, cells)."""
        half = len(LOW) // 2
        spectrum = fft.fft(tiles * self._kernel(form), axis=-2, workers=1, overwrite_x=True)
        power = np.empty((len(tiles), len(LOW), len(LOW)), np.float32)
        for rows, lines in ((slice(half), slice(half)), (slice(half, None), slice(-half, None))):
            part = fft.fft(spectrum[:, lines], axis=-1, workers=1)
            power[:, rows, :half] = part.real[..., :half] ** 2 + part.imag[..., :half] ** 2
            power[:, rows, half:] = part.real[..., -half:] ** 2 + part.imag[..., -half:] ** 2
        power *= self.evenly(form)
        mean = summed(power, CELL) / np.float32(CELL * CELL)
        return power, ndimage.uniform_filter(mean, (0, 5, 5), mode="wrap") + np.float32(1e-9)

    def around(self, tile: F32, form: Form, channel: int, where: NDArray[np.int64]) -> F32:
        """Power |transform|² that the neighbourhoods of chosen frequencies let expect, of one channel's tile."""
        _, around = self._power(tile[None], form)
        flat = np.maximum(self.evenly(form), 1e-6).ravel()[self.places[channel][where]]
        return np.asarray(around.ravel()[self.cells[channel][where]] / flat, np.float32)

    def joint(self, tiles: F32, form: Form, where: NDArray[np.int64] | None = None) -> F32:
        """Values at the chosen frequencies, (n, m), of tiles (n, channels, SIDE, SIDE)."""
        out = []
        for c, ratio in enumerate(self.ratios):
            at, cells = self.places[c], self.cells[c]
            if where is not None:
                at, cells = at[where], cells[where]
            power, around = (a.reshape(len(tiles), -1) for a in self._power(tiles[:, c], scaled(form, ratio)))
            out.append(power.take(at, axis=1) / around.take(cells, axis=1))
        if len(out) == 1:
            return out[0]
        red, green, blue = out
        median = np.maximum(np.minimum(red, green), np.minimum(np.maximum(red, green), blue))
        return np.asarray(median, np.float32)


@lru_cache(maxsize=4)
def grid_of(ratios: tuple[float, ...]) -> Grid:
    """The grid of these wavelengths; remembered with its windows, since every picture and octave asks for it."""
    return Grid(ratios)


def starts(length: int) -> list[int]:
    """First pixels of tiles that cover a length evenly, at most STEP apart."""
    if length <= SIDE:
        return [0]
    steps = -(-(length - SIDE) // STEP)
    return [round(i * (length - SIDE) / steps) for i in range(steps + 1)]


def padded(field: Half, margin: int = 0) -> Half:
    """The field with a margin of zeros, and made at least one tile large with more."""
    _, h, w = field.shape
    more = [max(0, SIDE - n - 2 * margin) + margin for n in (h, w)]
    return np.pad(field, ((0, 0), (margin, more[0]), (margin, more[1])))
