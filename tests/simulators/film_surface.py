"""Invented film surfaces: heights above the glass over a window, zero slope nowhere assumed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.floating]


@dataclass(frozen=True)
class FilmSurface:
    """Height over a window: ledge + (1 - u^2)(1 - v^2) * polynomial + lift at the edges + ripple.

    u and v run from -1 to 1 over the window. The bracket is zero on the window's edges, where film lies on its ledge.

    Parameters
    ----------
    width_mm, height_mm : the window, across and along the bed.
    ledge_mm : height of the ledge.
    middle_mm : how much higher than the ledge the middle lies; negative sags.
    skew_x, skew_y : share by which the deepest place is drawn toward one side.
    saddle_mm : a saddle added to it.
    ripple_mm : amplitude of one and a half waves across and along.
    lift_mm : the corners lift by this much.
    rim : how the film lies off its ledge along the opening's sides, (size mm, waves round the opening, phase) of each
        wave; fades in a straight line to the other side.
    """

    width_mm: float
    height_mm: float
    ledge_mm: float = 2.5
    middle_mm: float = -0.3
    skew_x: float = 0.0
    skew_y: float = 0.0
    saddle_mm: float = 0.0
    ripple_mm: float = 0.0
    lift_mm: float = 0.0
    rim: tuple[tuple[float, int, float], ...] = ()

    def height(self, x_mm: Array, y_mm: Array) -> Array:
        """Height above the glass at places from the window's centre; beyond the window the edge's height."""
        u = np.clip(x_mm * (2 / self.width_mm), -1, 1)
        v = np.clip(y_mm * (2 / self.height_mm), -1, 1)
        cap = (1 - u * u) * (1 - v * v)
        form = self.middle_mm * (1 + self.skew_x * u + self.skew_y * v) + self.saddle_mm * (u * u - v * v)
        if self.ripple_mm:
            form = form + self.ripple_mm * np.sin(1.5 * np.pi * u) * np.sin(1.5 * np.pi * v)
        z = self.ledge_mm + cap * form
        if self.lift_mm:
            z = z + self.lift_mm * (u * v) ** 2
        return np.asarray(z + self._off_ledge((u + 1) / 2, (v + 1) / 2) if self.rim else z)

    def _off_ledge(self, p: Array, q: Array) -> Array:
        """The rim's waves carried inward: the patch of S. A. Coons (1967) over the four sides, from memory."""
        w, h = self.width_mm, self.height_mm
        top, right = self._round(p * w), self._round(w + q * h)
        bottom, left = self._round(w + h + (1 - p) * w), self._round(2 * w + h + (1 - q) * h)
        corners = [float(self._round(np.array(s))) for s in (0.0, w, w + h, 2 * w + h)]
        across = (1 - p) * left + p * right
        along = (1 - q) * top + q * bottom
        flat = (1 - p) * (1 - q) * corners[0] + p * (1 - q) * corners[1] + p * q * corners[2]
        return np.asarray(across + along - flat - (1 - p) * q * corners[3])

    def _round(self, along_mm: Array) -> Array:
        """Height off the ledge at a place along the opening's sides, from the top left corner and clockwise."""
        turn = 2 * np.pi * along_mm / (2 * (self.width_mm + self.height_mm))
        return np.asarray(sum(size * np.cos(waves * turn + phase) for size, waves, phase in self.rim))

    @property
    def dip_mm(self) -> float:
        """Largest departure from the ledge, as a length."""
        grid = np.linspace(-1, 1, 81)
        z = self.height(grid[None, :] * self.width_mm / 2, grid[:, None] * self.height_mm / 2)
        return float(np.abs(z - self.ledge_mm).max())


def draw_surface(
    random: np.random.Generator, width_mm: float, height_mm: float, ledge_mm: float
) -> FilmSurface:
    """A random surface: larger windows sag and bow more."""
    reach = float(np.clip(min(width_mm, height_mm) / 70, 0.3, 1.5))
    middle = float(random.normal(-0.25, 0.4)) * reach
    middle = float(np.clip(middle, -0.6 * ledge_mm, 1.2))
    return FilmSurface(
        width_mm,
        height_mm,
        ledge_mm,
        middle,
        skew_x=float(random.uniform(-0.4, 0.4)),
        skew_y=float(random.uniform(-0.4, 0.4)),
        saddle_mm=float(random.normal(0, 0.12)) * reach,
        ripple_mm=float(random.choice([0.0, 1.0]) * random.normal(0, 0.06)) * reach,
        lift_mm=float(random.choice([0.0, 1.0]) * random.uniform(0, 0.06)),
    )


def draw_rim(random: np.random.Generator, spread_mm: float) -> tuple[tuple[float, int, float], ...]:
    """A random rim off its ledge by ``spread_mm`` (standard deviation at any place, over many draws)."""
    sizes = np.array([1.0, 0.8, 0.8, 0.6, 0.5, 0.4, 0.3])
    sizes = spread_mm * np.sqrt(2) * sizes / np.linalg.norm(sizes)
    waves = random.rayleigh(np.sqrt(0.5), len(sizes)) * sizes
    return tuple((float(a), k, float(random.uniform(0, 2 * np.pi))) for k, a in enumerate(waves))
