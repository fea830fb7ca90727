"""Candidate waves of one level: the best tiles, their shape, what their neighbours say, how the channels pair."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.rings.bands import F32, Field
from holders.measure.finished.rings.chirp import CHIRPS, SIDE, Form, Grid, Peak, even, scaled, starts

NEAR = 3.0  # bins: how far a neighbour's peak may lie from where the candidate's chirp puts it
REACH = SIDE  # px: neighbours asked
BLOCK = 8  # tiles transformed at once: what fits into a processor's cache
TURNS = (-9.0, -6.0, -3.0, 0.0, 3.0, 6.0, 9.0)  # rad: chirps tried around the round one, along and across

ROUND = tuple(even(chirp) for chirp in CHIRPS)

Place = tuple[int, int]


@dataclass(frozen=True)
class Vote:
    """What one tile near a candidate says.

    ``value`` at the predicted frequency; ``best`` the tile's own best value of all; ``radial`` its distance along the
    fringes' normal, px.
    """

    place: Place
    value: float
    best: float
    radial: float


@dataclass(frozen=True)
class Candidate:
    """A peak and what speaks for it.

    ``along``/``across`` chirp along the fringes' normal and along the fringes, rad at the middle of the tile's side;
    ``gain`` the peak over the best one without chirp along the normal; ``plain`` the best unchirped wave anywhere in
    the tile. The first vote is the candidate's own tile.
    """

    peak: Peak
    along: float
    across: float
    gain: float
    plain: float
    votes: tuple[Vote, ...]


@dataclass(frozen=True)
class Survey:
    """Best value (chirps, n) and its frequency's index of all tiles of a level, first pixels in ``places``."""

    places: list[Place]
    value: NDArray[np.float64]
    index: NDArray[np.int64]


def tile_of(field: Field, place: Place) -> F32:
    """The tile (channels, SIDE, SIDE) whose first pixel is at (row, column)."""
    row, col = place
    return field[:, row : row + SIDE, col : col + SIDE].astype(np.float32)


def tiles_of(field: Field, places: list[Place]) -> F32:
    """Tiles (n, channels, SIDE, SIDE) at first pixels (row, column)."""
    return np.stack([tile_of(field, place) for place in places])


def survey(field: Field, grid: Grid, forms: tuple[Form, ...] = ROUND) -> Survey:
    """Look at every tile with every form of chirp."""
    places = [(r, c) for r in starts(field.shape[1]) for c in starts(field.shape[2])]
    value = np.zeros((len(forms), len(places)))
    index = np.zeros((len(forms), len(places)), np.int64)
    for at in range(0, len(places), BLOCK):
        tiles = tiles_of(field, places[at : at + BLOCK])
        span = slice(at, at + len(tiles))
        for k, form in enumerate(forms):
            joint = grid.joint(tiles, form)
            index[k, span] = joint.argmax(axis=1)
            value[k, span] = joint[np.arange(len(tiles)), index[k, span]]
    return Survey(places, value, index)


def shaped(tile: F32, grid: Grid, peak: Peak) -> tuple[Peak, float, float, float]:
    """The peak with its chirp found apart along and across; those two; and its gain over none along."""
    n = np.array([peak.fx, peak.fy]) / np.hypot(peak.fx, peak.fy)
    base = peak.form[0]
    alongs = sorted({max(-6.0, base + d) for d in TURNS} | {0.0})
    acrosses = sorted({max(-6.0, base + d) for d in TURNS})
    near = np.nonzero(np.hypot(grid.fx - peak.fx, grid.fy - peak.fy) * SIDE < NEAR)[0]
    table = _values(tile, grid, peak, n, alongs, acrosses, near)
    i, j, k = np.unravel_index(int(table.argmax()), table.shape)
    none = table[[abs(a) <= 1.5 for a in alongs]].max()
    along, across = alongs[i], acrosses[j]
    m = along * np.outer(n, n) + across * (np.eye(2) - np.outer(n, n))
    at = int(near[k])
    found = replace(
        peak, form=(float(m[0, 0]), float(m[0, 1]), float(m[1, 1])), fx=float(grid.fx[at]), fy=float(grid.fy[at]),
        value=float(table[i, j, k]), at=at,
    )  # fmt: skip
    return found, along, across, float(table[i, j, k] / max(none, 1e-9))


