"""Elastic energy of a thin sheet that may turn by any angle and stretches little.

The sheet is flat before it curls. With r(x, y) its middle surface and r1, r2, r11, ... its derivatives:
stretch E11 = (r1.r1 - 1) / 2, E22, E12 = r1.r2 / 2; bending K11 = r11.(r1 x r2) and so on, less the natural
curl. The normal r1 x r2 has length 1 + O(stretch), so leaving it unscaled costs a relative 1e-3 at most here.
Kirchhoff-Love assumption, isotropic linear material (St Venant-Kirchhoff in the plane).
Source: W. T. Koiter, "On the nonlinear theory of thin elastic shells", 1966 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csc_matrix

from tests.simulators.shell.hermite import Array, Grid, Ints, gauss

Bools = NDArray[np.bool_]
PAIRS = ((0, 0), (1, 1), (0, 1))
"""Which of r1, r2 make up E11, E22, E12."""


@dataclass(frozen=True)
class Sheet:
    """A flat sheet with a natural curl, in mm, MPa and 1/mm.

    Fields
    ------
    thickness, youngs, poisson : mm, MPa, 1
    curl : stress-free curvatures (z_xx, z_yy) in 1/mm; positive lifts the edges, so the middle bows down
    load : force per area in N/mm2 along +z, fixed in direction (gravity is negative)
    """

    thickness: float
    youngs: float
    poisson: float
    curl: tuple[float, float]
    load: float

    @property
    def bending(self) -> float:
        """Bending stiffness D in N mm."""
        return self.youngs * self.thickness**3 / 12 / (1 - self.poisson**2)

    def moduli(self) -> Array:
        """6 x 6 matrix from (E11, E22, E12, K11, K22, K12) to their conjugate forces."""
        nu = self.poisson
        plane = np.array([[1, nu, 0], [nu, 1, 0], [0, 0, 2 * (1 - nu)]])
        out = np.zeros((6, 6))
        out[:3, :3] = plane * (self.youngs * self.thickness / (1 - nu**2))
        out[3:, 3:] = plane * self.bending
        return out


def skew(v: Array) -> Array:
    """Matrices M with M w = v x w, shape (n, 3, 3)."""
    out = np.zeros((len(v), 3, 3))
    out[:, 0, 1], out[:, 0, 2], out[:, 1, 2] = -v[:, 2], v[:, 1], -v[:, 0]
    return np.asarray(out - np.swapaxes(out, 1, 2))


class ShellEnergy:
    """Energy, gradient and Hessian of a sheet on a Hermite grid.

    The unknowns are the displacements: 3 * (4 * node + k) + axis. The load enters as a potential.
    """

    def __init__(self, grid: Grid, sheet: Sheet, points: int = 4) -> None:
        self.grid, self.sheet = grid, sheet
        i, j = grid.cells()
        p, w = gauss(points)
        s, t = (a.ravel() for a in np.meshgrid(p, p, indexing="ij"))
        n, g = len(i), len(s)
        tables = grid.basis(np.repeat(i, g), np.repeat(j, g), np.tile(s, n), np.tile(t, n))
        self.tables = tables[:, 1:, :]  # (n*g, 5, 16)
        area = (grid.x[i + 1] - grid.x[i]) * (grid.y[j + 1] - grid.y[j])
        self.weights = np.repeat(area, g) * np.tile(np.outer(w, w).ravel(), n)
        unknowns = grid.unknowns(i, j)
        self.dofs: Ints = (3 * unknowns[:, :, None] + np.arange(3)).reshape(n, 48)
        self.size = 12 * grid.nodes
        self.cells, self.per_cell = n, g
        force = np.einsum("p,pm->pm", self.weights, tables[:, 0, :]).reshape(n, g, 16).sum(axis=1)
        self.force = np.zeros(self.size)
        np.add.at(self.force, 3 * unknowns + 2, force * sheet.load)
        self.rows = np.repeat(self.dofs, 48, axis=1).ravel()
        self.cols = np.tile(self.dofs, (1, 48)).ravel()

    def _derivatives(self, u: Array) -> Array:
        """r1, r2, r11, r22, r12 less the flat reference, shape (points, 5, 3)."""
        local = u[self.dofs].reshape(self.cells, 16, 3)
        local = np.repeat(local, self.per_cell, axis=0)
        return np.asarray(np.matmul(self.tables, local))

    def _strains(self, d: Array) -> tuple[Array, Array, Array]:
        """Six strains, their gradients (points, 6, 5, 3), and r1, r2 with the second derivatives."""
        r = d.copy()
        r[:, 0, 0] += 1.0
        r[:, 1, 1] += 1.0
        r1, r2 = r[:, 0], r[:, 1]
        strains = np.zeros((len(d), 6))
        slopes = np.zeros((len(d), 6, 5, 3))
        strains[:, 0] = d[:, 0, 0] + (d[:, 0] ** 2).sum(axis=1) / 2
        strains[:, 1] = d[:, 1, 1] + (d[:, 1] ** 2).sum(axis=1) / 2
        strains[:, 2] = (d[:, 0, 1] + d[:, 1, 0] + (d[:, 0] * d[:, 1]).sum(axis=1)) / 2
        slopes[:, 0, 0], slopes[:, 1, 1] = r1, r2
        slopes[:, 2, 0], slopes[:, 2, 1] = r2 / 2, r1 / 2
        normal = np.cross(r1, r2)
        for k in range(3):
            bend = r[:, 2 + k]
            strains[:, 3 + k] = (bend * normal).sum(axis=1)
            slopes[:, 3 + k, 2 + k] = normal
            slopes[:, 3 + k, 0] = np.cross(r2, bend)
            slopes[:, 3 + k, 1] = np.cross(bend, r1)
        strains[:, 3] -= self.sheet.curl[0]
        strains[:, 4] -= self.sheet.curl[1]
        return strains, slopes, r

    def energy(self, u: Array) -> float:
        """Elastic energy plus the potential of the load, N mm."""
        strains, _, _ = self._strains(self._derivatives(u))
        density = np.einsum("pi,ij,pj->p", strains, self.sheet.moduli(), strains) / 2
        return float(self.weights @ density - self.force @ u)

    def gradient(self, u: Array) -> Array:
        """Derivative of `energy`, shape (size,)."""
        strains, slopes, _ = self._strains(self._derivatives(u))
        stress = strains @ self.sheet.moduli() * self.weights[:, None]
        flow = np.einsum("pi,piac->pac", stress, slopes)
        local = np.matmul(np.swapaxes(self.tables, 1, 2), flow)
        local = local.reshape(self.cells, self.per_cell, 48).sum(axis=1)
        out = -self.force
        np.add.at(out, self.dofs, local)
        return out

    def hessian(self, u: Array, convex: bool = False) -> csc_matrix:
        """Second derivative of `energy`; with `convex` only the part that is never negative."""
        strains, slopes, r = self._strains(self._derivatives(u))
        moduli = self.sheet.moduli()
        flat = slopes.reshape(len(r), 6, 15)
        dense = np.matmul(np.swapaxes(flat, 1, 2), np.matmul(moduli, flat))
        stress = strains @ moduli
        if convex:
            stress = _tension_only(stress)
        blocks = dense.reshape(len(r), 5, 3, 5, 3)
        _add_geometric(blocks, stress, r, bending=not convex)
        local = np.zeros((self.cells, 16, 3, 16, 3))
        left = np.swapaxes(self.tables, 1, 2)
        for a in range(3):
            for b in range(3):
                part = np.matmul(
                    left, np.matmul(blocks[:, :, a, :, b] * self.weights[:, None, None], self.tables)
                )
                local[:, :, a, :, b] = part.reshape(self.cells, self.per_cell, 16, 16).sum(axis=1)
        full = coo_matrix((local.ravel(), (self.rows, self.cols)), shape=(self.size, self.size))
        return full.tocsc()


def _tension_only(stress: Array) -> Array:
    """Membrane forces without their compressive part; bending moments dropped."""
    out = np.zeros_like(stress)
    tensor = np.stack([stress[:, 0], stress[:, 2] / 2, stress[:, 2] / 2, stress[:, 1]], axis=1).reshape(
        -1, 2, 2
    )
    values, vectors = np.linalg.eigh(tensor)
    kept = np.einsum("pik,pk,pjk->pij", vectors, np.maximum(values, 0.0), vectors)
    out[:, 0], out[:, 1], out[:, 2] = kept[:, 0, 0], kept[:, 1, 1], 2 * kept[:, 0, 1]
    return out


def _add_geometric(blocks: Array, stress: Array, r: Array, bending: bool) -> None:
    """Add stress times the second derivatives of the strains, in place."""
    for k, (a, b) in enumerate(PAIRS):
        for axis in range(3):
            blocks[:, a, axis, b, axis] += stress[:, k] / 2
            blocks[:, b, axis, a, axis] += stress[:, k] / 2
    if not bending:
        return
    r1, r2 = skew(r[:, 0]), skew(r[:, 1])
    for k in range(3):
        moment = stress[:, 3 + k][:, None, None]
        pairs = ((2 + k, 0, -r2), (2 + k, 1, r1), (0, 1, -skew(r[:, 2 + k])))
        for a, b, matrix in pairs:
            blocks[:, a, :, b, :] += moment * matrix
            blocks[:, b, :, a, :] += moment * np.swapaxes(matrix, 1, 2)
