"""The foot of the film along a path: the sharp side of the bright band, profile by profile.

A flatbed sees across its width in perspective: what stands above the glass is drawn nearer to the middle of the
width, by (x - middle) z / (D + z). So the band that a stood film draws has its foot at the side away from the middle,
and only there it is sharp, as the wall above leaves focus and light. The sharper side is the foot; where the two are
alike the wall is hidden behind its own edge and the line is as thick as the film.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from holders.measure.curl.picture import COARSE_MM, FINE_MM, Grid, Sheet
from holders.measure.curl.trace import arc_length, normals, resampled, smoothed

F64 = NDArray[np.float64]
SPACING_MM = 0.35
WIDEST_MM = 24.0  # how far a wall may lean
NEAR_MM = 1.3  # half a profile at full resolution
TILE_MM = 6.0
BEYOND_MM = 2.5
ALIKE = 0.12  # logarithm of the ratio of two slopes below which no side is the sharper


@dataclass(frozen=True)
class Foot:
    """Points at the sharp side of the band.

    ``points``, ``normal`` (n, 2), mm; ``side`` (n,): +1 where the bright band lies on the normal's side of the point,
    -1 where it lies on the other, 0 where the point is the middle of a line. ``strength`` (n,): step of light.
    ``wide_mm``: thickness of the line where it shows as a line, None where it never does. ``lean`` (n,): how far the
    bright band reaches on the side of the normal less on the other, mm.
    """

    points: F64
    normal: F64
    side: F64
    strength: F64
    wide_mm: float | None
    lean: F64


def rough_foot(grid: Grid, path: F64) -> F64:
    """A path moved onto the foot as far as the small picture shows it, twice, each time nearer."""
    for half in (WIDEST_MM, 3.0):
        u = np.arange(-half, half + 1e-9, 0.5 * COARSE_MM)
        n = normals(path)
        light = _profiles(grid, path, n, u)
        light = ndimage.gaussian_filter(light, (2.0, 1.0))
        if half == WIDEST_MM:
            light = _only_the_band(light, u)
        shift, _, _ = _sharper(light, u, half)
        good = np.isfinite(shift)
        if good.sum() < 6:
            return path
        shift = np.interp(np.arange(len(shift)), np.nonzero(good)[0], shift[good])
        shift = ndimage.median_filter(shift, min(len(shift), 15), mode="nearest")
        path = resampled(smoothed(path + shift[:, None] * n, 1.2), 0.5)
    return path


def _only_the_band(light: F64, u: F64) -> F64:
    """Profiles with everything cut off that is not joined to their middle: dust, stands, other film."""
    floor = np.quantile(light, 0.2, axis=1, keepdims=True)
    peak = light[:, np.abs(u) < 1.0].max(axis=1, keepdims=True)
    bright = light - floor > 0.08 * (peak - floor)
    out = light.copy()
    for row in range(len(light)):
        marks, _ = ndimage.label(bright[row])
        near = marks[np.abs(u) < 1.0]
        mine = np.bincount(near[near > 0]).argmax() if (near > 0).any() else 0
        gone = (marks != mine) & (marks > 0)
        out[row][ndimage.binary_dilation(gone, iterations=3) & (marks != mine)] = floor[row, 0]
    return out


def _profiles(grid: Grid, path: F64, normal: F64, u: F64, spread_mm: float = 0.0) -> F64:
    """Light (points, len(u)) across the path; averaged along it over ``spread_mm``."""
    tangent = np.column_stack([normal[:, 1], -normal[:, 0]])
    lines = 1 if spread_mm == 0 else 5
    total = np.zeros((len(path), len(u)))
    for k in range(lines):
        along = 0.0 if lines == 1 else (k / (lines - 1) - 0.5) * spread_mm
        at = (path + along * tangent)[:, None, :] + u[None, :, None] * normal[:, None, :]
        where = grid.index(at[:, :, 0], at[:, :, 1])
        total += ndimage.map_coordinates(grid.light, where, order=1, mode="nearest")
    return total / lines


def _sharper(light: F64, u: F64, half: float) -> tuple[F64, F64, F64]:
    """Place of the sharper side of each profile (nan where there is none), log ratio of slopes, and its step."""
    slope = np.gradient(light, u, axis=1)
    inner = np.abs(u) < half - 0.2
    up, down = np.where(inner, slope, 0.0), np.where(inner, -slope, 0.0)
    a, b = up.argmax(1), down.argmax(1)
    rows = np.arange(len(light))
    steep_up, steep_down = up[rows, a], down[rows, b]
    ratio = np.log(np.maximum(steep_up, 1e-9) / np.maximum(steep_down, 1e-9))
    sharper = _even(ratio, 21)
    at = np.where(sharper > ALIKE, u[a], np.where(sharper < -ALIKE, u[b], 0.5 * (u[a] + u[b])))
    step = light.max(1) - np.quantile(light, 0.2, axis=1)
    noise = 1.4826 * np.median(np.abs(np.diff(light, axis=1)))
    at = np.where(step > 6 * noise + 1e-4, at, np.nan)
    return at, sharper, step


def _even(values: F64, many: int) -> F64:
    """Running median, then mean, over about ``many`` neighbours."""
    many = max(1, min(many, len(values) // 2 * 2 - 1))
    return np.asarray(
        ndimage.uniform_filter1d(ndimage.median_filter(values, many, mode="nearest"), many, mode="nearest")
    )


def fine_foot(sheet: Sheet, path: F64) -> Foot:
    """The foot at full resolution along a rough foot, read in small windows."""
    path = resampled(_longer(path, BEYOND_MM), SPACING_MM)
    n = normals(path)
    pitch = max(FINE_MM, sheet.pitch_x, sheet.pitch_y)
    u = np.arange(-NEAR_MM, NEAR_MM + 1e-9, min(0.5 * pitch, 0.02))
    light = np.empty((len(path), len(u)))
    s = arc_length(path)
    room = NEAR_MM + 1.0
    for a in np.arange(0.0, s[-1] + 1e-9, TILE_MM):
        rows = np.nonzero((s >= a) & (s < a + TILE_MM))[0]
        if len(rows) == 0:
            continue
        p = path[rows]
        grid = sheet.window(
            (p[:, 0].min() - room, p[:, 0].max() + room),
            (p[:, 1].min() - room, p[:, 1].max() + room),
            FINE_MM,
        )
        light[rows] = _profiles(grid, p, n[rows], u, SPACING_MM)
    return _edges(light, u, path, n, pitch)


def _longer(path: F64, more_mm: float) -> F64:
    """A path carried on straight at both ends, so that where the film ends can be seen."""
    back = max(1, min(len(path) - 1, 6))
    head, tail = path[0] - path[back], path[-1] - path[-1 - back]
    head, tail = (more_mm * v / max(float(np.hypot(*v)), 1e-9) for v in (head, tail))
    return np.vstack([path[0] + head, path, path[-1] + tail])


def _edges(light: F64, u: F64, path: F64, n: F64, pitch: float) -> Foot:
    step_u = u[1] - u[0]
    soft = ndimage.gaussian_filter1d(light, max(0.5 * pitch, 0.03) / step_u, axis=1)
    slope = np.gradient(soft, step_u, axis=1)
    inner = np.abs(u) < NEAR_MM - 0.15
    up, up_steep = _top(np.where(inner, slope, -np.inf), u)
    down, down_steep = _top(np.where(inner, -slope, -np.inf), u)
    ratio = _even(np.log(np.maximum(up_steep, 1e-9) / np.maximum(down_steep, 1e-9)), 25)
    side = np.where(ratio > ALIKE, 1.0, np.where(ratio < -ALIKE, -1.0, 0.0))
    at = np.where(side > 0, up, np.where(side < 0, down, 0.5 * (up + down)))
    line = np.abs(ratio) <= ALIKE
    wide = float(np.median((down - up)[line])) if line.sum() >= 8 else None
    wide = wide if wide is not None and 0.03 < wide < 0.8 else None
    strength = soft.max(1) - np.quantile(soft, 0.15, axis=1)
    floor = np.quantile(soft, 0.1, axis=1, keepdims=True)
    bright = np.clip((soft - floor) / np.maximum(strength[:, None], 1e-9), 0, 1)
    lean = ((bright > 0.1) * np.sign(u - at[:, None])).sum(1) * step_u
    return Foot(path + at[:, None] * n, n, side, strength, wide, lean)


def _top(values: F64, u: F64) -> tuple[F64, F64]:
    """Place and height of each row's greatest value, between the samples by a parabola."""
    k = np.clip(values.argmax(1), 1, len(u) - 2)
    rows = np.arange(len(values))
    a, b, c = values[rows, k - 1], values[rows, k], values[rows, k + 1]
    with np.errstate(invalid="ignore", divide="ignore"):
        part = 0.5 * (a - c) / (a - 2 * b + c)
    part = np.where(np.isfinite(part), np.clip(part, -1, 1), 0.0)
    return u[k] + part * (u[1] - u[0]), b
