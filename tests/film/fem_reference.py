"""An independent check: the same sheet by finite elements from a general library (scikit-fem).

Everything differs from the solver under test: Bogner-Fox-Schmit rectangles for the deflection instead of global
polynomials, displacements u and v in the plane (quadratic) instead of a stress function, contact at the nodes by an
active set instead of an interior point. One quarter of the sheet is meshed; x = y = 0 is its middle.

The library inverts powers of x and y about the origin to build these rectangles, which loses up to nine digits where
an element is small and far away; ``Rectangle`` writes the same functions as products of Hermite cubics in each
element's own coordinates, so that the answer no longer depends on how a processor rounds.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import skfem
from scipy.sparse import bmat, csc_matrix
from scipy.sparse.linalg import splu
from skfem.element.discrete_field import DiscreteField

from holders.film.models import Kind, Sheet, Support

PULL = 1e-7  # a touching node may pull with this share of the sheet's weight: rounding
DIP_MM = 1e-9


@dataclass(frozen=True)
class Reference:
    """What the elements give: deflections in mm at the nodes of one quarter, and how much work it was."""

    x_mm: np.ndarray
    y_mm: np.ndarray
    w_mm: np.ndarray
    unknowns: int
    newton_steps: int
    reaction_n: float
    residual: float  # forces and moments out of balance where the sheet is free, as a share of the load
    deepest_dip_mm: float  # how far a node on the ledge lies below it
    strongest_pull: float  # how much a touching node pulls, as a share of the weight

    @property
    def centre_mm(self) -> float:
        return float(self.w_mm[np.argmin(self.x_mm**2 + self.y_mm**2)])

    @property
    def lowest_mm(self) -> float:
        return float(self.w_mm.min())

    def at(self, x: float, y: float) -> float:
        return float(self.w_mm[np.argmin((self.x_mm - x) ** 2 + (self.y_mm - y) ** 2)])


class Rectangle(skfem.ElementQuadBFS):  # type: ignore[misc]
    """Bogner-Fox-Schmit rectangle; sides along x and y. Per corner: w, its slopes in x and y, and its twist.

    Source: Bogner, Fox, Schmit 1965, products of the cubics 1 - 3a² + 2a³ and a(1 - a)², a = distance / side.
    """

    def gbasis(self, mapping, X, i, tind=None):
        mesh = mapping.mesh
        tind = np.arange(mesh.t.shape[1]) if tind is None else tind
        corner, kind = divmod(i, 4)
        points, places = mapping.F(X, tind=tind), mesh.p[:, mesh.t[:, tind]]
        (fx, dx, ddx), (fy, dy, ddy) = (
            _cubic(points[k], places[k], corner, slope=bool(kind >> k & 1)) for k in range(2)
        )
        grad, hess = np.array([dx * fy, fx * dy]), np.array([[ddx * fy, dx * dy], [dx * dy, fx * ddy]])
        return (DiscreteField(value=fx * fy, grad=grad, hess=hess),)


def _cubic(at, corners, corner, *, slope):
    """A Hermite cubic along one axis with its first two derivatives: value 1, or slope 1, at the given corner."""
    own, side = corners[corner][:, None], np.ptp(corners, axis=0)[:, None]
    inward = np.where(own < corners.mean(axis=0)[:, None], 1.0, -1.0)
    a = np.abs(at - own) / side
    if slope:
        return inward * side * a * (1 - a) ** 2, 1 - 4 * a + 3 * a**2, inward * (6 * a - 4) / side
    return 1 - 3 * a**2 + 2 * a**3, inward * 6 * a * (a - 1) / side, (12 * a - 6) / side**2


def _lines(half: float, lip: float, inside: int, on_lip: int) -> np.ndarray:
    """Evenly spaced mesh lines from the middle to the edge, with one on the lip's inner edge.

    Lines drawn together towards the lip do worse: what they gain there they lose threefold in the middle.
    """
    opening = np.linspace(0.0, half - lip, inside + 1)
    return np.concatenate([opening, np.linspace(half - lip, half, on_lip + 1)[1:]]) if lip else opening


@skfem.BilinearForm
def _bending(w, v, p):
    nu = p["nu"]
    wxx, wyy, wxy = w.hess[0][0], w.hess[1][1], w.hess[0][1]
    vxx, vyy, vxy = v.hess[0][0], v.hess[1][1], v.hess[0][1]
    return wxx * vxx + wyy * vyy + nu * (wxx * vyy + wyy * vxx) + 2 * (1 - nu) * wxy * vxy


@skfem.LinearForm
def _unit(v, p):
    return 1.0 * v


@skfem.LinearForm
def _moment(v, p):
    vxx, vyy = v.hess[0][0], v.hess[1][1]
    return p["kx"] * (vxx + p["nu"] * vyy) + p["ky"] * (vyy + p["nu"] * vxx)


def _stress(ex, ey, exy, nu):
    """Membrane forces over E t/(1-nu²); exy is half the shear angle."""
    return ex + nu * ey, ey + nu * ex, (1 - nu) * exy


def _strain(p):
    u, w = p["u"].grad, p["w"].grad
    ex = u[0][0] + 0.5 * w[0] ** 2
    ey = u[1][1] + 0.5 * w[1] ** 2
    exy = 0.5 * (u[0][1] + u[1][0] + w[0] * w[1])
    return ex, ey, exy


@skfem.BilinearForm
def _plane(u, v, p):
    a, b = u.grad, v.grad
    sx, sy, sxy = _stress(a[0][0], a[1][1], 0.5 * (a[0][1] + a[1][0]), p["nu"])
    return sx * b[0][0] + sy * b[1][1] + sxy * (b[0][1] + b[1][0])


@skfem.BilinearForm
def _coupling(w, v, p):
    g, b, s = w.grad, v.grad, p["w"].grad
    sx, sy, sxy = _stress(s[0] * g[0], s[1] * g[1], 0.5 * (s[0] * g[1] + s[1] * g[0]), p["nu"])
    return sx * b[0][0] + sy * b[1][1] + sxy * (b[0][1] + b[1][0])


@skfem.BilinearForm
def _membrane_in_w(w, v, p):
    g, h, s = w.grad, v.grad, p["w"].grad
    nx, ny, nxy = _stress(*_strain(p), p["nu"])
    sx, sy, sxy = _stress(s[0] * g[0], s[1] * g[1], 0.5 * (s[0] * g[1] + s[1] * g[0]), p["nu"])
    tension = nx * g[0] * h[0] + ny * g[1] * h[1] + nxy * (g[0] * h[1] + g[1] * h[0])
    return tension + sx * s[0] * h[0] + sy * s[1] * h[1] + sxy * (s[0] * h[1] + s[1] * h[0])


@skfem.LinearForm
def _membrane_force_w(v, p):
    h, s = v.grad, p["w"].grad
    nx, ny, nxy = _stress(*_strain(p), p["nu"])
    return nx * s[0] * h[0] + ny * s[1] * h[1] + nxy * (s[0] * h[1] + s[1] * h[0])


@skfem.LinearForm
def _membrane_force_u(v, p):
    b = v.grad
    nx, ny, nxy = _stress(*_strain(p), p["nu"])
    return nx * b[0][0] + ny * b[1][1] + nxy * (b[0][1] + b[1][0])


def solve(
    sheet: Sheet,
    support: Support,
    *,
    inside: int = 12,
    on_lip: int = 2,
    load_steps: int = 4,
    tol: float = 1e-9,
) -> Reference:
    """One quarter of a sheet with alike opposite lips: LEDGE, GRIPPED (free to slide) or GRIPPED_HELD.

    Raises ``RuntimeError`` unless the forces balance within ``tol`` and the set of touching nodes is settled: none
    pulls, none lies below the ledge.
    """
    lips = support.lips
    half_x, half_y = sheet.width_mm / 2, sheet.height_mm / 2
    gripped = support.kind in (Kind.GRIPPED, Kind.GRIPPED_HELD)
    ratio = max(half_x, half_y) / min(half_x, half_y)
    n_x = inside if half_x <= half_y else round(inside * min(ratio, 3))
    n_y = inside if half_y <= half_x else round(inside * min(ratio, 3))
    mesh = skfem.MeshQuad.init_tensor(
        _lines(half_x, lips.left_mm, n_x, on_lip), _lines(half_y, lips.head_mm, n_y, on_lip)
    )
    bw = skfem.Basis(mesh, Rectangle(), intorder=6)
    bu = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementQuad2()), intorder=6)
    x, y = mesh.p
    nodal = bw.nodal_dofs  # rows: value, d/dx, d/dy, d²/dxdy
    eps = 1e-9
    fixed_w = np.unique(
        np.concatenate([nodal[1][x < eps], nodal[3][x < eps], nodal[2][y < eps], nodal[3][y < eps]])
    )
    locations = bu.doflocs
    names_x = np.zeros(bu.N, dtype=bool)
    names_x[np.unique(bu.split_indices()[0])] = True
    fixed_u = np.flatnonzero(((locations[0] < eps) & names_x) | ((locations[1] < eps) & ~names_x))
    strip = ((x >= half_x - lips.left_mm - eps) & (lips.left_mm > 0)) | (
        (y >= half_y - lips.head_mm - eps) & (lips.head_mm > 0)
    )
    if gripped:
        fixed_w = np.unique(np.concatenate([fixed_w, nodal[:, strip].ravel()]))
    if support.kind is Kind.GRIPPED_HELD:
        on = ((locations[0] >= half_x - lips.left_mm - eps) & (lips.left_mm > 0)) | (
            (locations[1] >= half_y - lips.head_mm - eps) & (lips.head_mm > 0)
        )
        fixed_u = np.unique(np.concatenate([fixed_u, np.flatnonzero(on)]))
    ledge = np.empty(0, dtype=int) if gripped else nodal[0][strip]
    return _newton(sheet, mesh, bw, bu, fixed_w, fixed_u, ledge, load_steps, tol)


def _newton(sheet, mesh, bw, bu, fixed_w, fixed_u, ledge, load_steps, tol) -> Reference:
    nu, d = sheet.poisson, sheet.rigidity_nmm
    stretch = sheet.modulus_mpa * sheet.thickness_mm / (1 - nu**2)
    kx, ky = sheet.natural_curvature_per_mm
    bend = d * _bending.assemble(bw, nu=nu)
    weight = sheet.pressure_mpa * _unit.assemble(bw)
    curl = d * _moment.assemble(bw, nu=nu, kx=kx, ky=ky)
    plane = stretch * _plane.assemble(bu, nu=nu)
    n_w = bw.N
    w, u, push = np.zeros(n_w), np.zeros(bu.N), np.zeros(n_w)
    closed = np.zeros(n_w, dtype=bool)
    closed[ledge] = True
    steps = 0
    for step in range(1, load_steps + 1):
        load = -weight * (step / load_steps) + curl * (step / load_steps)
        changes = 0
        for _ in range(200):
            fields = {"u": bu.interpolate(u), "w": bw.interpolate(w), "nu": nu}
            force_w = bend @ w + stretch * _membrane_force_w.assemble(bw, **fields) - load
            force_u = stretch * _membrane_force_u.assemble(bu, **fields)
            push[:] = 0.0
            push[closed] = force_w[closed]
            free_w = ~closed
            free_w[fixed_w] = False
            free_u = np.ones(bu.N, dtype=bool)
            free_u[fixed_u] = False
            out = np.concatenate([force_w[free_w], force_u[free_u]])
            residual = float(np.linalg.norm(out) / np.linalg.norm(load))
            if residual < tol and steps:
                pulls = closed & (push < -PULL * sheet.weight_n)
                dips = np.zeros(n_w, dtype=bool)
                dips[ledge] = w[ledge] < -DIP_MM
                if not pulls.any() and not dips.any():
                    break
                if dips.any():
                    closed |= dips
                    w[dips] = 0.0
                elif changes < 12:
                    closed &= ~pulls
                else:  # letting go of all at once can run in circles: of the strongest pullers only
                    closed &= ~(push < 0.3 * push.min())
                changes += 1
                continue
            k_ww = bend + stretch * _membrane_in_w.assemble(bw, **fields)
            k_uw = stretch * _coupling.assemble(bw, bu, **fields)
            matrix = bmat(
                [
                    [k_ww[free_w][:, free_w], k_uw[free_u][:, free_w].T],
                    [k_uw[free_u][:, free_w], plane[free_u][:, free_u]],
                ]
            )
            move = splu(csc_matrix(matrix), permc_spec="MMD_AT_PLUS_A").solve(-out)
            part = int(free_w.sum())
            reach = np.abs(move[:part]).max()
            shorten = min(1.0, 20 * sheet.thickness_mm / reach) if reach else 1.0
            w[free_w] += shorten * move[:part]
            u[free_u] += shorten * move[part:]
            steps += 1
        else:
            raise RuntimeError(f"the reference did not settle: {residual:.1e} of the load is out of balance")
    return Reference(
        *mesh.p,
        w[bw.nodal_dofs[0]],
        unknowns=n_w + bu.N,
        newton_steps=steps,
        reaction_n=4 * float(push.sum()),
        residual=residual,
        deepest_dip_mm=max(0.0, -float(w[ledge].min(initial=0.0))),
        strongest_pull=max(0.0, -float(push.min()) / sheet.weight_n),
    )
