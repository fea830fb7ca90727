"""A wave fitted closely in one tile.

The survey asks only round chirps at whole Fourier bins and fixed wavelengths. Here the phase of the wave, frequency and
chirp and, where asked, its third order, is moved in small steps until the three channels agree best, each channel's
wavelength being free within what scanners' filters differ by.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from holders.inspect.bands import F32
from holders.inspect.chirp import C64, SIDE, Form, Grid, flatten, scaled, spread, summed

Pair = tuple[float, float]
Cube = tuple[float, float, float, float]
NO_CUBE: Cube = (0.0, 0.0, 0.0, 0.0)
COARSE = 32  # samples on a side once the wave is taken out
SMALL = SIDE // COARSE
STEPS = (1.6, 0.8, 0.4)  # rad of phase at the middle of a tile's side
SECOND = 5  # shapes of first and second order
HALF_WAY = 5  # steps to each side of
STRETCH = np.linspace(-0.045, 0.045, 2 * HALF_WAY + 1)  # of a channel's wavelength
MOVES = 40
AROUND = 10  # bins to each side that tell what a frequency's power is compared with
LEFT_BY_NOISE = 2.0  # of two planes
BESIDE = 1.5  # what the other channels hold counts so much against a wave


@dataclass(frozen=True)
class Wave:
    """A fitted wave in the tile at ``row``, ``col``.

    ``fx``, ``fy`` cycles per px at its middle and ``form`` as in ``Peak``; ``cube`` the phase's part of third order,
    cube·(X³, 2X²Y, 2XY², Y³) rad; ``ratios`` of the channels to the middle wavelength as fitted; ``own`` their peaks
    over their neighbourhoods, ``left`` what ``bands.pair_left`` has at each one's wave, alike, sum of its two planes.
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

    @property
    def evidence(self) -> float:
        """The two weaker channels and as much of the strongest: one channel alone says nothing."""
        low, middle, high = sorted(self.own)
        return low + middle + min(high, middle)

    @property
    def worth(self) -> float:
        """Evidence less what a wave of many colours would explain as well.

        Rings of one wavelength show in one channel; a picture's waves show in the others too. In noise ``left`` is a
        sum of six exponential values of mean 1, so what exceeds that counts against rings.
        """
        return self.evidence - BESIDE * max(0.0, sum(self.left) - len(self.left) * LEFT_BY_NOISE)


