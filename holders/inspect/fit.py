"""A candidate wave fitted closely in its tile.

The survey asks only round chirps at whole Fourier bins and fixed wavelengths. Here the phase of the wave, frequency and
chirp alike, is moved in small steps until the three channels agree best, each channel's wavelength being free within
what scanners' filters differ by. A channel that does better beyond that follows something else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from holders.inspect.bands import F32
from holders.inspect.chirp import SIDE, Form, Grid, flatten, scaled, spread

C64 = NDArray[np.complex64]
COARSE = 32  # samples on a side once the wave is taken out
SMALL = SIDE // COARSE
STEPS = (1.6, 0.8, 0.4)  # rad of phase at the middle of a tile's side
STRETCH = np.linspace(-0.045, 0.045, 11)  # of a channel's wavelength
BEYOND = np.array([-0.09, -0.0675, 0.0675, 0.09])  # stretches that no filter has
RAIL = 3.0  # times the power beyond exceeds a channel's own, that much less its own counts
MOST_LEAK = 0.5  # share of a channel's power in another one that is put down to taking out the common part
SAME = 0.02  # of a wavelength: one scanner's channels, wherever in the scan
WEAKEST = (4.0, 8.0)  # evidence is at most so many times the weakest channel's peak, and so much
MOVES = 40
AROUND = 10  # bins to each side that tell what a frequency's power is compared with


@dataclass(frozen=True)
class Wave:
    """A fitted wave in the tile at ``row``, ``col``.

    ``fx``, ``fy`` cycles per px at its middle and ``form`` as in ``Peak``; ``ratios`` of the channels to the middle
    wavelength as fitted; ``own`` their peaks over their neighbourhoods, ``other`` the mean of the two other channels at
    each one's wave, alike.
    """

    row: int
    col: int
    fx: float
    fy: float
    form: Form
    ratios: tuple[float, ...]
    own: tuple[float, ...]
    other: tuple[float, ...]

    @property
    def evidence(self) -> float:
        """The two weaker channels and as much of the strongest; no more than the weakest bears: two by chance agree."""
        low, middle, _ = sorted(self.own)
        return min(low + 2 * middle, WEAKEST[0] * low + WEAKEST[1])

    @property
    def apart(self) -> float:
        """0 to 1: how much better the channels do at their own frequencies than at each other's."""
        return paired([self])


def paired(waves: list[Wave]) -> float:
    """0 to 1: how much better the channels of all these waves do at their own frequencies than at each other's."""
    own = other = 0.0
    for w in waves:
        most = 2.0 * sorted(w.own)[1]
        own += sum(min(p, most) for p in w.own)
        other += sum(min(p, most) for p in w.other)
    return float(np.clip(own / (other + 3.0) - 1.2, 0.0, 1.0))


