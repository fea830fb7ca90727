"""Newton's rings in a scan: are there any, how strong, where; with what was seen that speaks for them.

Two kinds of evidence, and the result says which was used:

``colour``
    The wave has in each channel the frequency that the channel's wavelength demands, and the channels do not move at
    each other's frequencies. Picture content does neither.
``grey``
    One channel only: a wave whose pitch changes evenly along its normal, in a tile and in those around it. Grain, roof
    tiles, wood and ripples can come close to that, so the threshold is high and weak rings are missed.

Scores are ratios to the threshold: 1 and more is found. What the thresholds miss and raise falsely is measured by the
tests on composites of pictures that were not looked at while they were set.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np

from holders.inspect import bands
from holders.inspect.bands import F32
from holders.inspect.candidates import Candidate, Vote, candidates
from holders.inspect.chirp import SIDE, Grid, padded, scaled

WAVELENGTHS_NM = (620.0, 538.0, 460.0)  # usual middles of a scanner's channels: common practice, no source
COLOUR_THRESHOLD = 34.0
GREY_THRESHOLD = 30.0
EXPECTED = 3.0  # value that a tile of noise reaches near a predicted frequency
NEIGHBOURS = 6  # the best so many count
AGREES = 0.6  # of a neighbour's own best peak: less, and it is about something else
LEVELS = 4
LEAST_SIDE = 72  # px: a level smaller than this is not looked at
GREY_LEAST_CHIRP = 6.0
STRONGEST_GREY = 0.12  # natural logarithm of light; bare film on bare glass gives at most 0.08
CANDIDATES = {"colour": 5, "grey": 10}


@dataclass(frozen=True)
class RingPlace:
    """One place with rings; lengths in mm from the scan's first column and row.

    ``contrast``: (max-min)/(max+min) as the file records it, middle channel. ``spacing_mm`` fringe to fringe.
    ``radius_of_curvature_m``: of the film there if it lies convex toward the glass in air, from the even change of
    pitch; ``None`` where the pitch hardly changes. ``score`` as in ``RingsResult``.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    score: float
    contrast: float
    spacing_mm: float
    radius_of_curvature_m: float | None


@dataclass(frozen=True)
class RingsResult:
    """``score`` is 1 at the threshold; ``evidence`` what it rests on; ``where`` the strongest places, best first."""

    found: bool
    score: float
    evidence: Literal["colour", "grey"]
    where: tuple[RingPlace, ...]


def find_rings(
    values: F32, pitch_mm: float, *, progress: Callable[[float], None] | None = None
) -> RingsResult:
    """Look for Newton's rings.

    Parameters
    ----------
    values:
        Light as fractions of full scale, (rows, columns, 1 or 3).
    pitch_mm:
        Pixel to pixel.
    progress:
        Called with the share done, 0 to 1.
    """
    kind: Literal["colour", "grey"] = "colour" if values.shape[2] >= 3 else "grey"
    ratios = tuple(WAVELENGTHS_NM[1] / w for w in WAVELENGTHS_NM) if kind == "colour" else (1.0,)
    grid = Grid(ratios)
    level = bands.log_light(values[:, :, :3] if kind == "colour" else values[:, :, :1])
    least = 0.0 if kind == "colour" else GREY_LEAST_CHIRP
    places: list[RingPlace] = []
    for step in range(LEVELS):
        if min(level.shape[1:]) < LEAST_SIDE:
            break
        band = bands.octave(level)
        field = padded(bands.unmixed(band) if kind == "colour" else bands.evened(band))
        for c in candidates(field, grid, least, CANDIDATES[kind]):
            strength = amplitude(band, c, grid)
            score = colour_score(c) if kind == "colour" else grey_score(c, strength)
            places.append(_place(c, score, strength, pitch_mm * 2**step))
        if progress is not None:
            progress(min(1.0, 1.0 - 0.25 ** (step + 1)))
        level = bands.halved(level)
    places.sort(key=lambda p: -p.score)
    best = places[0].score if places else 0.0
    return RingsResult(best >= 1.0, float(best), kind, tuple(p for p in places if p.score >= 1.0))


