"""Rings that show in one channel alone: a wave that its colour has beside the others, whose pitch changes evenly.

A narrow lamp in one colour, or a tone curve that flattens the others, leaves fringes in one channel only. What the
channels share is taken out first (``bands.unmixed``), and with it nearly all of a picture; the two other channels alone
(``bands.pair_left``) may hold no wave as strong in that place: fringes in several channels are the business of
``rings._by_colour``, and one pitch in all of them is picture.
"""

from __future__ import annotations

from dataclasses import dataclass

from holders.measure.finished.rings.bands import Field
from holders.measure.finished.rings.candidates import ROUND, Candidate, candidates, tile_of
from holders.measure.finished.rings.chirp import Grid, grid_of
from holders.measure.finished.rings.levels import Level, amplitude

LEAST_CHIRP = 6.0
MOST_CANDIDATES = 4  # of each channel and octave
OTHERS = 0.5  # of the wave's own value: what the two other channels may hold in its place
ALONE = (1.0,)


@dataclass(frozen=True)
class Single:
    """A wave in channel ``channel`` (0, 1, 2) of an octave; ``strength`` its amplitude there, log of light."""

    level: Level
    channel: int
    candidate: Candidate
    strength: float


def singles(level: Level) -> list[Single]:
    """Waves of one octave of a colour picture that one channel holds and the others do not."""
    grid = grid_of(ALONE)
    found = []
    for channel in range(3):
        for c in candidates(level.field[channel : channel + 1], grid, LEAST_CHIRP, MOST_CANDIDATES):
            p = c.peak
            rest = level.field[3 + 2 * channel : 5 + 2 * channel]
            if _any_wave(rest, (p.row, p.col), grid, OTHERS * p.value):
                continue
            one = Level(
                level.band[channel : channel + 1], level.field, level.frame, level.pitch_mm, level.margin
            )
            strength = amplitude(one, p.row, p.col, (p.fx, p.fy), p.form, ALONE, grid)
            found.append(Single(level, channel, c, strength))
    return found


def _any_wave(field: Field, place: tuple[int, int], grid: Grid, least: float) -> bool:
    """Whether one of the planes holds a wave of more than that value in one tile."""
    tiles = tile_of(field, place)[:, None]
    return any(float(grid.joint(tiles, form).max()) > least for form in ROUND)
