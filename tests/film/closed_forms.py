"""Small deflections of rectangular plates by series, and the sag of a rigid glass plate from them."""

from __future__ import annotations

import numpy as np

from holders.facts.constants import GRAVITY_M_S2

TERMS = 60


def simply_supported_coefficient(ratio: float) -> float:
    """α in w = α q a⁴/D at the middle of a simply supported plate, a the short side, ``ratio`` = b/a ≥ 1.

    Lévy's single series: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., § 30 (from memory).
    """
    m = np.arange(1, 2 * TERMS, 2)
    u = np.minimum(m * np.pi * ratio / 2, 300.0)
    signs = (-1.0) ** ((m - 1) // 2)
    terms = signs / m**5 * (1 - (u * np.tanh(u) + 2) / (2 * np.cosh(u)))
    return float(4 / np.pi**5 * terms.sum())


def navier_coefficient(ratio: float, terms: int = 400) -> float:
    """The same by Navier's double series (slower; a check on the other)."""
    m = np.arange(1, 2 * terms, 2)[:, None]
    n = np.arange(1, 2 * terms, 2)[None, :]
    signs = (-1.0) ** ((m + n) // 2 - 1)
    return float((16 / np.pi**6 * signs / (m * n * (m**2 + (n / ratio) ** 2) ** 2)).sum())


def clamped_coefficient(ratio: float, terms: int = 40) -> float:
    """α in w = α q a⁴/D at the middle of a plate clamped all round, ``ratio`` = b/a ≥ 1.

    Hencky's superposition: the simply supported plate plus edge moments that bring the edge slopes to zero
    (Timoshenko and Woinowsky-Krieger, § 44, from memory). Lengths in a, q = D = 1; sides x = ±1/2, y = ±ratio/2.
    """
    m = np.arange(1, 2 * terms, 2)
    sides = (1.0, ratio)
    slopes = [_load_slope(m, *sides), _load_slope(m, *sides[::-1])]
    blocks = [[_own(m, *sides), _cross(m, *sides)], [_cross(m, *sides[::-1]), _own(m, *sides[::-1])]]
    # unknowns: moments along y = ±b/2 (cosines in x), then along x = ±a/2 (cosines in y)
    moments = np.linalg.solve(np.block(blocks), -np.concatenate(slopes))
    middle = simply_supported_coefficient(ratio)
    for e, (a, b) in zip(np.split(moments, 2), (sides, sides[::-1]), strict=True):
        u = np.minimum(m * np.pi * b / (2 * a), 300.0)
        middle += float((a**2 / (2 * np.pi**2) * e / m**2 * u * np.tanh(u) / np.cosh(u)).sum())
    return middle


def _load_slope(m: np.ndarray, a: float, b: float) -> np.ndarray:
    """Cosine coefficients in x of ∂w/∂y at y = b/2 of the simply supported plate (q = D = 1)."""
    u = np.minimum(m * np.pi * b / (2 * a), 300.0)
    signs = (-1.0) ** ((m - 1) // 2)
    return np.asarray(2 * a**3 / np.pi**4 * signs / m**4 * (u / np.cosh(u) ** 2 - np.tanh(u)))


def _own(m: np.ndarray, a: float, b: float) -> np.ndarray:
    """Slope at y = b/2 from moments E_m cos(mπx/a) on y = ±b/2 themselves."""
    u = np.minimum(m * np.pi * b / (2 * a), 300.0)
    return np.diag(-a / (2 * np.pi) / m * (np.tanh(u) + u / np.cosh(u) ** 2))


def _cross(m: np.ndarray, a: float, b: float) -> np.ndarray:
    """Slope at y = b/2, as cosines in x (rows), from moments F_n cos(nπy/b) on x = ±a/2 (columns)."""
    n = m[None, :]
    i = m[:, None]
    signs = (-1.0) ** ((i - 1) // 2) * (-1.0) ** ((n - 1) // 2)
    return np.asarray(-4 * a**2 / (np.pi**2 * b) * signs * i * n / (n**2 * a**2 / b**2 + i**2) ** 2)


def glass_sag_mm(
    width_mm: float,
    height_mm: float,
    thickness_mm: float,
    *,
    modulus_mpa: float,
    poisson: float,
    density_kg_m3: float,
) -> float:
    """Sag in the middle of a glass plate that rests on its four edges, mm: linear theory, corners held down.

    Glass is so stiff that the sag stays far below its thickness, where linear theory is exact enough. A plate whose
    corners may lift sags a little more; 3 mm glass over 200 mm sags under 0.01 mm either way.
    """
    short, long = sorted((width_mm, height_mm))
    pressure = density_kg_m3 * 1e-9 * GRAVITY_M_S2 * thickness_mm
    rigidity = modulus_mpa * thickness_mm**3 / (12 * (1 - poisson**2))
    return simply_supported_coefficient(long / short) * pressure * short**4 / rigidity