def _values(
    tile: F32, grid: Grid, peak: Peak, n: NDArray[np.float64], alongs: list[float], acrosses: list[float],
    near: NDArray[np.int64],
) -> NDArray[np.float64]:  # fmt: skip
    """Joint value for each chirp along, chirp across and frequency; only the frequencies asked are transformed."""
    u = (n[0] * grid.x + n[1] * grid.y) ** 2
    v = (n[0] * grid.y - n[1] * grid.x) ** 2
    out = np.empty((len(grid.ratios), len(alongs), len(acrosses), len(near)))
    line = np.arange(SIDE)
    for c, ratio in enumerate(grid.ratios):
        around = grid.around(tile[c], scaled(peak.form, ratio), c, near)
        row, col = grid.bins[c][near] // SIDE, grid.bins[c][near] % SIDE
        rows, cols = np.unique(row), np.unique(col)
        down = np.exp(-2j * np.pi * np.outer(rows, line) / SIDE).astype(np.complex64)
        right = np.exp(-2j * np.pi * np.outer(line, cols) / SIDE).astype(np.complex64)
        pick = np.searchsorted(rows, row), np.searchsorted(cols, col)
        turned = [np.exp(np.complex64(-1j * a * ratio) * v) for a in acrosses]
        for i, a in enumerate(alongs):
            part = tile[c] * grid.window * np.exp(np.complex64(-1j * a * ratio) * u)
            for j, t in enumerate(turned):
                spectrum = (down @ (part * t) @ right)[pick]
                out[c, i, j] = np.abs(spectrum) ** 2 / around
    return np.asarray(out[0] if len(out) == 1 else np.sort(out, axis=0)[-2])


def votes(field: Field, seen: Survey, grid: Grid, peak: Peak) -> tuple[Vote, ...]:
    """What the candidate's own tile and those around it say."""
    slope = peak.slope()
    normal = np.array([peak.fx, peak.fy]) / np.hypot(peak.fx, peak.fy)
    asked, near, radial, best = [], [], [], []
    for i, (r, c) in enumerate(seen.places):
        shift = np.array([c - peak.col, r - peak.row], float)
        if np.abs(shift).max() > REACH:
            continue
        fx, fy = np.array([peak.fx, peak.fy]) + slope @ shift
        there = np.nonzero(np.hypot(grid.fx - fx, grid.fy - fy) * SIDE < NEAR)[0]
        if len(there) > 12 or (r, c) == (peak.row, peak.col):
            asked.append((r, c))
            near.append(there)
            radial.append(float(normal @ shift))
            best.append(float(seen.value[:, i].max()))
    union = np.unique(np.concatenate(near))
    tiles = tiles_of(field, asked)
    joint = grid.joint(tiles, peak.form, union)
    at = np.array([n[joint[k, np.searchsorted(union, n)].argmax()] for k, n in enumerate(near)])
    value = joint[np.arange(len(asked)), np.searchsorted(union, at)]
    out = [Vote(p, float(v), b, d) for p, v, b, d in zip(asked, value, best, radial, strict=True)]
    return tuple(sorted(out, key=lambda v: v.place != (peak.row, peak.col)))


def candidates(field: Field, grid: Grid, least_chirp: float, most: int) -> list[Candidate]:
    """The ``most`` best candidates of one level with at least that round chirp, one a tile, best peak first."""
    seen = survey(field, grid)
    allowed = [k for k, s in enumerate(CHIRPS) if s >= least_chirp]
    top = seen.value[allowed].max(axis=0)
    which = np.asarray(allowed)[seen.value[allowed].argmax(axis=0)]
    out = []
    for i in np.argsort(-top)[:most]:
        k = int(which[i])
        at = int(seen.index[k, i])
        row, col = seen.places[i]
        peak = Peak(row, col, even(CHIRPS[k]), float(grid.fx[at]), float(grid.fy[at]), float(top[i]), at)
        peak, along, across, gain = shaped(tiles_of(field, [seen.places[i]])[0], grid, peak)
        plain = float(seen.value[:2, i].max())
        out.append(Candidate(peak, along, across, gain, plain, votes(field, seen, grid, peak)))
    return out