class Fitter:
    """Arrays that depend on the tile size and the wavelengths only."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        line = (np.arange(COARSE) - (COARSE - 1) / 2) / (COARSE / 2)
        y, x = np.meshgrid(line, line, indexing="ij")
        # frequency, frequency, chirp, chirp, chirp: each 1 rad at the middle of a side
        self.shapes = np.stack([x, y, x * x, 2 * x * y, y * y]).reshape(5, -1).astype(np.float32)
        self.square = self.shapes[2:]
        signs = np.concatenate([np.eye(5), -np.eye(5)]).astype(np.float32)
        turns = signs @ self.shapes
        ratios = np.array(grid.ratios, np.float32)
        self.signs = signs
        bins = fft.fftfreq(COARSE, 1 / COARSE)
        self.beside = bins / SIDE  # cycles per px beside the wave
        # the squares' own loss is put back
        loss = np.outer(np.sinc(bins / COARSE), np.sinc(bins / COARSE)) ** 2
        self.whole = np.where(np.maximum.outer(abs(bins), abs(bins)) <= AROUND, 1 / loss, 0.0)
        self.kernels = [
            np.exp(np.complex64(-1j) * (s * ratios[None, :, None] * turns[:, None, :])).astype(np.complex64)
            for s in STEPS
        ]

    def fit(
        self,
        tile: F32,
        row: int,
        col: int,
        f: tuple[float, float],
        form: Form,
        known: tuple[float, ...] | None = None,
    ) -> Wave:
        """The wave near ``f`` (cycles per px) and ``form`` in a tile (3, SIDE, SIDE), ratios near ``known`` ones."""
        grid = self.grid
        phase = self._phase(f, form)
        small = np.stack(
            [self._out(plane, self._kernel(phase, r)) for plane, r in zip(tile, grid.ratios, strict=True)]
        )
        around = np.array([self._around(s, f, form, r) for s, r in zip(small, grid.ratios, strict=True)])
        theta = np.zeros(5)
        small, theta = self._climb(small, around, theta)
        total = np.array([np.pi * SIDE * f[0], np.pi * SIDE * f[1], *form]) + theta
        stretch = self._stretched(small, total, around, known or self.grid.ratios)
        small = np.stack(
            [
                s * np.exp(np.complex64(-1j * e * r) * (total @ self.shapes).astype(np.float32))
                for s, e, r in zip(small, stretch, grid.ratios, strict=True)
            ]
        )
        small, theta = self._climb(small, around, np.zeros(5), ladder=(1, 2))
        total += theta
        ratios = tuple(float(r * (1 + e)) for r, e in zip(grid.ratios, stretch, strict=True))
        form = (float(total[2]), float(total[3]), float(total[4]))
        f = (float(total[0] / (np.pi * SIDE)), float(total[1] / (np.pi * SIDE)))
        own, other = self._judged(tile, f, form, ratios)
        return Wave(row, col, f[0], f[1], form, ratios, own, other)

    def _phase(self, f: tuple[float, float], form: Form) -> F32:
        grid = self.grid
        out = np.float32(np.pi * SIDE) * (np.float32(f[0]) * grid.x + np.float32(f[1]) * grid.y)
        for k, q in zip(form, grid.squares, strict=True):
            out = out + np.float32(k) * q
        return np.asarray(out, np.float32)

    def _kernel(self, phase: F32, ratio: float) -> C64:
        """The window turned against the wave."""
        out = np.empty(phase.shape, np.complex64)
        out.real, out.imag = np.cos(phase * np.float32(ratio)), -np.sin(phase * np.float32(ratio))
        out *= self.grid.window
        return out

    def _out(self, planes: F32, kernel: C64) -> C64:
        """Planes (..., SIDE, SIDE) with the wave taken out of their phase, summed over small squares."""
        turned = planes * kernel
        turned = turned.reshape(*planes.shape[:-2], COARSE, SMALL, COARSE, SMALL)
        # one axis after the other is several times faster than both at once
        return np.asarray(turned.sum(axis=-1).sum(axis=-2).reshape(*planes.shape[:-2], -1), np.complex64)

    def _around(self, small: C64, f: tuple[float, float], form: Form, ratio: float) -> NDArray[np.float64]:
        """Power that the frequencies around lead one to expect of the wave taken out of ``small`` (..., samples).

        Pictures have less power the higher the frequency; what is around is weighed as if they did not.
        """
        spectrum = fft.fft2(small.reshape(*small.shape[:-1], COARSE, COARSE), workers=1)
        power = (spectrum.real**2 + spectrum.imag**2) * self.whole
        r2 = (f[0] * ratio + self.beside[None, :]) ** 2 + (f[1] * ratio + self.beside[:, None]) ** 2
        even = flatten(r2 + spread(scaled(form, ratio)))
        mean = (power * even).sum(axis=(-2, -1)) / np.count_nonzero(self.whole)
        return np.asarray(mean / max(float(even[0, 0]), 1e-6) + 1e-9, dtype=np.float64)

    def _climb(
        self,
        small: C64,
        around: NDArray[np.float64],
        theta: NDArray[np.float64],
        ladder: tuple[int, ...] = (0, 1, 2),
    ) -> tuple[C64, NDArray[np.float64]]:
        """Steps of frequency and chirp as long as they help the three channels together."""
        best = _joint(np.abs(small.sum(axis=1)) ** 2 / around)
        for size in ladder:
            kernels = self.kernels[size]
            for _ in range(MOVES):
                power = np.abs(np.einsum("mcn,cn->mc", kernels, small)) ** 2 / around
                value = np.log1p(power).sum(axis=1)
                m = int(value.argmax())
                if value[m] <= best + 1e-3:
                    break
                best = float(value[m])
                small = small * kernels[m]
                theta = theta + STEPS[size] * self.signs[m]
        return small, theta

    def _stretched(
        self, small: C64, total: NDArray[np.float64], around: NDArray[np.float64], known: tuple[float, ...]
    ) -> list[float]:
        """The change of wavelength of each channel that fits it best; the middle one has none."""
        phase = (total @ self.shapes).astype(np.float32)
        out = []
        for c, ratio in enumerate(self.grid.ratios):
            if abs(ratio - 1.0) < 1e-9:
                out.append(0.0)
                continue
            tried = STRETCH
            if known[c] != ratio:
                tried = STRETCH[np.abs(STRETCH - (known[c] / ratio - 1)) <= SAME]
            kernels = np.exp(np.complex64(-1j * ratio) * np.outer(tried, phase).astype(np.float32))
            power = np.abs(kernels @ small[c]) ** 2 / around[c]
            out.append(float(tried[int(power.argmax())]))
        return out

    def _judged(
        self, tile: F32, f: tuple[float, float], form: Form, ratios: tuple[float, ...]
    ) -> tuple[tuple[float, ...], tuple[float, ...]]:
        own, other = [], []
        phase, leak = self._phase(f, form), self._leak(tile)
        coarse = (np.array([np.pi * SIDE * f[0], np.pi * SIDE * f[1], *form]) @ self.shapes).astype(
            np.float32
        )
        for c, ratio in enumerate(ratios):
            small = self._out(tile, self._kernel(phase, ratio))
            around = self._around(small, f, form, ratio)
            value = np.abs(small.sum(axis=1)) ** 2 / around
            mine = float(value[c])
            other.append(float(np.maximum(value - leak[c] * mine, 0.0).sum()) / 2)
            asked = self.grid.ratios[c]
            if abs(asked - 1.0) > 1e-9:
                turns = asked * (1 + BEYOND) - ratio
                kernels = np.exp(np.complex64(-1j) * np.outer(turns, coarse).astype(np.float32))
                beyond = float((np.abs(kernels @ small[c]) ** 2).max() / around[c])
                mine = max(0.0, mine - RAIL * max(0.0, beyond - mine))
            own.append(mine)
        return tuple(own), tuple(other)

    def _leak(self, tile: F32) -> NDArray[np.float64]:
        """Share of one channel's power that taking out the common part puts into another, (channel, other)."""
        flat = (tile * self.grid.window).reshape(len(tile), -1)
        common = np.asarray(flat @ flat.T, np.float64)
        power = np.maximum(np.diag(common), 1e-12)
        return np.asarray(np.minimum(common**2 / np.outer(power, power), MOST_LEAK), np.float64)


def _joint(power: NDArray[np.float64]) -> float:
    """What is climbed: the sum of logarithms, so that all channels must agree."""
    return float(np.log1p(power).sum())
