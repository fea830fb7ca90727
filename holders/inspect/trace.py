"""The best waves of a level, each followed into the tiles around it.

Rings go on into the next tile with the frequency that the chirp foretells; noise and texture do not. What is summed up
along the way is the evidence.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from holders.inspect.bands import F32
from holders.inspect.candidates import Survey, survey, tiles_of
from holders.inspect.chirp import LEAST, MOST, SIDE, Form, Grid, slope_of, spread, starts
from holders.inspect.fit import NO_CUBE, Fitter, Pair, Wave

NEAR = 3.0  # bins about the foretold frequency that are looked at first
GOES_ON = 11.0  # a tile's worth with which the wave is followed further
MOST_TILES = 14
SEEDS = 24  # best tiles of a level that are fitted, or more:
SEED_SHARE = 3  # one tile in so many
FOLLOWED = 3  # best fitted ones that are followed


def traces(field: F32, fitter: Fitter, forms: tuple[Form, ...]) -> list[list[Wave]]:
    """The best waves of one level with their continuations; ``field`` of ``bands.planes``."""
    seen = survey(field[:3], fitter.grid, forms)
    top = seen.value.max(axis=0)
    seeds = []
    for i in np.argsort(-top)[: max(SEEDS, len(top) // SEED_SHARE)]:
        row, col = seen.places[i]
        tile = tiles_of(field, [(row, col)])[0]
        seeds += [
            fitter.fit(tile, row, col, f, form) for f, form in _two_best(seen, fitter.grid, forms, int(i))
        ]
    seeds.sort(key=lambda w: -w.worth)
    chosen: list[Wave] = []
    for wave in seeds:
        if len(chosen) < FOLLOWED and (wave.row, wave.col) not in {(w.row, w.col) for w in chosen}:
            chosen.append(wave)
    return [followed(field, fitter, w) for w in chosen]


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


def followed(field: F32, fitter: Fitter, first: Wave) -> list[Wave]:
    """The wave and its continuations in neighbouring tiles, strongest front first."""
    places = [(r, c) for r in starts(field.shape[1]) for c in starts(field.shape[2])]
    tile = field[:, first.row : first.row + SIDE, first.col : first.col + SIDE]
    first = fitter.fit(tile, first.row, first.col, (first.fx, first.fy), first.form, first.cube)
    known = {(first.row, first.col): first}
    asked = {(first.row, first.col)}
    front = [first]
    while front and len(asked) < MOST_TILES:
        front.sort(key=lambda w: w.worth)
        here = front.pop()
        for row, col in places:
            shift = np.array([col - here.col, row - here.row], float)
            if (row, col) in asked or np.abs(shift).max() > SIDE / 2 or len(asked) >= MOST_TILES:
                continue
            asked.add((row, col))
            wave = _continued(field, fitter, here, row, col, shift)
            if wave is not None:
                known[row, col] = wave
                if wave.worth >= GOES_ON:
                    front.append(wave)
    return list(known.values())


def _continued(
    field: F32, fitter: Fitter, here: Wave, row: int, col: int, shift: NDArray[np.float64]
) -> Wave | None:
    """The wave that goes on into the tile ``shift`` px away with the frequency that the chirp foretells."""
    grid = fitter.grid
    fx, fy = np.array([here.fx, here.fy]) + slope_of(here.form) @ shift
    if np.hypot(fx, fy) > 1.1 * MOST or fx**2 + fy**2 + spread(here.form) < (0.9 * LEAST) ** 2:
        return None
    near = np.nonzero(np.hypot(grid.fx - fx, grid.fy - fy) * SIDE < NEAR)[0]
    if len(near) == 0:
        return None
    tile = field[:, row : row + SIDE, col : col + SIDE]
    joint = grid.joint(tile[None], here.form, near)[0]
    at = near[int(joint.argmax())]
    return fitter.fit(tile, row, col, (float(grid.fx[at]), float(grid.fy[at])), here.form, NO_CUBE)