def colour_score(c: Candidate) -> float:
    """The peak and its neighbours, each weighed by how well its channels keep to their own frequencies."""
    own, *others = c.votes
    heard = [v for v in others if v.value >= AGREES * v.best]
    said = sorted((max(0.0, v.value - EXPECTED) * _apart(v) for v in heard), reverse=True)
    total = own.value * _apart(own) + sum(said[:NEIGHBOURS])
    strong = [v for v in c.votes if v.value > 5.0]
    share = sum(v.own / (v.other + EXPECTED) > 1.1 for v in strong) / max(len(strong), 1)
    # film is hardly ever bent one way only; straight edges and weave in a picture are
    shape = 1.0 if c.across >= 1.5 else 0.5
    return total * share * shape / COLOUR_THRESHOLD


def _apart(v: Vote) -> float:
    """Weight 0 to 1.5 of a tile: 0 where the channels move as much at each other's frequencies as at their own."""
    return float(np.clip(v.own / (v.other + EXPECTED) - 0.6, 0.0, 1.4)) / 0.9


def grey_score(c: Candidate, strength: float) -> float:
    """What neighbours along the normal say, weighed by how much the change of pitch is needed."""
    # straight or tangential bending alone is what courses of tiles, wood and ripples do
    if strength > STRONGEST_GREY or c.along < 6.5 or c.across < c.along / 3:
        return 0.0
    return _support(c, SIDE * 0.4) * float(np.clip(c.gain - 1.0, 0.0, 1.0)) / GREY_THRESHOLD


def _support(c: Candidate, radial: float) -> float:
    said = [
        max(0.0, v.value - EXPECTED)
        for v in c.votes[1:]
        if v.value >= AGREES * v.best and abs(v.radial) >= radial
    ]
    return sum(sorted(said, reverse=True)[:NEIGHBOURS])


def amplitude(band: F32, c: Candidate, grid: Grid) -> float:
    """Amplitude of the candidate's wave in the logarithm of light: the middle one of the channels."""
    p = c.peak
    tile = band[:, p.row : p.row + SIDE, p.col : p.col + SIDE]
    high, wide = tile.shape[1:]
    y, x = grid.y[:high, :wide] * SIDE / 2, grid.x[:high, :wide] * SIDE / 2
    window = grid.window[:high, :wide]
    out = []
    for plane, ratio in zip(tile, grid.ratios, strict=True):
        form = scaled(p.form, ratio)
        chirp = sum(k * q[:high, :wide] for k, q in zip(form, grid.squares, strict=True))
        wave = np.exp(-1j * (chirp + 2 * np.pi * ratio * (p.fx * x + p.fy * y)))
        r2 = 2 * np.pi**2 * ratio**2 * (p.fx**2 + p.fy**2)
        passed = np.exp(-r2 * bands.FINE**2) - np.exp(-r2 * bands.COARSE**2)
        out.append(2 * abs(complex((plane * window * wave).sum())) / float(window.sum()) / float(passed))
    return float(np.median(out))


def _place(c: Candidate, score: float, strength: float, pitch_mm: float) -> RingPlace:
    p = c.peak
    radius = None
    if c.along >= 4.0:
        # phase 2π r²/(λR) along the normal equals along·(r / half a tile)²
        half = SIDE / 2 * pitch_mm
        radius = 2 * np.pi * half**2 / (c.along * WAVELENGTHS_NM[1] * 1e-6) * 1e-3
    return RingPlace(
        x_mm=p.col * pitch_mm, y_mm=p.row * pitch_mm, width_mm=SIDE * pitch_mm, height_mm=SIDE * pitch_mm,
        score=float(score), contrast=float(np.tanh(strength)), spacing_mm=float(pitch_mm / np.hypot(p.fx, p.fy)),
        radius_of_curvature_m=radius,
    )  # fmt: skip
