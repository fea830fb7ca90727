"""Stress functions that satisfy the edge condition in the plane, as modes of the complementary energy.

The edge condition is only a matter of which φ are allowed (``layout``): φ = φ,n = 0 leaves the edge free, φ,n = 0
keeps it straight without mean load, φ,n = 0 and uniform tension allowed holds it, every φ fixes it. Between two free
edges a sheet fixed at its ends also carries a pull, a bending moment and a shear in its plane (``_EXTRAS``).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from scipy.linalg import eigh

from holders.film.basis import Parity
from holders.film.layout import Axis, Outline
from holders.film.lines import derivatives, film_line, kron, stress_line
from holders.film.models import Array

RANK_CUT = 1e-11
Stress = tuple[Array, Array, Array]


def _extra(name: str, x: Array, half: float, k: int) -> Array:
    """One-dimensional factors beyond the tensor product; ``half`` scales, ``k`` is the derivative."""
    u = x / half
    one, zero = np.ones_like(u), np.zeros_like(u)
    table = {
        "1": (one, zero, zero),
        "1st": (u, one, zero),
        "2nd": (u**2, 2 * u, 2 * one),
        "3rd": (u**3 - 3 * u, 3 * u**2 - 3, 6 * u),
    }
    return np.asarray(table[name][k] / half**k)


_EXTRAS: dict[str, tuple[str, str, Parity, Parity]] = {
    "x2": ("2nd", "1", "even", "even"),
    "y2": ("1", "2nd", "even", "even"),
    "x3": ("3rd", "1", "odd", "even"),
    "y3": ("1", "3rd", "even", "odd"),
    "x3y": ("3rd", "1st", "odd", "odd"),
    "xy3": ("1st", "3rd", "odd", "odd"),
}


@lru_cache(maxsize=24)
def stress_modes(outline: Outline, poisson: float, class_x: Parity, class_y: Parity) -> Stress:
    """φ,yy, φ,xx, φ,xy (q, m) at the film's quadrature points, weighted, orthonormal in the complementary energy."""
    ax, ay = outline.x, outline.y
    sx, sy = stress_line(ax, class_x), stress_line(ay, class_y)
    fx, fy = film_line(ax, class_x), film_line(ay, class_y)
    extras = [
        _EXTRAS[e]
        for e in outline.stress_extras
        if _fits(_EXTRAS[e][2], class_x, ax) and _fits(_EXTRAS[e][3], class_y, ay)
    ]

    def with_extras(x: Stress, y: Stress, px: Array, py: Array) -> list[Array]:
        out = [kron(x[i], y[j]) for i, j in ((0, 2), (2, 0), (1, 1))]
        for name_x, name_y, _, _ in extras:
            ex = [_extra(name_x, px, ax.half, k)[:, None] for k in range(3)]
            ey = [_extra(name_y, py, ay.half, k)[:, None] for k in range(3)]
            more = [kron(ex[0], ey[2]), kron(ex[2], ey[0]), kron(ex[1], ey[1])]
            out = [np.hstack([o, m]) for o, m in zip(out, more, strict=True)]
        return out

    yy, xx, xy = with_extras(sx.values, sy.values, sx.points, sy.points)
    modes = _orthonormal(yy, xx, xy, kron(sx.weights, sy.weights), poisson)
    here = kron(fx.weights, fy.weights)[:, None]
    on_film_x, on_film_y = derivatives(sx.line, fx.points), derivatives(sy.line, fy.points)
    yy, xx, xy = with_extras(on_film_x, on_film_y, fx.points, fy.points)
    return here * (yy @ modes), here * (xx @ modes), here * (xy @ modes)


def _orthonormal(yy: Array, xx: Array, xy: Array, w: Array, poisson: float) -> Array:
    """(n, m) combinations whose complementary energy is the unit matrix; those without energy are left out."""
    w = w[:, None]
    energy = xx.T @ (w * xx) + yy.T @ (w * yy) + 2 * (1 + poisson) * (xy.T @ (w * xy))
    cross = xx.T @ (w * yy)
    energy -= poisson * (cross + cross.T)
    own = np.diag(energy)
    scale = 1.0 / np.sqrt(np.maximum(own, 1e-300))
    scale[own < RANK_CUT * own.max()] = 0.0
    values, vectors = eigh(energy * np.outer(scale, scale))
    keep = values > RANK_CUT * values[-1]
    return np.asarray(scale[:, None] * vectors[:, keep] / np.sqrt(values[keep]))


def _fits(parity: Parity, wanted: Parity, axis: Axis) -> bool:
    return wanted in ("none", parity) or not axis.symmetric
