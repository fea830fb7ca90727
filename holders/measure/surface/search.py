"""How far the film moved between two scans, roughly: one move for the whole, then one for each block of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import fft, ndimage

from holders.core.errors import InputError
from holders.measure.surface.opening import Opening

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]

BLOCKS = 6  # along the film's long side
HIGH_PASS_CELLS = 6.0
TAPER_CELLS = 4
BENT_MM = 0.2  # mm at the rim, of a sag of 1 mm slid 60 mm at 300 mm from the lens: judgement
TURNED = 0.02  # rad by hand: judgement
LEAST_PEAK = 6.0  # of the correlation's own scatter


@dataclass(frozen=True)
class Moves2D:
    """Moves of places in the first scan: all in mm, ``u`` across and ``v`` along, with standard deviations."""

    x: F64
    y: F64
    u: F64
    v: F64
    sigma_u: F64
    sigma_v: F64

    def at(self, keep: NDArray[np.bool_]) -> Moves2D:
        """Only some of the places."""
        return Moves2D(*(a[keep] for a in (self.x, self.y, self.u, self.v, self.sigma_u, self.sigma_v)))


def detail(small: F32, opening: Opening, pitch: tuple[float, float]) -> F32:
    """The film's own detail: high-passed inside the opening, faded out at its sides, zero elsewhere."""
    high, wide = small.shape
    y, x = np.mgrid[0:high, 0:wide]
    inside = opening.inside((x + 0.5) * pitch[0], (y + 0.5) * pitch[1], 1.5 * max(pitch))
    weight = inside.astype(np.float32)
    blurred = ndimage.gaussian_filter(small * weight, HIGH_PASS_CELLS)
    norm = ndimage.gaussian_filter(weight, HIGH_PASS_CELLS)
    fine = np.where(inside, small - blurred / np.maximum(norm, 1e-6), 0.0)
    spread = float(np.std(fine[inside])) if inside.any() else 0.0
    if spread <= 0:
        return np.zeros_like(small)
    # no single scratch or lip may outweigh the rest
    fade = np.clip(ndimage.distance_transform_edt(np.pad(inside, 1))[1:-1, 1:-1] / TAPER_CELLS, 0, 1)
    return np.asarray(np.clip(fine / spread, -3, 3) * fade, np.float32)


def whole_move(
    first: F32, second: F32, pitch: tuple[float, float], expected: tuple[float, float] | None, reach_mm: float
) -> tuple[float, float, float]:
    """Move (mm across, along) of all detail together, and how far its peak stands above the scatter.

    ``expected``: only moves within ``reach_mm`` of it are looked at; of a bare shift without sign both are.
    """
    shape = [fft.next_fast_len(a + b) for a, b in zip(first.shape, second.shape, strict=True)]
    spectrum = np.conj(fft.rfft2(first, shape)) * fft.rfft2(second, shape)
    # half whitened: letters and edges must not hide fine texture, nor noise rule
    spectrum /= np.sqrt(np.abs(spectrum)) + 1e-3 * np.sqrt(np.abs(spectrum).max())
    corr = fft.irfft2(spectrum, shape)
    v = fft.fftfreq(shape[0], 1 / shape[0])[:, None] * pitch[1]
    u = fft.fftfreq(shape[1], 1 / shape[1])[None, :] * pitch[0]
    allowed = np.ones(corr.shape, bool)
    if expected is not None:
        allowed = np.hypot(u - expected[0], v - expected[1]) < reach_mm
    corr = ndimage.gaussian_filter(corr, 0.7, mode="wrap")
    scatter = 1.4826 * float(np.median(np.abs(corr))) + 1e-12
    corr = np.where(allowed, corr, -np.inf)
    j, i = np.unravel_index(int(np.argmax(corr)), corr.shape)
    return float(u[0, i]), float(v[j, 0]), float(corr[j, i] / scatter)


def block_moves(
    first: F32,
    second: F32,
    pitch: tuple[float, float],
    opening: Opening,
    start: tuple[float, float],
    reach_mm: float,
) -> Moves2D:
    """Moves of blocks of the film, each looked for within ``reach_mm`` of ``start``; blocks without a peak are left."""
    left, right, top, bottom = opening.box
    side = max(right - left, bottom - top) / BLOCKS
    nx, ny = max(2, round((right - left) / side)), max(2, round((bottom - top) / side))
    rows: list[tuple[float, ...]] = []
    for xa, xb in zip(
        np.linspace(left, right, nx + 1)[:-1], np.linspace(left, right, nx + 1)[1:], strict=True
    ):
        for ya, yb in zip(
            np.linspace(top, bottom, ny + 1)[:-1], np.linspace(top, bottom, ny + 1)[1:], strict=True
        ):
            found = _block(first, second, pitch, (xa, xb, ya, yb), start, reach_mm)
            if found is not None:
                rows.append(((xa + xb) / 2, (ya + yb) / 2, *found, pitch[0], pitch[1]))
    table = np.array(rows, float).reshape(-1, 6)
    return Moves2D(*table.T)


