"""Detail energy of a scan, per place along the slope and per spatial frequency.

The scan is cut into *cells*: ``rows`` pixels across the slope and ``block`` pixels along it, half overlapping along
it, each under a Hann window (Welch's averaged periodogram; P. D. Welch, IEEE Trans. Audio Electroacoust. 15, 70
(1967), from memory). The power spectrum of a cell, divided by the square of its mean level, is summed into
*features*: rings of spatial frequency, each in two classes. ``line`` holds the frequencies square to the ruling
(found from the scan itself, so a turned target does no harm) where a ruling has nearly all its energy and dust and
scratches have hardly any; ``field`` holds the rest, where grain has nearly all of its own.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
F32 = NDArray[np.float32]

MAX_TURN = 0.21  # tangent: 10 degrees and a little
LINE_HALF_WIDTH = 1.5  # frequency bins: the main lobe of the Hann window is two bins to either side
LOWEST_BIN = 2.5  # what lies below is leakage of the mean and of slow shading


@dataclass(frozen=True)
class Cells:
    """How a scan is cut: pixels along and across the slope per cell, pixel pitch (mm), step between cells (pixels).

    The step need not be whole: on a ruling it is a whole number of ticks, so that every cell sees the ticks alike.
    """

    block: int
    rows: int
    pitch_mm: float
    hop: float

    def count(self, length: int) -> int:
        """How many cells fit into ``length`` pixels."""
        return max(0, int((length - self.block) / self.hop) + 1)

    def starts(self, first: int, last: int) -> NDArray[np.int64]:
        """First pixels of cells ``first`` .. ``last`` - 1."""
        return np.asarray(np.floor(np.arange(first, last) * self.hop + 0.5), dtype=np.int64)

    def centres(self, length: int) -> F64:
        """Positions of the cells' middles in pixels from the first edge, shape (count,)."""
        return np.asarray(self.starts(0, self.count(length)) + self.block / 2.0)


def hann(n: int) -> F32:
    """Hann window, periodic, shape (n,)."""
    return (0.5 - 0.5 * np.cos(2.0 * np.pi * (np.arange(n) + 0.5) / n)).astype(np.float32)


def cell_power(strip: F32, cells: Cells, starts: NDArray[np.int64]) -> tuple[F32, F32, F32]:
    """Relative power spectra of one strip of cells.

    Parameters
    ----------
    strip:
        Light as a fraction of full scale, shape (cells.rows, length).
    starts:
        First pixel of each cell in the strip.

    Returns
    -------
    power, mean, offset:
        ``power`` (count, rows, block/2 + 1): density such that white noise of relative variance v gives v in every
        bin; ``mean`` (count,): mean level under the window; ``offset`` (count,): by how many pixels the middle of the
        detail lies behind the middle of the cell (a tick is rarely just in the middle).
    """
    from scipy import fft  # noqa: PLC0415 - ten times as quick as numpy's on many small blocks

    window = hann(cells.rows)[:, None] * hann(cells.block)[None, :]
    view = np.lib.stride_tricks.sliding_window_view(strip, cells.block, axis=1)
    blocks = np.moveaxis(view[:, starts], 1, 0).copy()
    flat = blocks.reshape(len(blocks), -1)
    mean = flat @ window.ravel() / window.sum()
    blocks -= mean[:, None, None]
    # a slope of light along the cell would leak into the lowest rings
    run = np.arange(cells.block, dtype=np.float32) + np.float32(0.5 - cells.block / 2)
    lean = flat @ (window * run).ravel() / (window @ (run * run)).sum()
    blocks -= lean[:, None, None] * run
    blocks *= window
    # edges hold what blur takes away, so they say where the detail lies
    edges = np.diff(blocks, axis=2)
    energy = np.einsum("nij,nij->nj", edges, edges)
    offset = energy @ (run[:-1] + np.float32(0.5))
    offset /= np.maximum(energy.sum(axis=1), 1e-30)
    spectrum = fft.rfft2(blocks, axes=(1, 2))
    power = spectrum.real**2 + spectrum.imag**2
    safe = np.maximum(mean, 1e-4).astype(np.float32)
    power *= (1.0 / (float((window**2).sum()) * safe**2))[:, None, None]
    return power, mean, offset


