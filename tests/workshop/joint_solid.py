"""A rail with a glued joint as an elastic solid, by a general library (scikit-fem): quadratic bricks, no beam theory.

Shares nothing with the formulas under test. The tongue is a straight prism as wide as its root, glue fills the gaps
beside it, the butt faces of the seam and the tongue's tip touch nothing (slits). Under a moment about the rail's width,
or a force up and down, the lower half mirrors the upper with its sideways and lengthwise movement turned round, so half
is meshed. Three points a direction are needed: with two the bricks have movements that cost nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import skfem
from scipy.sparse.linalg import splu
from skfem.helpers import ddot, sym_grad, trace
from skfem.models.elasticity import lame_parameters

SLIT_MM = 0.05
LONG_MM = 10.0  # of rail modelled on either side
SPAN_MM = 2.5  # of a flank, over which shear is averaged: at its ends alone it grows without end as bricks get smaller


@dataclass(frozen=True)
class Rail:
    """A rail across the seam v = 0, mm: ``low`` to ``high`` along u, ``tall``; its tongue from ``first`` to ``last``.

    A lap has its ``last`` at ``high``: one flank. Moduli of plastic and glue in MPa.
    """

    low: float
    high: float
    first: float
    last: float
    reach: float
    tall: float
    gap: float
    modulus: float = 2000.0
    glue: float = 1000.0
    poisson: float = 0.35


@dataclass(frozen=True)
class Answer:
    """For 1 N mm: greatest mean shear along ``SPAN_MM`` of a glued flank and stress of a neck cell, each in a layer of
    cells (MPa), added angle (rad); for 1 N up and down: how far the two ledges part at the seam (mm).
    """

    shear: float
    shear_at: float  # height of that layer's middle over the half height
    neck: float
    neck_at: float  # height of that cell's middle over the half height
    angle: float
    step: float


def lines(stops: list[float], most: float) -> np.ndarray:
    found = [stops[0]]
    for a, b in pairwise(stops):
        count = max(1, int(np.ceil((b - a) / most - 1e-9)))
        found += [a + (b - a) * k / count for k in range(1, count + 1)]
    return np.array(found)


def solve(rail: Rail, most: float = 2.5, cells: int = 4) -> Answer:
    """The rail in bricks ``most`` mm long at most along the joint, so many up its half height."""
    lap = rail.last >= rail.high - 1e-9
    us = [
        rail.low,
        rail.first - rail.gap,
        rail.first,
        rail.last,
        *([] if lap else [rail.last + rail.gap, rail.high]),
    ]
    tip = rail.reach + rail.gap
    vs = [-LONG_MM, -3.0, 0.0, SLIT_MM, rail.reach, tip, tip + 3.0, tip + LONG_MM]
    half = rail.tall / 2
    whole = skfem.MeshHex.init_tensor(
        lines(us, max(most, (rail.high - rail.low) / 3)), lines(vs, most), np.linspace(0.0, half, cells + 1)
    )
    u, v, _ = whole.p[:, whole.t].mean(axis=1)
    within, past = (u > rail.first) & (u < rail.last), (v > 0) & (v < tip)
    around = (u > rail.first - rail.gap) & (u < rail.last + rail.gap)
    slit = ((v > 0) & (v < SLIT_MM) & ~within) | ((v > rail.reach) & (v < tip) & around)
    kept = np.flatnonzero(~slit)
    glued = (around & ~within & past)[kept]
    mesh = whole.restrict(kept)
    u, v, z = mesh.p[:, mesh.t].mean(axis=1)
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementHex2()), intorder=4)
    lam, mu = lame_parameters(np.where(glued, rail.glue, rail.modulus), rail.poisson)

    @skfem.BilinearForm
    def work(a, b, w):  # type: ignore[no-untyped-def]
        e = sym_grad(a)
        return w["lam"] * trace(e) * trace(sym_grad(b)) + 2 * w["mu"] * ddot(e, sym_grad(b))

    points = basis.dx.shape[1]
    k = work.assemble(basis, lam=np.repeat(lam[:, None], points, 1), mu=np.repeat(mu[:, None], points, 1))
    far = float(vs[-1])
    end = skfem.FacetBasis(
        mesh, basis.elem, facets=mesh.facets_satisfying(lambda x: np.isclose(x[1], far)), intorder=4
    )
    wide = rail.high - rail.low
    inertia = wide * rail.tall**3 / 12

    @skfem.LinearForm
    def moment(b, w):  # type: ignore[no-untyped-def]
        return w.x[2] / inertia * b[1]

    @skfem.LinearForm
    def force(b, w):  # type: ignore[no-untyped-def]
        return -1.0 / (wide * rail.tall) * b[2]

    held = basis.get_dofs(lambda x: np.isclose(x[1], -LONG_MM)).all()
    mirror = basis.get_dofs(lambda x: np.isclose(x[2], 0.0)).all(["u^1", "u^2"])
    free = np.setdiff1d(np.arange(basis.N), np.union1d(held, mirror))
    factors = splu(k.tocsc()[free][:, free], permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0)

    def under(load: np.ndarray) -> np.ndarray:
        x = np.zeros(basis.N)
        x[free] = factors.solve(load[free])
        return x

    pushed = moment.assemble(end)
    bent, sheared = under(pushed), under(force.assemble(end))
    strain = sym_grad(basis.interpolate(bent))

    def mean(stress: np.ndarray) -> np.ndarray:
        return (stress * basis.dx).sum(1) / basis.dx.sum(1)

    shear = np.hypot(mean(2 * mu[:, None] * strain[0, 1]), mean(2 * mu[:, None] * strain[0, 2]))
    along = mean(lam[:, None] * trace(strain) + 2 * mu[:, None] * strain[1, 1])
    neck = (v > 0) & (v < SLIT_MM)
    worst = int(np.argmax(np.where(neck, np.abs(along), 0.0)))
    angle = 2 * float(pushed @ bent) - (far + LONG_MM) / (rail.modulus * inertia)

    def height(x: np.ndarray, v_mm: float) -> float:
        corner = mesh.p - np.array([[rail.low], [v_mm], [half]])
        return float(x[basis.nodal_dofs[2, int(np.argmin((corner**2).sum(0)))]])

    step = abs(height(sheared, 0.0) - height(sheared, SLIT_MM))
    peak, high = spanned(np.array([u, v, z, np.ptp(mesh.p[1, mesh.t], axis=0), shear])[:, glued])
    return Answer(peak, high / half, float(np.abs(along[worst])), float(z[worst] / half), angle, step)


def spanned(cells: np.ndarray) -> tuple[float, float]:
    """Greatest mean of shear along ``SPAN_MM`` of a row of cells (rows: u, v, z, length along v, shear), and its z."""
    found = (0.0, 0.0)
    for u, z in {(u, z) for u, z in cells[[0, 2]].round(6).T}:
        row = cells[:, (cells[0].round(6) == u) & (cells[2].round(6) == z)]
        long, shear = row[3:, np.argsort(row[1])]
        ends = np.concatenate([[0.0], np.cumsum(long)])
        total = np.concatenate([[0.0], np.cumsum(long * shear)])
        span = min(SPAN_MM, ends[-1])
        starts = np.unique(np.clip(np.concatenate([ends, ends - span]), 0.0, ends[-1] - span))
        mean = (np.interp(starts + span, ends, total) - np.interp(starts, ends, total)) / span
        found = max(found, (float(mean.max()), float(z)))
    return found
