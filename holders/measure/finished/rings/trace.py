"""The best waves of a level, each followed into the tiles around it.

Rings go on into the next tile with the frequency that the chirp foretells; noise and texture do not. What is summed up
along the way is the evidence.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.rings.bands import Field
from holders.measure.finished.rings.candidates import Survey, survey, tile_of
from holders.measure.finished.rings.chirp import LEAST, MOST, SIDE, STEP, Form, Grid, spread
from holders.measure.finished.rings.fit import Fitter
from holders.measure.finished.rings.wave import NO_CUBE, Cube, Pair, Wave

NEAR = 3.0  # bins: nearer, and two waves are one
GOES_ON = 9.0  # a tile's worth with which the wave is followed further
ENOUGH = 0.6  # of the wave it comes from: more, and no other beginning is tried
MOST_TILES = 14
SEEDS = 24  # best tiles of a level that are fitted, or more:
SEED_SHARE = 3  # one tile in so many
NUDGED = 5  # best fitted ones that are moved to where they show best
NUDGE, ROUNDS = 32, 2  # px, times
ALONE = 48  # px from the next tile: less, and a tile at the border says hardly anything new
FOLLOWED = 3  # best fitted ones that are followed


def traces(field: Field, fitter: Fitter, forms: tuple[Form, ...]) -> list[list[Wave]]:
    """The best waves of one level with their continuations; ``field`` of ``bands.planes``."""
    seen = survey(field[:3], fitter.grid, forms)
    top = seen.value.max(axis=0)
    seeds = []
    for i in np.argsort(-top)[: max(SEEDS, len(top) // SEED_SHARE)]:
        row, col = seen.places[i]
        tile = tile_of(field, (row, col))
        seeds += [
            fitter.fit(tile, row, col, f, form) for f, form in _two_best(seen, fitter.grid, forms, int(i))
        ]
    seeds.sort(key=lambda w: -w.worth)
    placed = [nudged(field, fitter, w) for w in _apart(seeds, NUDGED)]
    placed.sort(key=lambda w: -w.worth)
    return [followed(field, fitter, w) for w in _apart(placed, FOLLOWED)]


def _apart(waves: list[Wave], most: int) -> list[Wave]:
    """The first waves that are not the same seen from half a step away."""
    chosen: list[Wave] = []
    for wave in waves:
        if len(chosen) < most and not any(wave.is_like(w, NUDGE, NEAR) for w in chosen):
            chosen.append(wave)
    return chosen


def nudged(field: Field, fitter: Fitter, wave: Wave) -> Wave:
    """The wave in the tile, of those half a step away, where it shows best; third order fitted."""
    wave = _fit(field, fitter, wave.row, wave.col, (wave.fx, wave.fy), wave.form, wave.cube)
    asked = {(wave.row, wave.col)}
    best = wave
    for _ in range(ROUNDS):
        here = best
        for dr, dc in ((0, 1), (1, 0), (0, -1), (-1, 0)):
            row = min(max(here.row + dr * NUDGE, 0), field.shape[1] - SIDE)
            col = min(max(here.col + dc * NUDGE, 0), field.shape[2] - SIDE)
            if (row, col) in asked:
                continue
            asked.add((row, col))
            f, form = here.moved(np.array([col - here.col, row - here.row], float))
            there = _fit(field, fitter, row, col, f, form, here.cube)
            best = max(best, there, key=lambda w: w.worth)
        if best is here:
            break
    return best


def _fit(field: Field, fitter: Fitter, row: int, col: int, f: Pair, form: Form, cube: Cube) -> Wave:
    return fitter.fit(tile_of(field, (row, col)), row, col, f, form, cube)


def _from(first: int, length: int) -> list[int]:
    """First pixels of tiles a step apart, one of them at ``first``, to both ends."""
    last = max(0, length - SIDE)
    out = [*range(first % STEP, first, STEP), *range(first, last + 1, STEP)]
    return [0] * (out[0] >= ALONE) + out + [last] * (last - out[-1] >= ALONE)


def _two_best(seen: Survey, grid: Grid, forms: tuple[Form, ...], tile: int) -> list[tuple[Pair, Form]]:
    """Frequency and chirp of a tile's best peak and of its best one elsewhere: what is strongest is often picture."""
    order = np.argsort(-seen.value[:, tile])
    out: list[tuple[Pair, Form]] = []
    for k in order:
        at = int(seen.index[k, tile])
        f = (float(grid.fx[at]), float(grid.fy[at]))
        # a wave and its mirror are the same
        far = all(
            min(np.hypot(f[0] - s * g[0], f[1] - s * g[1]) for s in (1, -1)) * SIDE > NEAR for g, _ in out
        )
        if far and len(out) < 2:
            out.append((f, forms[k]))
    return out


def followed(field: Field, fitter: Fitter, first: Wave) -> list[Wave]:
    """The wave and its continuations in neighbouring tiles, strongest front first."""
    rows, cols = _from(first.row, field.shape[1]), _from(first.col, field.shape[2])
    places = [(r, c) for r in rows for c in cols]
    known = {(first.row, first.col): first}
    asked = {(first.row, first.col)}
    front = [first]
    while front and len(asked) < MOST_TILES:
        front.sort(key=lambda w: w.steady)
        here = front.pop()
        for row, col in places:
            shift = np.array([col - here.col, row - here.row], float)
            if (row, col) in asked or np.abs(shift).max() > SIDE / 2 or len(asked) >= MOST_TILES:
                continue
            asked.add((row, col))
            wave = _continued(field, fitter, here, row, col, shift)
            if wave is not None:
                known[row, col] = wave
                if wave.steady >= GOES_ON:
                    front.append(wave)
    return list(known.values())


def _continued(
    field: Field, fitter: Fitter, here: Wave, row: int, col: int, shift: NDArray[np.float64]
) -> Wave | None:
    """The wave that goes on into the tile ``shift`` px away with the frequency that the chirp foretells."""
    tile = tile_of(field, (row, col))
    out: list[Wave] = []
    for cube in (here.cube, NO_CUBE):
        if out and out[0].steady >= ENOUGH * here.steady:
            break
        f, form = replace(here, cube=cube).moved(shift)
        if np.hypot(*f) > 1.1 * MOST or f[0] ** 2 + f[1] ** 2 + spread(form) < (0.9 * LEAST) ** 2:
            continue
        wave = fitter.fit(tile, row, col, f, form, cube, look=True)
        out.append(replace(wave, astray=here.between(wave)))
    return max(out, key=lambda w: w.steady) if out else None
