"""Moves of many places of the film between two scans, from coarse to fine."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.surface.opening import Opening
from holders.measure.surface.reading import FULL, Picture, shrunk
from holders.measure.surface.register import MARGIN, Moves, register
from holders.measure.surface.search import Moves2D, Trend, block_moves, detail, trend, whole_move

F64 = NDArray[np.float64]

COARSE_CELLS = 640  # along the film's long side
MOST_WINDOWS = 2400
BATCH = 64
SIDE, SMALL_SIDE = 64, 40  # px of a window
LIP_MM = 0.6  # blur and shade of the lip, kept out of the windows
LEAST_LIKENESS = 0.25
MOST_SIGMA_PX = 0.4
FLOOR_PX = 0.004  # what interpolation leaves, measured on pictures without noise
LEAST_PEAK = 9.0
LEAST_BLOCKS = 4


class _NoRoomError(InputError):
    """No window of a level's pixels lies within the film in both scans."""


def coarse_factor(picture: Picture, opening: Opening) -> int:
    """Pixels of a side that become one cell of the coarse picture."""
    left, right, top, bottom = opening.box
    return max(1, int(max(right - left, bottom - top) / COARSE_CELLS / picture.pitch_mm[0]))


def coarse_moves(
    first: Picture,
    second: Picture,
    openings: tuple[Opening, Opening],
    expected: tuple[float, float] | None,
    reach_mm: float,
) -> Moves2D:
    """Moves of blocks of the film, good to a cell.

    Raises
    ------
    InputError
        Nothing of the first scan's film is found in the second.
    """
    factor = coarse_factor(first, openings[0])
    pitch = (first.pitch_mm[0] * factor, first.pitch_mm[1] * factor)
    a = detail(shrunk(first.light, factor), openings[0], pitch)
    b = detail(shrunk(second.light, factor), openings[1], pitch)
    u, v, peak = whole_move(a, b, pitch, expected, reach_mm)
    if peak < LEAST_PEAK:
        raise _other_film(second)
    left, right, top, bottom = openings[0].box
    found = block_moves(
        a, b, pitch, openings[0], (u, v), 0.012 * max(right - left, bottom - top) + 4 * max(pitch)
    )
    if len(found.x) >= LEAST_BLOCKS:
        return found
    # soft detail stands out of no block by itself: all of it together did
    x, y = np.array([left, right, left, right]), np.array([top, top, bottom, bottom])
    size = np.full(4, max(pitch))
    return Moves2D(x, y, np.full(4, u), np.full(4, v), size, size)


