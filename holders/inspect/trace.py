"""A candidate wave fitted closely in its tile, then followed into the tiles around it.

The survey asks only round chirps at whole Fourier bins and fixed wavelengths. Here the phase of the wave, frequency and
chirp alike, is moved in small steps until the three channels agree best, each channel's wavelength being free within
what scanners' filters differ by. Rings go on into the next tile with the frequency that the chirp foretells; noise and
texture do not. What is summed up along the way is the evidence.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import fft

from holders.inspect.bands import F32
from holders.inspect.candidates import Survey, survey, tiles_of
from holders.inspect.chirp import (
    CHIRPS,
    LEAST,
    MOST,
    SIDE,
    Form,
    Grid,
    even,
    flatten,
    scaled,
    slope_of,
    spread,
    starts,
)

C64 = NDArray[np.complex64]
COARSE = 32  # samples on a side once the wave is taken out
SMALL = SIDE // COARSE
STEPS = (1.6, 0.8, 0.4)  # rad of phase at the middle of a tile's side
STRETCH = np.linspace(-0.045, 0.045, 11)  # of a channel's wavelength
MOVES = 40
AROUND = 10  # bins to each side that tell what a frequency's power is compared with
NEAR = 3.0  # bins about the foretold frequency that are looked at first
GOES_ON = 11.0  # a tile's evidence with which the wave is followed further
MOST_TILES = 14
SEEDS = 24  # best tiles of a level that are fitted, or more:
SEED_SHARE = 3  # one tile in so many
FOLLOWED = 3  # best fitted ones that are followed


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
        """The two weaker channels and as much of the strongest: one channel alone says nothing."""
        low, middle, high = sorted(self.own)
        return low + middle + min(high, middle)

    @property
    def apart(self) -> float:
        """0 to 1: how much better the channels do at their own frequencies than at each other's."""
        most = 2.0 * sorted(self.own)[1]
        own = sum(min(p, most) for p in self.own)
        other = sum(min(p, most) for p in self.other)
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

    def fit(self, tile: F32, row: int, col: int, f: tuple[float, float], form: Form) -> Wave:
        """The wave near ``f`` (cycles per px) and ``form`` in a tile (3, SIDE, SIDE)."""
        grid = self.grid
        phase = self._phase(f, form)
        small = np.stack(
            [self._out(plane, self._kernel(phase, r)) for plane, r in zip(tile, grid.ratios, strict=True)]
        )
        around = np.array([self._around(s, f, form, r) for s, r in zip(small, grid.ratios, strict=True)])
        theta = np.zeros(5)
        small, theta = self._climb(small, around, theta)
        total = np.array([np.pi * SIDE * f[0], np.pi * SIDE * f[1], *form]) + theta
        stretch = self._stretched(small, total, around)
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

    def _stretched(self, small: C64, total: NDArray[np.float64], around: NDArray[np.float64]) -> list[float]:
        """The change of wavelength of each channel that fits it best; the middle one has none."""
        phase = (total @ self.shapes).astype(np.float32)
        out = []
        for c, ratio in enumerate(self.grid.ratios):
            if abs(ratio - 1.0) < 1e-9:
                out.append(0.0)
                continue
            kernels = np.exp(np.complex64(-1j * ratio) * np.outer(STRETCH, phase).astype(np.float32))
            power = np.abs(kernels @ small[c]) ** 2 / around[c]
            out.append(float(STRETCH[int(power.argmax())]))
        return out

    def _judged(
        self, tile: F32, f: tuple[float, float], form: Form, ratios: tuple[float, ...]
    ) -> tuple[tuple[float, ...], tuple[float, ...]]:
        own, other = [], []
        phase = self._phase(f, form)
        for c, ratio in enumerate(ratios):
            small = self._out(tile, self._kernel(phase, ratio))
            value = np.abs(small.sum(axis=1)) ** 2 / self._around(small, f, form, ratio)
            own.append(float(value[c]))
            other.append(float(value.sum() - value[c]) / 2)
        return tuple(own), tuple(other)

    def followed(self, field: F32, first: Wave) -> list[Wave]:
        """The wave and its continuations in neighbouring tiles, strongest front first."""
        places = [(r, c) for r in starts(field.shape[1]) for c in starts(field.shape[2])]
        known = {(first.row, first.col): first}
        asked = {(first.row, first.col)}
        front = [first]
        while front and len(asked) < MOST_TILES:
            front.sort(key=lambda w: w.evidence)
            here = front.pop()
            for row, col in places:
                shift = np.array([col - here.col, row - here.row], float)
                if (row, col) in asked or np.abs(shift).max() > SIDE / 2 or len(asked) >= MOST_TILES:
                    continue
                asked.add((row, col))
                wave = self._continued(field, here, row, col, shift)
                if wave is not None:
                    known[row, col] = wave
                    if wave.evidence * wave.apart >= GOES_ON:
                        front.append(wave)
        return list(known.values())

    def _continued(
        self, field: F32, here: Wave, row: int, col: int, shift: NDArray[np.float64]
    ) -> Wave | None:
        grid = self.grid
        fx, fy = np.array([here.fx, here.fy]) + slope_of(here.form) @ shift
        if np.hypot(fx, fy) > 1.1 * MOST or fx**2 + fy**2 + spread(here.form) < (0.9 * LEAST) ** 2:
            return None
        near = np.nonzero(np.hypot(grid.fx - fx, grid.fy - fy) * SIDE < NEAR)[0]
        if len(near) == 0:
            return None
        tile = field[:, row : row + SIDE, col : col + SIDE]
        joint = grid.joint(tile[None], here.form, near)[0]
        at = near[int(joint.argmax())]
        return self.fit(tile, row, col, (float(grid.fx[at]), float(grid.fy[at])), here.form)


def _joint(power: NDArray[np.float64]) -> float:
    """What is climbed: the sum of logarithms, so that all channels must agree."""
    return float(np.log1p(power).sum())


def traces(field: F32, fitter: Fitter) -> list[list[Wave]]:
    """The best waves of one level with their continuations; ``field`` (3, rows, columns)."""
    seen = survey(field, fitter.grid)
    top = seen.value.max(axis=0)
    seeds = []
    for i in np.argsort(-top)[: max(SEEDS, len(top) // SEED_SHARE)]:
        row, col = seen.places[i]
        tile = tiles_of(field, [(row, col)])[0]
        seeds += [
            fitter.fit(tile, row, col, f, even(chirp)) for f, chirp in _two_best(seen, fitter.grid, int(i))
        ]
    seeds.sort(key=lambda w: -w.evidence * w.apart)
    chosen: list[Wave] = []
    for wave in seeds:
        if len(chosen) < FOLLOWED and (wave.row, wave.col) not in {(w.row, w.col) for w in chosen}:
            chosen.append(wave)
    return [fitter.followed(field, w) for w in chosen]


def _two_best(seen: Survey, grid: Grid, tile: int) -> list[tuple[tuple[float, float], float]]:
    """Frequency and chirp of a tile's best peak and of its best one elsewhere: what is strongest is often picture."""
    order = np.argsort(-seen.value[:, tile])
    out: list[tuple[tuple[float, float], float]] = []
    for k in order:
        at = int(seen.index[k, tile])
        f = (float(grid.fx[at]), float(grid.fy[at]))
        # a wave and its mirror are the same
        far = all(
            min(np.hypot(f[0] - s * g[0], f[1] - s * g[1]) for s in (1, -1)) * SIDE > NEAR for g, _ in out
        )
        if far and len(out) < 2:
            out.append((f, CHIRPS[k]))
    return out
