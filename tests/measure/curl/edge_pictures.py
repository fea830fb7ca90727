"""Small pictures of film stood on edge, for unit tests: perspective across the width, a wall that leaves focus."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

F64 = NDArray[np.float64]


def curve(pieces: Sequence[tuple[float, float]], turn: float = 0.0, step: float = 0.02) -> F64:
    """Points (n, 2), mm, of a line made of (length mm, curl per m) pieces, centred on the middle of its chord."""
    kappa = np.concatenate([np.full(round(length / step), curl / 1000) for length, curl in pieces])
    angle = np.cumsum(kappa) * step
    points = np.cumsum(np.column_stack([np.cos(angle), np.sin(angle)]), axis=0) * step
    chord = points[-1] - points[0]
    back = turn - np.arctan2(chord[1], chord[0])
    points = points @ np.array([[np.cos(back), np.sin(back)], [-np.sin(back), np.cos(back)]])
    return points - 0.5 * (points[0] + points[-1])


def scene(
    points: F64,
    *,
    size: tuple[float, float],
    at: tuple[float, float],
    dpi: float = 300.0,
    axis: float | None = None,
    tall: float = 80.0,
    thick: float = 0.18,
    wall: float = 0.25,
    edge: float = 0.5,
    fall: float = 12.0,
    lens: float = 320.0,
    noise: float = 0.004,
    ground: float = 0.03,
    dust: int = 0,
    seed: int = 1,
) -> NDArray[np.uint8]:
    """A grey picture (rows, columns), 8 bit. ``axis``: x of the middle of the bed's width; default the picture's."""
    rng = np.random.default_rng(seed)
    pitch = 25.4 / dpi
    cols, rows = round(size[0] / pitch), round(size[1] / pitch)
    middle = size[0] / 2 if axis is None else axis
    p = points + np.asarray(at)
    out = np.full((rows, cols), ground)
    fine = 3  # sub-pixels

    def splat(q: F64, amount: float, blur: float) -> None:
        where = np.floor(q[:, ::-1] * fine / pitch).astype(int)
        inside = ((where >= 0) & (where < (rows * fine, cols * fine))).all(1)
        box = np.zeros((rows * fine, cols * fine), np.float32)
        np.add.at(box, tuple(where[inside].T), 1.0)
        box = np.minimum(box, 1.0).reshape(rows, fine, cols, fine).mean(axis=(1, 3))
        out[...] = out + amount * ndimage.gaussian_filter(box, blur / pitch)

    tangent = np.gradient(p, axis=0)
    tangent /= np.hypot(*tangent.T)[:, None]
    normal = np.column_stack([-tangent[:, 1], tangent[:, 0]])
    sub = pitch / fine
    for off in np.arange(-thick / 2, thick / 2, sub / 2):
        splat(p + off * normal, edge * min(1.0, sub / 2 / thick * max(1, thick / sub)) * 0.7, 0.05)
    z = 0.25
    while z < min(tall, 3 * fall):
        dz = 0.5 * (1 + z / 10)
        moved = p.copy()
        moved[:, 0] = middle + (p[:, 0] - middle) * lens / (lens + z)
        away = np.abs(p[:, 0] - middle) / (lens + z) * np.abs(normal[:, 0])
        # a wall seen at a slant gives light by the width it is drawn with
        width = float(np.median(away)) * dz
        splat(moved, wall * np.exp(-z / fall) * min(1.0, max(width / sub, 0.02)), 0.05 + 0.02 * z)
        z += dz
    for _ in range(dust):
        y, x = rng.integers(4, rows - 4), rng.integers(4, cols - 4)
        r = rng.uniform(0.05, 0.3) / pitch
        yy, xx = np.ogrid[-4:4, -4:4]
        out[y - 4 : y + 4, x - 4 : x + 4] += rng.uniform(0.1, 0.6) * np.exp(-(yy**2 + xx**2) / (2 * r * r))
    out += noise * rng.standard_normal(out.shape)
    return np.asarray(np.clip(255 * out + 0.5, 0, 255), np.uint8)


def save(path: Path, picture: NDArray[np.uint8], dpi: float = 300.0) -> Path:
    """Write it as TIFF with its resolution."""
    import tifffile

    tifffile.imwrite(path, picture, resolution=(dpi, dpi), resolutionunit="INCH")
    return path