class Fitter:
    """Arrays that depend on the tile size and the wavelengths only."""

    def __init__(self, grid: Grid) -> None:
        self.grid = grid
        line = (np.arange(COARSE) - (COARSE - 1) / 2) / (COARSE / 2)
        y, x = np.meshgrid(line, line, indexing="ij")
        # frequency, frequency, chirp, chirp, chirp, four of third order: each 1 rad at the middle of a side
        self.shapes = np.stack([x, y, x * x, 2 * x * y, y * y, x**3, 2 * x * x * y, 2 * x * y * y, y**3])
        self.shapes = self.shapes.reshape(9, -1).astype(np.float32)
        signs = np.concatenate([one for k in (np.eye(9)[:SECOND], np.eye(9)[SECOND:]) for one in (k, -k)])
        signs = signs.astype(np.float32)
        turns = signs @ self.shapes
        ratios = np.array(grid.ratios, np.float32)
        self.signs = signs
        bins = fft.fftfreq(COARSE, 1 / COARSE)
        self.beside = bins / SIDE  # cycles per px beside the wave
        # the squares' own loss is put back
        loss = np.outer(np.sinc(bins / COARSE), np.sinc(bins / COARSE)) ** 2
        self.whole = np.where(np.maximum.outer(abs(bins), abs(bins)) <= AROUND, 1 / loss, 0.0)
        self.kernels = [
            np.exp(np.complex64(-1j) * (s * ratios[:, None, None] * turns)).astype(np.complex64)
            for s in STEPS
        ]

    def fit(self, tile: F32, row: int, col: int, f: Pair, form: Form, cube: Cube | None = None) -> Wave:
        """The wave near ``f`` (cycles per px) and ``form`` in a tile of ``bands.planes``, (9, SIDE, SIDE).

        Third order is left out, or with ``cube`` fitted from there on.
        """
        grid = self.grid
        phase = self._phase(f, form, cube or NO_CUBE)
        small = np.stack(
            [self._out(plane, self._kernel(phase, r)) for plane, r in zip(tile[:3], grid.ratios, strict=True)]
        )
        around = np.array([self._around(s, f, form, r) for s, r in zip(small, grid.ratios, strict=True)])
        small, theta = self._climb(small, around, (0, 1, 2), 2 * SECOND)
        total = np.array([np.pi * SIDE * f[0], np.pi * SIDE * f[1], *form, *(cube or NO_CUBE)]) + theta
        stretch = self._stretched(small, total)
        small = np.stack(
            [
                s * np.exp(np.complex64(-1j * e * r) * (total @ self.shapes).astype(np.float32))
                for s, e, r in zip(small, stretch, grid.ratios, strict=True)
            ]
        )
        small, theta = self._climb(small, around, (1, 2), 2 * (SECOND if cube is None else 9))
        total += theta
        cube = (float(total[5]), float(total[6]), float(total[7]), float(total[8]))
        ratios = tuple(float(r * (1 + e)) for r, e in zip(grid.ratios, stretch, strict=True))
        form = (float(total[2]), float(total[3]), float(total[4]))
        f = (float(total[0] / (np.pi * SIDE)), float(total[1] / (np.pi * SIDE)))
        own, left = self._judged(tile, f, form, cube, ratios)
        return Wave(row, col, f[0], f[1], form, cube, ratios, own, left)

    def _phase(self, f: Pair, form: Form, cube: Cube = NO_CUBE) -> F32:
        grid = self.grid
        out = np.float32(np.pi * SIDE) * (np.float32(f[0]) * grid.x + np.float32(f[1]) * grid.y)
        for k, q in zip(form, grid.squares, strict=True):
            out = out + np.float32(k) * q
        if any(cube):
            a, b, c, d = (np.float32(k) for k in cube)
            x, y = grid.x, grid.y
            out = out + grid.squares[0] * (a * x + 2 * b * y) + grid.squares[2] * (2 * c * x + d * y)
        return np.asarray(out, np.float32)

    def _kernel(self, phase: F32, ratio: float) -> C64:
        """The window turned against the wave."""
        out = np.empty(phase.shape, np.complex64)
        out.real, out.imag = np.cos(phase * np.float32(ratio)), -np.sin(phase * np.float32(ratio))
        out *= self.grid.window
        return out

    def _out(self, planes: F32, kernel: C64) -> C64:
        """Planes (..., SIDE, SIDE) with the wave taken out of their phase, summed over small squares."""
        return summed(np.asarray(planes * kernel, np.complex64), SMALL).reshape(*planes.shape[:-2], -1)

    def _around(self, small: C64, f: Pair, form: Form, ratio: float) -> NDArray[np.float64]:
        """Power that the frequencies around lead one to expect of the wave taken out of ``small`` (..., samples).

        Pictures have less power the higher the frequency; what is around is weighed as if they did not.
        """
        spectrum = fft.fft2(small.reshape(*small.shape[:-1], COARSE, COARSE), workers=1)
        power = (spectrum.real**2 + spectrum.imag**2) * self.whole
        r2 = (f[0] * ratio + self.beside[None, :]) ** 2 + (f[1] * ratio + self.beside[:, None]) ** 2
        even = flatten(r2 + spread(scaled(form, ratio)))
        if even[0, 0] <= 0.0:  # beyond the band: nothing to compare with
            return np.full(power.shape[:-2], np.inf)
        mean = (power * even).sum(axis=(-2, -1)) / np.count_nonzero(self.whole)
        return np.asarray(mean / max(float(even[0, 0]), 1e-6) + 1e-9, dtype=np.float64)

    def _climb(
        self,
        small: C64,
        around: NDArray[np.float64],
        ladder: tuple[int, ...],
        free: int,
    ) -> tuple[C64, NDArray[np.float64]]:
        """The first ``free`` kinds of steps as long as they help the three channels together."""
        theta = np.zeros(9)
        best = _joint(np.abs(small.sum(axis=1)) ** 2 / around)
        for size in ladder:
            kernels = self.kernels[size][:, :free]
            for _ in range(MOVES):
                power = np.abs(np.matmul(kernels, small[:, :, None])[..., 0]) ** 2 / around[:, None]
                value = np.log1p(power).sum(axis=0)
                m = int(value.argmax())
                if value[m] <= best + 1e-3:
                    break
                best = float(value[m])
                small = small * kernels[:, m]
                theta = theta + STEPS[size] * self.signs[m]
        return small, theta

    def _stretched(self, small: C64, total: NDArray[np.float64]) -> list[float]:
        """The change of wavelength of each channel that fits it best; the middle one has none."""
        phase = (total @ self.shapes).astype(np.float32)
        out = []
        for c, ratio in enumerate(self.grid.ratios):
            if abs(ratio - 1.0) < 1e-9:
                out.append(0.0)
                continue
            step = np.exp(np.complex64(-1j * ratio * STRETCH[-1] / HALF_WAY) * phase)
            longer = shorter = small[c]
            sums = [complex(longer.sum())]
            for _ in range(HALF_WAY):
                longer, shorter = longer * step, shorter * step.conj()
                sums = [complex(shorter.sum()), *sums, complex(longer.sum())]
            out.append(float(STRETCH[int(np.abs(sums).argmax())]))
        return out

    def _judged(
        self, tile: F32, f: Pair, form: Form, cube: Cube, ratios: tuple[float, ...]
    ) -> tuple[tuple[float, ...], tuple[float, ...]]:
        own, left = [], []
        phase = self._phase(f, form, cube)
        for c, ratio in enumerate(ratios):
            small = self._out(tile[[c, 3 + 2 * c, 4 + 2 * c]], self._kernel(phase, ratio))
            value = np.abs(small.sum(axis=1)) ** 2 / self._around(small, f, form, ratio)
            own.append(float(value[0]))
            left.append(float(value[1] + value[2]))
        return tuple(own), tuple(left)


def _joint(power: NDArray[np.float64]) -> float:
    """What is climbed: the sum of logarithms, so that all channels must agree."""
    return float(np.log1p(power).sum())
