"""Blocks gathered into cells, and how well each blur explains a cell's spectrum.

A cell's spectrum is taken to be (grain + picture content) through lens and defocus, plus noise: four amounts, none
negative, fitted for every core and every defocus of the model. What is left over is the evidence.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.blur.blocks import BLOCK, BlockSpectra
from holders.measure.finished.blur.transfer import CRISP
from holders.measure.scan.spectra import F64

MOST_CELLS = 13  # along the long side
LEAST_HOPS = 4  # side of a cell, in blocks
LEAST_BLOCKS = 6
DARK_STEPS = 6.0  # levels of the file: below, its steps are no noise
MODEL_ERROR = 0.05  # relative; film and pictures are no power laws
SWEEPS = 120  # of coordinate descent; leaves less than 1 of the sum of squares (against scipy's nnls)


@dataclass(frozen=True)
class Cells:
    """Those cells of an even grid that hold enough blocks.

    ``power`` (n, rings) mean spectrum; ``many`` (n,) how many blocks of like weight carry it; ``row``, ``column`` (n,)
    place in the grid; ``at_mm`` (n, 2) where the blocks' own middle lies, x and y; ``x_mm``, ``y_mm`` middles of the
    grid's columns and rows.
    """

    power: F64
    many: F64
    row: NDArray[np.intp]
    column: NDArray[np.intp]
    at_mm: F64
    x_mm: F64
    y_mm: F64


def gather(
    found: BlockSpectra, pitch_mm: tuple[float, float], inside: tuple[float, float, float, float]
) -> Cells:
    """Cells over the lit area ``inside`` (left, top, right, bottom; mm); ``x_mm``, ``y_mm`` are the grid's middles."""
    x, y = found.x_px * pitch_mm[0], found.y_px * pitch_mm[1]
    half = BLOCK / 2 * found.pixel_mm
    wide, high = inside[2] - inside[0], inside[3] - inside[1]
    side = max(max(wide, high) / MOST_CELLS, LEAST_HOPS * found.hop_px * pitch_mm[0])
    columns, rows = max(1, round(wide / side)), max(1, round(high / side))
    dx, dy = wide / columns, high / rows
    good = found.usable & (found.level > DARK_STEPS * found.step)
    good &= (x - half >= inside[0]) & (x + half <= inside[2])
    good &= (y - half >= inside[1]) & (y + half <= inside[3])
    column = np.clip(((x - inside[0]) / dx).astype(int), 0, columns - 1)
    row = np.clip(((y - inside[1]) / dy).astype(int), 0, rows - 1)
    # blocks that overlap by more than half say the same again
    apart = min(1.0, (2 * found.hop_px / found.bin_px / BLOCK) ** 2)
    power, many, place, middle = [], [], [], []
    for j, i in np.ndindex(rows, columns):
        pick = np.flatnonzero(good & (row == j) & (column == i))
        if len(pick) < LEAST_BLOCKS:
            continue
        p = found.power[pick].astype(float)
        # blocks with edges and dust say least about the lens
        busy = p[:, :3].mean(axis=1) + p[:, -4:].mean(axis=1)
        weight = 1.0 / (busy + 0.5 * np.median(busy))
        weight /= weight.sum()
        power.append(weight @ p)
        many.append(apart / float((weight**2).sum()))
        place.append((j, i))
        middle.append((weight @ x[pick], weight @ y[pick]))
    at = np.asarray(place, dtype=np.intp).reshape(-1, 2)
    return Cells(
        power=np.asarray(power, float).reshape(len(at), found.power.shape[1]), many=np.asarray(many, float),
        row=at[:, 0], column=at[:, 1], at_mm=np.asarray(middle, float).reshape(-1, 2),
        x_mm=np.asarray(inside[0] + (np.arange(columns) + 0.5) * dx, float),
        y_mm=np.asarray(inside[1] + (np.arange(rows) + 0.5) * dy, float),
    )  # fmt: skip


def non_negative(gram: F64, right: F64) -> F64:
    """By how much least squares with no amount below nought lower the sum of squares, (n,); by coordinate descent.

    Parameters
    ----------
    gram:
        Normal matrices, (n, m, m).
    right:
        Right-hand sides, (n, m).
    """
    scale = np.sqrt(np.maximum(np.einsum("nii->ni", gram), 1e-300))
    a = np.ascontiguousarray((gram / scale[:, :, None] / scale[:, None, :]).transpose(1, 2, 0))
    b = np.ascontiguousarray((right / scale).T)
    x = np.zeros_like(b)
    rest = b.copy()  # b - a x
    for _ in range(SWEEPS):
        for i in range(len(b)):
            new = np.maximum(x[i] + rest[i], 0.0)
            change = new - x[i]
            x[i] = new
            rest -= a[:, i] * change
    return np.asarray((x * (b + rest)).sum(axis=0))


def misfits(cells: Cells, model: F64, bins: F64) -> tuple[F64, F64, F64]:
    """Sums of squares left over, each term of unit variance.

    If pictures are crisp (n, cores, steps), if they may be soft (n, cores, steps), and if there is noise alone (n,).
    Crisp: every picture holds detail to the finest frequency, falling as a power of it. Soft: a part of it may end
    earlier. Whatever explains a cell as crisp explains it as soft too, so the second is never the larger.
    """
    variance = 1.0 / (0.5 * cells.many[:, None] * bins) + MODEL_ERROR**2
    weight = 1.0 / (variance * cells.power**2)
    flat = model.reshape(-1, *model.shape[2:])
    n, m = len(cells.power), flat.shape[1]
    gram = np.einsum("nr,kabr->nkab", weight, np.einsum("kar,kbr->kabr", flat, flat), optimize=True)
    right = np.einsum("nr,kar->nka", weight * cells.power, flat, optimize=True)
    whole = (weight * cells.power**2).sum(axis=1)
    out = []
    for parts in ([*CRISP, m - 1], list(range(m))):
        gain = non_negative(
            gram[:, :, parts][:, :, :, parts].reshape(-1, len(parts), len(parts)),
            right[:, :, parts].reshape(-1, len(parts)),
        )
        out.append((whole[:, None] - gain.reshape(n, -1)).reshape(n, *model.shape[:2]))
    noise = right[:, 0, -1] ** 2 / gram[:, 0, -1, -1]
    return out[0], np.minimum(out[0], out[1]), whole - noise