def _block(
    first: F32, second: F32, pitch: tuple[float, float], box: tuple[float, float, float, float],
    start: tuple[float, float], reach_mm: float,
) -> tuple[float, float] | None:  # fmt: skip
    c0, c1 = (int(v / pitch[0]) for v in box[:2])
    r0, r1 = (int(v / pitch[1]) for v in box[2:])
    part = first[max(r0, 0) : r1, max(c0, 0) : c1]
    if part.size < 64 or float(np.mean(part**2)) < 1e-3:
        return None
    reach = (int(np.ceil(reach_mm / pitch[0])), int(np.ceil(reach_mm / pitch[1])))
    at = (max(r0, 0) + round(start[1] / pitch[1]), max(c0, 0) + round(start[0] / pitch[0]))
    wide = _cut(
        second, at[0] - reach[1], at[1] - reach[0], part.shape[0] + 2 * reach[1], part.shape[1] + 2 * reach[0]
    )
    shape = [fft.next_fast_len(n) for n in wide.shape]
    corr = fft.irfft2(np.conj(fft.rfft2(part, shape)) * fft.rfft2(wide, shape), shape)
    corr = corr[: 2 * reach[1] + 1, : 2 * reach[0] + 1]
    j, i = np.unravel_index(int(np.argmax(corr)), corr.shape)
    if not (0 < j < corr.shape[0] - 1 and 0 < i < corr.shape[1] - 1):
        return None
    if corr[j, i] < LEAST_PEAK * 1.4826 * float(np.median(np.abs(corr - np.median(corr)))) * 0.6:
        return None
    return (
        (at[1] - max(c0, 0) + i - reach[0] + _top(corr[j, i - 1 : i + 2])) * pitch[0],
        (at[0] - max(r0, 0) + j - reach[1] + _top(corr[j - 1 : j + 2, i])) * pitch[1],
    )


def _top(three: NDArray[Any]) -> float:
    bend = float(three[0] - 2 * three[1] + three[2])
    return 0.0 if bend >= 0 else float(np.clip(0.5 * (three[0] - three[2]) / bend, -0.5, 0.5))


def _cut(a: F32, row: int, col: int, high: int, wide: int) -> F32:
    """A piece of ``a``, zero outside it."""
    out = np.zeros((high, wide), np.float32)
    r0, r1, c0, c1 = max(row, 0), min(row + high, a.shape[0]), max(col, 0), min(col + wide, a.shape[1])
    if r1 > r0 and c1 > c0:
        out[r0 - row : r1 - row, c0 - col : c1 - col] = a[r0:r1, c0:c1]
    return out


@dataclass(frozen=True)
class Trend:
    """Smooth moves over the film: a polynomial of both coordinates, robustly laid through measured moves."""

    centre: tuple[float, float]
    half: tuple[float, float]
    powers: tuple[tuple[int, int], ...]
    u: F64
    v: F64

    def __call__(self, x: F64, y: F64) -> tuple[F64, F64]:
        """Moves (u, v) at places, mm."""
        columns = _columns(x, y, self.centre, self.half, self.powers)
        return columns @ self.u, columns @ self.v


def _columns(
    x: F64,
    y: F64,
    centre: tuple[float, float],
    half: tuple[float, float],
    powers: tuple[tuple[int, int], ...],
) -> F64:
    p, q = (np.asarray(x) - centre[0]) / half[0], (np.asarray(y) - centre[1]) / half[1]
    return np.stack([p**i * q**j for i, j in powers], axis=-1)


def trend(moves: Moves2D, opening: Opening, degree: int, before: Trend | None = None) -> Trend:
    """Lay a trend of at most ``degree`` (less where too few moves are known).

    Where the moves say nothing, as beyond a single row of them, it goes on as ``before``, a trend over the same
    opening; without one, as a shift.

    Raises
    ------
    InputError
        Fewer than four moves are known.
    """
    while degree > 0 and (degree + 1) * (degree + 2) // 2 * 2 > len(moves.x):
        degree -= 1
    if len(moves.x) < 4:
        raise InputError(
            "SCAN", "(the film)", "the two scans have too little in common: show the same film with detail in it, "
            "moved across the bed"
        )  # fmt: skip
    left, right, top, bottom = opening.box
    centre = ((left + right) / 2, (top + bottom) / 2)
    half = ((right - left) / 2, (bottom - top) / 2)
    degree = degree if before is None else max(degree, *(i + j for i, j in before.powers))
    powers = tuple((i, j) for i in range(degree + 1) for j in range(degree + 1 - i))
    a = _columns(moves.x, moves.y, centre, half, powers)
    order = np.array([i + j for i, j in powers])
    turned = TURNED if before is None else BENT_MM / max(half)
    # how little each term is expected to be, 1 / mm; a shift may be any
    stiff = np.where(
        order > 1, np.maximum(order - 1, 1) / BENT_MM, np.where(order > 0, 1 / (turned * max(half)), 0)
    )
    fits = []
    for axis, value, sigma in ((0, moves.u, moves.sigma_u), (1, moves.v, moves.sigma_v)):
        weight = 1 / np.maximum(sigma, 1e-6)
        known = np.zeros(len(powers))
        if before is not None:
            known[[powers.index(p) for p in before.powers]] = before.u if axis == 0 else before.v
        coef = known.copy()
        coef[0] += float(np.median(value - a @ known))
        for _ in range(12):
            rest = value - a @ coef
            scale = 1.4826 * float(np.median(np.abs(rest))) + 1e-6
            robust = 1 / (1 + (rest / (2 * scale)) ** 2)
            w = np.sqrt(robust) * weight / weight.max()
            rows = np.vstack([a * w[:, None], scale * np.diag(stiff)])
            wanted = np.concatenate([(value - a @ known) * w, np.zeros(len(powers))])
            coef = known + np.linalg.lstsq(rows, wanted, rcond=None)[0]
        fits.append(coef)
    return Trend(centre, half, powers, fits[0], fits[1])
