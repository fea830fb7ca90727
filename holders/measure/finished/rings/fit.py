"""A wave fitted closely in one tile.

The survey asks only round chirps at whole Fourier bins and fixed wavelengths. Here the phase of the wave, frequency and
chirp and, where asked, its third order, is moved in small steps until the three channels agree best, each channel's
wavelength being free within what scanners' filters differ by.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from holders.measure.finished.rings.bands import F32
from holders.measure.finished.rings.chirp import (
    C64,
    SIDE,
    Form,
    Grid,
    flatten,
    grid_of,
    scaled,
    spread,
    summed,
)
from holders.measure.finished.rings.wave import NO_CUBE, Cube, Pair, Wave

COARSE = 32  # samples on a side once the wave is taken out
SMALL = SIDE // COARSE
STEPS = (1.6, 0.8, 0.4)  # rad of phase at the middle of a tile's side
SECOND = 5  # shapes of first and second order
HALF_WAY = 5  # steps to each side of
STRETCH = np.linspace(-0.045, 0.045, 2 * HALF_WAY + 1)  # of a channel's wavelength
MOVES = 40
NEAR = 3  # bins about the foretold frequency that are looked at first
AROUND = 10  # bins to each side that tell what a frequency's power is compared with
ONE_PITCH = np.linspace(0.94, 1.06, 7)  # ratios to the middle wavelength that are no change of colour
APART = (1.26, 1.44)  # longest over shortest wavelength: 600 to 640 nm over 450 to 470 nm, and a little more


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
        apart = np.outer(ratios[0] * (1 + STRETCH), 1 / (ratios[2] * (1 + STRETCH)))
        apart = np.maximum(apart, 1 / apart)
        self.possible = (apart >= APART[0]) & (apart <= APART[1])
        k = np.arange(-NEAR, NEAR + 1)
        self.near = np.array([(i, j) for i in k for j in k if i * i + j * j <= NEAR * NEAR], np.float32)
        self.looks = np.exp(
            np.complex64(-1j) * (ratios[:, None, None] * np.float32(np.pi) * (self.near @ self.shapes[:2]))
        ).astype(np.complex64)
        bins = fft.fftfreq(COARSE, 1 / COARSE)
        self.beside = bins / SIDE  # cycles per px beside the wave
        # the squares' own loss is put back
        loss = np.outer(np.sinc(bins / COARSE), np.sinc(bins / COARSE)) ** 2
        self.whole = np.where(np.maximum.outer(abs(bins), abs(bins)) <= AROUND, 1 / loss, 0.0)
        self.kernels = [
            np.exp(np.complex64(-1j) * (s * ratios[:, None, None] * turns)).astype(np.complex64)
            for s in STEPS
        ]

    def fit(
        self,
        tile: F32,
        row: int,
        col: int,
        f: Pair,
        form: Form,
        cube: Cube | None = None,
        *,
        look: bool = False,
    ) -> Wave:
        """The wave near ``f`` (cycles per px) and ``form`` in a tile of ``bands.planes``, (9, SIDE, SIDE).

        Third order is left out, or with ``cube`` fitted from there on. With ``look`` it begins where the channels
        agree best within ``NEAR`` bins of ``f``.
        """
        grid = self.grid
        phase = self._phase(f, form, cube or NO_CUBE)
        small = np.stack(
            [self._out(plane, self._kernel(phase, r)) for plane, r in zip(tile[:3], grid.ratios, strict=True)]
        )
        around = np.array([self._around(s, f, form, r) for s, r in zip(small, grid.ratios, strict=True)])
        total = _numbers(f, form, cube or NO_CUBE)
        if look:
            power = np.abs(np.matmul(self.looks, small[:, :, None])[..., 0]) ** 2 / around[:, None]
            m = int(np.log1p(power).sum(axis=0).argmax())
            small = small * self.looks[:, m]
            total[:2] += np.pi * self.near[m]
        small, theta = self._climb(small, around, (0, 1, 2), 2 * SECOND)
        total = total + theta
        stretch = self._stretched(small, around, total)
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
        return Wave(row, col, f[0], f[1], form, cube, ratios, *self._judged(tile, f, form, cube, ratios))

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
        self, small: C64, around: NDArray[np.float64], ladder: tuple[int, ...], free: int
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

    def _stretched(
        self, small: C64, around: NDArray[np.float64], total: NDArray[np.float64]
    ) -> tuple[float, float, float]:
        """The changes of wavelength of the outer channels that fit best together; the middle one has none."""
        phase = (total @ self.shapes).astype(np.float32)
        value = []
        for c in (0, 2):
            step = np.exp(np.complex64(-1j * self.grid.ratios[c] * STRETCH[-1] / HALF_WAY) * phase)
            longer = shorter = small[c]
            sums = [complex(longer.sum())]
            for _ in range(HALF_WAY):
                longer, shorter = longer * step, shorter * step.conj()
                sums = [complex(shorter.sum()), *sums, complex(longer.sum())]
            value.append(np.log1p(np.abs(sums) ** 2 / around[c]))
        both = np.where(self.possible, np.add.outer(*value), -1.0)
        i, j = np.unravel_index(int(both.argmax()), both.shape)
        return float(STRETCH[i]), 0.0, float(STRETCH[j])

    def _judged(
        self, tile: F32, f: Pair, form: Form, cube: Cube, ratios: tuple[float, ...]
    ) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
        own, left, shared = [], [], []
        phase = self._phase(f, form, cube)
        coarse = _numbers(f, form, cube) @ self.shapes
        for c, ratio in enumerate(ratios):
            small = self._out(tile[[c, 3 + 2 * c, 4 + 2 * c]], self._kernel(phase, ratio))
            around = self._around(small, f, form, ratio)
            value = np.abs(small.sum(axis=1)) ** 2 / around
            own.append(float(value[0]))
            left.append(float(value[1] + value[2]))
            shared.append(self._at_one_pitch(small[0], coarse, ratio) / float(around[0]))
        return tuple(own), tuple(left), tuple(shared)

    def _at_one_pitch(self, small: C64, phase: NDArray[np.float64], ratio: float) -> float:
        """Power of a channel, its wave taken out, at the middle channel's frequency; none of the middle one."""
        if ratio == 1.0:
            return 0.0
        angle = np.outer(ONE_PITCH - ratio, phase).astype(np.float32)
        return float((np.abs((np.cos(angle) - np.complex64(1j) * np.sin(angle)) @ small) ** 2).max())


@lru_cache(maxsize=4)
def fitter_of(ratios: tuple[float, ...]) -> Fitter:
    """The fitter for these wavelengths, remembered."""
    return Fitter(grid_of(ratios))


def _numbers(f: Pair, form: Form, cube: Cube) -> NDArray[np.float64]:
    """A wave's phase as multiples of ``Fitter.shapes``, (9,)."""
    return np.array([np.pi * SIDE * f[0], np.pi * SIDE * f[1], *form, *cube])


def _joint(power: NDArray[np.float64]) -> float:
    """What is climbed: the sum of logarithms, so that all channels must agree."""
    return float(np.log1p(power).sum())
