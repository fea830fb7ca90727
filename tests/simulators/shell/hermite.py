"""Bicubic Hermite rectangles (the Bogner-Fox-Schmit element): values and derivatives on a tensor grid.

Source: F. K. Bogner, R. L. Fox, L. A. Schmit, "The generation of interelement-compatible stiffness and mass
matrices by the use of interpolation formulas", Wright-Patterson AFB, 1965 (from memory). A node has four
unknowns: f, f_x, f_y and f_xy; the interpolated field has continuous first derivatives.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]
DERIVATIVES = ((0, 0), (1, 0), (0, 1), (2, 0), (0, 2), (1, 1))
"""Rows of a basis table: f, f_x, f_y, f_xx, f_yy, f_xy."""


def cubic(s: Array, length: Array, order: int) -> Array:
    """Derivative of a given order of the four cubic Hermite functions on an interval.

    Parameters
    ----------
    s : positions from 0 to 1, any shape
    length : interval lengths in mm, broadcast against `s`
    order : 0, 1 or 2

    Returns an array with one more axis of 4: value and slope at the start, value and slope at the end.
    """
    s, length = np.broadcast_arrays(s, length)
    if order == 0:
        rows = (1 - 3 * s**2 + 2 * s**3, s - 2 * s**2 + s**3, 3 * s**2 - 2 * s**3, s**3 - s**2)
    elif order == 1:
        rows = (-6 * s + 6 * s**2, 1 - 4 * s + 3 * s**2, 6 * s - 6 * s**2, 3 * s**2 - 2 * s)
    else:
        rows = (-6 + 12 * s, -4 + 6 * s, 6 - 12 * s, 6 * s - 2)
    scale = length**-order if order else np.ones_like(length)
    stacked = np.stack([rows[0], rows[1] * length, rows[2], rows[3] * length], axis=-1)
    return np.asarray(stacked * scale[..., None], dtype=np.float64)


@dataclass(frozen=True)
class Grid:
    """A rectangular tensor grid of Hermite elements.

    Unknown 4 * node + k of a field is f, f_x, f_y, f_xy for k = 0..3; node = i * len(y) + j.
    """

    x: Array
    y: Array

    @property
    def nodes(self) -> int:
        return len(self.x) * len(self.y)

    def node(self, i: Ints, j: Ints) -> Ints:
        return np.asarray(i * len(self.y) + j, dtype=np.int64)

    def cells(self) -> tuple[Ints, Ints]:
        """Indices i and j of the lower left corner of each element."""
        i, j = np.meshgrid(np.arange(len(self.x) - 1), np.arange(len(self.y) - 1), indexing="ij")
        return i.ravel().astype(np.int64), j.ravel().astype(np.int64)

    def unknowns(self, i: Ints, j: Ints) -> Ints:
        """The 16 unknowns of each element (i, j), shape (n, 16)."""
        columns = []
        for di in (0, 1):
            for kx in (0, 1):
                for dj in (0, 1):
                    for ky in (0, 1):
                        columns.append(4 * self.node(i + di, j + dj) + kx + 2 * ky)
        return np.stack(columns, axis=1)

    def basis(self, i: Ints, j: Ints, s: Array, t: Array) -> Array:
        """Basis tables at local points, shape (n, 6, 16): the rows are `DERIVATIVES`.

        Parameters
        ----------
        i, j : element indices, shape (n,)
        s, t : local position across and along the element, 0 to 1, shape (n,)
        """
        hx, hy = self.x[i + 1] - self.x[i], self.y[j + 1] - self.y[j]
        across = [cubic(s, hx, k) for k in range(3)]
        along = [cubic(t, hy, k) for k in range(3)]
        rows = [(across[p][:, :, None] * along[q][:, None, :]).reshape(len(s), 16) for p, q in DERIVATIVES]
        return np.stack(rows, axis=1)

    def locate(self, x: Array, y: Array) -> tuple[Ints, Ints, Array, Array]:
        """Element indices and local positions of points inside the grid (mm)."""
        i = np.clip(np.searchsorted(self.x, x, side="right") - 1, 0, len(self.x) - 2).astype(np.int64)
        j = np.clip(np.searchsorted(self.y, y, side="right") - 1, 0, len(self.y) - 2).astype(np.int64)
        s = (x - self.x[i]) / (self.x[i + 1] - self.x[i])
        t = (y - self.y[j]) / (self.y[j + 1] - self.y[j])
        return i, j, np.asarray(s), np.asarray(t)


def gauss(count: int) -> tuple[Array, Array]:
    """Gauss-Legendre points and weights on 0 to 1."""
    points, weights = np.polynomial.legendre.leggauss(count)
    return (points + 1) / 2, weights / 2
