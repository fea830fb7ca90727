"""What a traced wave is worth as evidence of rings, and what the picture does by chance.

Whatever a picture does by chance it does just as well for wavelengths in the wrong order (the red channel's fringes
finer than the blue's, which no film makes). Strong rings show a little in the wrong order too, but then the right order
says more in the same tiles; only what it does not say there counts as chance.
"""

from __future__ import annotations

from holders.inspect.bands import F32
from holders.inspect.candidates import survey, tiles_of
from holders.inspect.chirp import even
from holders.inspect.fit import Fitter, Wave, paired
from holders.inspect.trace import two_best

LEAST_EVIDENCE = 27.0
WRONG_ORDER = 1.6  # the right order must find so much more than the wrong one, whatever it finds
OF_NOISE = 13.0  # evidence that fitting a tile of noise gives
TILES = 8  # the best so many count
WORTH_ASKING = 12.0  # chance below it cannot change the answer


def needed(by_chance: float) -> float:
    """Evidence that rings must give where the wrong order of colours gives ``by_chance``."""
    return max(LEAST_EVIDENCE, WRONG_ORDER * by_chance)


def beyond_noise(wave: Wave) -> float:
    """Evidence of one tile beyond what noise gives."""
    return max(0.0, wave.evidence - OF_NOISE)


def said(wave: Wave) -> float:
    """Evidence beyond what noise gives, weighed by how the channels pair."""
    return beyond_noise(wave) * wave.apart


def followed_far(waves: list[Wave]) -> float:
    """Evidence of a wave and its best continuations, weighed by how the channels pair in each tile and in all."""
    best = sorted(waves, key=lambda w: -beyond_noise(w) * (0.3 + w.apart))[:TILES]
    best = [w for w in best if beyond_noise(w) > 0]
    together = paired(best) if best else 0.0
    return sum(beyond_noise(w) * (w.apart + together) / 2 for w in best)


def by_chance(field: F32, waves: list[Wave], right: Fitter) -> float:
    """What a trace in the wrong order says beyond the best that the right order finds in the same tiles."""
    plain = sorted((said(w) for w in waves), reverse=True)[:TILES]
    if sum(plain) < WORTH_ASKING:
        return sum(plain)
    seen = survey(field, right.grid, [(w.row, w.col) for w in waves])
    left = []
    for i, wave in enumerate(waves):
        tile = tiles_of(field, [(wave.row, wave.col)])[0]
        tries = [(f, even(chirp)) for f, chirp in two_best(seen, right.grid, i)]
        tries.append(((wave.fx, wave.fy), wave.form))
        other = max(said(right.fit(tile, wave.row, wave.col, f, form)) for f, form in tries)
        left.append(max(0.0, said(wave) - other))
    return sum(sorted(left, reverse=True)[:TILES])