def fine_moves(
    first: Picture,
    second: Picture,
    openings: tuple[Opening, Opening],
    start: Trend,
    progress: Callable[[float], None],
) -> tuple[Moves2D, Moves2D]:
    """Moves measured at full resolution where the film shows detail; and those of the last coarser level."""
    factor = coarse_factor(first, openings[0])
    guess, last = start, None
    while factor > 1:
        try:
            last = _level(first, second, openings, guess, factor, lambda _: None)
        except _NoRoomError:
            last = None  # windows of so coarse pixels are too wide for this film
        if last is not None and len(last.x) >= 12:
            guess = trend(last, openings[0], 6 if factor <= 4 else 3, guess)
        factor = max(1, factor // 3) if factor > 3 else 1
    fine = _level(first, second, openings, guess, 1, progress)
    if len(fine.x) < LEAST_BLOCKS:
        raise _other_film(second)
    return fine, fine if last is None else last


def _other_film(second: Picture) -> InputError:
    return InputError(
        "SCAN", second.path, "the film of the first scan is not found in it; scan the same film twice, with the "
        "holder moved across the bed in between, both with detail that can be seen"
    )  # fmt: skip


def _level(
    first: Picture, second: Picture, openings: tuple[Opening, Opening], guess: Trend, factor: int,
    progress: Callable[[float], None],
) -> Moves2D:  # fmt: skip
    pitch = (first.pitch_mm[0] * factor, first.pitch_mm[1] * factor)
    a = first.light if factor == 1 else shrunk(first.light, factor)
    b = second.light if factor == 1 else shrunk(second.light, factor)
    side = _side(openings[0], pitch)
    x, y = window_places(openings[0], pitch, side)
    u, v = guess(x, y)
    half = side / 2 * max(pitch)
    col, row = np.rint(x / pitch[0] - side / 2).astype(int), np.rint(y / pitch[1] - side / 2).astype(int)
    du, dv = np.rint(u / pitch[0]).astype(int), np.rint(v / pitch[1]).astype(int)
    keep = openings[1].inside(x + u, y + v, half + LIP_MM)
    keep &= _within(a.shape, row, col, side) & _within(
        b.shape, row + dv - MARGIN, col + du - MARGIN, side + 2 * MARGIN
    )
    row, col, du, dv = row[keep], col[keep], du[keep], dv[keep]
    if not len(row):
        raise _NoRoomError(
            "SCAN", second.path, "nothing of the film is seen in both scans; move the holder less far"
        )
    results: list[Moves] = []
    for k in range(0, len(row), BATCH):
        part = slice(k, k + BATCH)
        results.append(
            register(
                _windows(a, row[part], col[part], side),
                _windows(b, row[part] + dv[part] - MARGIN, col[part] + du[part] - MARGIN, side + 2 * MARGIN),
            )
        )
        progress(min(1.0, (k + BATCH) / len(row)))
    return _gathered(results, (row, col, du, dv), pitch, side)


def _gathered(
    results: list[Moves], places: tuple[NDArray[np.int64], ...], pitch: tuple[float, float], side: int
) -> Moves2D:
    row, col, du, dv = places
    u, v, su, sv, like = (
        np.concatenate([getattr(r, name) for r in results])
        for name in ("u", "v", "sigma_u", "sigma_v", "likeness")
    )
    settled = np.concatenate([r.settled for r in results])
    found = Moves2D(
        x=np.asarray((col + side / 2) * pitch[0]),
        y=np.asarray((row + side / 2) * pitch[1]),
        u=np.asarray((u + du) * pitch[0]),
        v=np.asarray((v + dv) * pitch[1]),
        sigma_u=np.hypot(su, FLOOR_PX) * pitch[0],
        sigma_v=np.hypot(sv, FLOOR_PX) * pitch[1],
    )
    return found.at(settled & (like > LEAST_LIKENESS) & (su < MOST_SIGMA_PX))


def _side(opening: Opening, pitch: tuple[float, float]) -> int:
    left, right, top, bottom = opening.box
    count = (right - left) * (bottom - top) / (0.75 * SIDE * pitch[0]) ** 2
    return SIDE if count >= 500 else SMALL_SIDE


def window_places(opening: Opening, pitch: tuple[float, float], side: int) -> tuple[F64, F64]:
    """Centres of the windows, mm: rows and columns of a grid inside the opening, the outer ones close to its sides."""
    left, right, top, bottom = opening.box
    margin = side / 2 * max(pitch) + LIP_MM
    wide, high = right - left - 2 * margin, bottom - top - 2 * margin
    if wide <= 0 or high <= 0:
        return np.zeros(0), np.zeros(0)
    step = max(0.75 * side * pitch[0], float(np.sqrt(wide * high / MOST_WINDOWS)))
    nx, ny = max(2, int(wide / step) + 1), max(2, int(high / step) + 1)
    p, q = np.meshgrid(np.linspace(0, 1, nx), np.linspace(0, 1, ny))
    x = left + margin + p * wide
    y = top + margin + q * high
    keep = opening.inside(x, y, margin - 0.25)
    return x[keep], y[keep]


def _within(
    shape: tuple[int, ...], row: NDArray[np.int64], col: NDArray[np.int64], side: int
) -> NDArray[np.bool_]:
    return (row >= 0) & (col >= 0) & (row + side <= shape[0]) & (col + side <= shape[1])


def _windows(
    a: NDArray[np.generic], row: NDArray[np.int64], col: NDArray[np.int64], side: int
) -> NDArray[np.float32]:
    out = np.empty((len(row), side, side), np.float32)
    for k, (r, c) in enumerate(zip(row, col, strict=True)):
        out[k] = a[r : r + side, c : c + side]
    out /= np.float32(FULL)
    return out