@dataclass(frozen=True)
class Features:
    """Which bins of a cell's spectrum make which feature.

    ``weights`` (rows * (block/2 + 1), n): averaging matrix; ``frequency`` (n,) lp/mm; ``is_line`` (n,);
    ``bins`` (n,) how many bins each one averages; ``turn`` the tangent of the ruling's turn.
    """

    weights: F32
    frequency: F64
    is_line: NDArray[np.bool_]
    bins: NDArray[np.int64]
    turn: float


def frequencies(cells: Cells) -> tuple[F64, F64]:
    """Frequencies of the bins in cycles per pixel: across (rows, 1) and along (1, block/2 + 1)."""
    fy, fx = np.fft.fftfreq(cells.rows), np.fft.rfftfreq(cells.block)
    return np.asarray(fy[:, None], dtype=float), np.asarray(fx[None, :], dtype=float)


FINE_RINGS, COARSE_RINGS = 14, 7


def make_features(cells: Cells, turn: float, *, ruled: bool) -> Features:
    """Rings of frequency, evenly spaced in its logarithm.

    For a ruling, fine rings on its line and coarse ones beside it; for a texture, fine rings of everything. Fine ones,
    since the blur of one height ends detail at quite definite frequencies, and where it does tells most.
    """
    fy, fx = frequencies(cells)
    radial = np.hypot(fx, fy)
    # bins that hold slow shading or edges that run along the slope carry nothing about sharpness
    usable = (fx * cells.block >= LOWEST_BIN - 1.0) & (radial * cells.block >= LOWEST_BIN) & (radial <= 0.5)
    line = np.abs(fy + turn * fx) * cells.rows <= LINE_HALF_WIDTH
    low = max(LOWEST_BIN / cells.block, min(0.7 * cells.pitch_mm, 0.05))
    columns, centre, is_line, bins = [], [], [], []
    classes = (
        [(True, line, FINE_RINGS), (False, ~line, COARSE_RINGS)] if ruled else [(False, usable, FINE_RINGS)]
    )
    for kind, where, rings in classes:
        for a, b in itertools.pairwise(np.geomspace(low, 0.46, rings + 1)):
            pick = usable & where & (radial >= a) & (radial < b)
            n = int(pick.sum())
            if n < 3:
                continue
            columns.append(pick.ravel() / n)
            centre.append(float(np.mean(np.broadcast_to(radial, pick.shape)[pick])) / cells.pitch_mm)
            is_line.append(kind)
            bins.append(n)
    return Features(
        np.asarray(columns, np.float32).T.copy(),
        np.asarray(centre),
        np.asarray(is_line),
        np.asarray(bins),
        turn,
    )


def find_turn(mean_power: F64, cells: Cells) -> tuple[float, float]:
    """Turn of a ruling from the mean spectrum of many cells.

    Returns the tangent of the turn, and how many times more power its line holds than the same bins' share of the
    rest (about 1 for grain). Positive: ticks lean so that they run to the right going down the rows.
    """
    fy, fx = frequencies(cells)
    radial = np.hypot(fx, fy)
    inside = (fx * cells.block >= LOWEST_BIN) & (radial <= 0.3)
    # each ring whitened, so that the falling spectrum does not decide
    ring = np.clip((radial * cells.block).astype(int), 0, cells.block)
    total = np.bincount(ring.ravel(), (mean_power * inside).ravel(), cells.block + 1)
    count = np.bincount(ring.ravel(), np.broadcast_to(inside, ring.shape).ravel(), cells.block + 1)
    white = np.where(inside, mean_power / np.maximum(total / np.maximum(count, 1), 1e-30)[ring], 0.0)
    turns = np.linspace(-MAX_TURN, MAX_TURN, 127)
    share = []
    for t in turns:
        weight = np.clip(1.0 - np.abs(fy + t * fx) * cells.rows / 2.0, 0.0, None) * inside
        share.append(float((white * weight).sum() / max(weight.sum(), 1e-30)))
    best = int(np.argmax(share))
    turn = float(turns[best])
    if 0 < best < len(turns) - 1:
        a, b, c = share[best - 1 : best + 2]
        bend = a - 2.0 * b + c
        turn += float((turns[1] - turns[0]) * 0.5 * (a - c) / bend) if bend < 0 else 0.0
    rest = float(white[inside & (np.abs(fy + turn * fx) * cells.rows > 3.0)].mean())
    return turn, float(share[best] / max(rest, 1e-30))
