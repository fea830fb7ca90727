"""Newton's rings in a scan: are there any, how strong, where; with what was seen that speaks for them.

Three kinds of evidence, and the result says which was used:

``colour``
    The wave has in each channel the frequency that the channel's wavelength demands, the two other channels hold
    nothing there, one pitch for all channels would explain it less well, and the wave goes on into the tiles around
    it. Whatever a picture does by chance it does just as well for wavelengths in the wrong order (the red channel's
    fringes finer than the blue's, which no film makes): evidence counts only as far as it exceeds what the wrong order
    finds in the same picture.
``grey``
    One channel only: a wave whose pitch changes evenly along its normal, in a tile and in those around it. Grain, roof
    tiles, wood and ripples can come close to that, so the threshold is high and most rings are missed, contours and
    small contact spots first. So ``told`` is false where none was found.
``channel``
    One channel of a colour scan has such a wave, which the others do not have (``single``). It is looked for where
    colour shows none.

Scores are ratios to the threshold: 1 and more is found. What the thresholds miss and raise falsely is measured by the
tests on composites of pictures that were not looked at while they were set: in colour, at 2 % contrast of the light,
195 of 200 found and 4 of 200 raised falsely (95 % intervals beside the test).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from holders.measure.finished.rings.bands import F32, log_light
from holders.measure.finished.rings.candidates import Candidate, candidates
from holders.measure.finished.rings.chirp import SIDE, Grid, forms_at, grid_of, spread
from holders.measure.finished.rings.fit import Fitter, fitter_of
from holders.measure.finished.rings.levels import Level, amplitude, levels_of
from holders.measure.finished.rings.single import Single, singles
from holders.measure.finished.rings.trace import GOES_ON, traces
from holders.measure.finished.rings.wave import Wave

Evidence = Literal["colour", "grey", "channel"]
CHANNELS = ("red", "green", "blue")
WAVELENGTHS_NM = (620.0, 538.0, 460.0)  # usual middles of a scanner's channels: common practice, no source
# two of 131 tuning pictures without rings go beyond it; the wrong order takes them out again
LEAST_EVIDENCE = 16.0
CLEAR_EVIDENCE = 40.0
WRONG_ORDER = 1.5  # the right order must find so much more than the wrong one, whatever it finds
OF_NOISE = 13.0  # evidence that fitting a tile of noise gives
GREY_THRESHOLD = 30.0
EXPECTED = 3.0  # value that a tile of noise reaches near a predicted frequency
NEIGHBOURS = 7  # the best so many count
AGREES = 0.6  # of a neighbour's own best peak: less, and it is about something else
GREY_LEAST_CHIRP = 6.0
STRONGEST = 0.09  # natural logarithm of light; bare film on bare glass gives at most 0.08
STRONGEST_GREY = 0.12  # natural logarithm of light; bare film on bare glass gives at most 0.08
GREY_CANDIDATES = 10
GREY_NEIGHBOURS = 6
ALIKE = 0.006  # natural logarithm of light: channels that differ by less carry no fringes of their own
IN_ONE = "in {} only: rings of a narrow lamp, or what the tone curve left of them; look at that channel alone"
UNTOLD = (
    "one channel only: whether there are rings cannot be judged from the picture, but for strong even ones; "
    "scan in colour to know"
)
LIKE_RINGS = (
    "one channel only: grain, cloth or screens can look like this; look at the place, or scan in colour"
)
TOO_STRONG = (
    "a periodic pattern stronger than bare film on glass gives: rings, if the tone was stretched or inverted; "
    "scan linear and unstretched to know"
)


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
    """``score`` is 1 at the threshold; ``evidence`` what it rests on; ``where`` the strongest places, best first.

    By ``grey`` the score is the weaker one: at the same threshold it misses more and errs more. ``alike``: three
    channels that show the same, so that they were taken as one. ``channel``: the one that alone shows rings, by name;
    empty elsewhere. ``strong``: where nothing was found but a pattern that
    passes for rings is stronger than bare film on glass gives in linear light.
    """

    found: bool
    score: float
    evidence: Evidence
    where: tuple[RingPlace, ...]
    alike: bool = False
    strong: tuple[RingPlace, ...] = ()
    channel: str = ""

    @property
    def told(self) -> bool:
        """Whether the scan can say that there are none: one channel cannot, most rings look like picture there."""
        return self.found or self.evidence == "colour"

    @property
    def note(self) -> str:
        """What ``strong`` means, in words, and what one channel leaves open; empty where neither is so."""
        if self.evidence == "grey" and not self.strong:
            return LIKE_RINGS if self.found else UNTOLD
        if self.channel:
            return IN_ONE.format(self.channel)
        return TOO_STRONG if self.strong else ""


Traced = tuple[Level, list[Wave]]


def find_rings(
    values: F32, pitch_mm: float, *, progress: Callable[[float], None] | None = None
) -> RingsResult:
    """Look for Newton's rings.

    Parameters
    ----------
    values:
        Light as fractions of full scale, (rows, columns, 1 or 3), linear and unstretched: strength is judged by it.
    pitch_mm:
        Pixel to pixel.
    progress:
        Called with the share done, 0 to 1.
    """
    tell = progress or (lambda _share: None)
    if values.shape[2] < 3:
        return _by_grey(levels_of(values[:, :, :1], pitch_mm), tell)
    if alike(values[:, :, :3]):
        grey = values[:, :, :3].mean(axis=2, keepdims=True)
        return replace(_by_grey(levels_of(grey, pitch_mm), tell), alike=True)
    return _by_colour(levels_of(values[:, :, :3], pitch_mm), tell)


def alike(values: F32) -> bool:
    """Whether the channels, (rows, columns, 3), show one picture but for a factor: a grey scan saved in colour."""
    light = log_light(values[::2, ::2])  # a quarter of the places says it as well, in a quarter of the memory
    apart = light[[0, 2]] - light[1]
    apart = apart - np.median(apart, axis=(1, 2), keepdims=True)
    return bool(np.percentile(np.abs(apart), 99.0) <= ALIKE)


def _by_colour(levels: list[Level], tell: Callable[[float], None]) -> RingsResult:
    ratios = tuple(WAVELENGTHS_NM[1] / w for w in WAVELENGTHS_NM)
    right, wrong = (fitter_of(r) for r in (ratios, ratios[::-1]))
    found: list[Traced] = []
    for number, level in enumerate(levels):
        found += [(level, waves) for waves in traces(level.field, right, forms_at(number))]
        tell(0.6 * (1.0 - 0.25 ** (number + 1)))
    weak, best = _ordered([(level, _weak_enough(level, waves, right)) for level, waves in found])
    # with what swings more than film and glass can, if there is any
    strong, most = _ordered([f for f in found if f[1] and _too_strong(f[0], f[1][0], right)])
    limit = beyond = LEAST_EVIDENCE
    if max(best, most) >= LEAST_EVIDENCE:  # else the wrong order cannot change the answer
        chance = [
            (level, waves)
            for number, level in enumerate(levels)
            for waves in traces(level.field, wrong, forms_at(number))
        ]
        _, by_chance = _ordered([(level, _weak_enough(level, waves, wrong)) for level, waves in chance])
        limit, beyond = needed(by_chance), needed(_ordered(chance)[1])
    tell(1.0)
    places = _places(weak, limit, right.grid)
    if best >= limit:
        return RingsResult(True, float(best / limit), "colour", places)
    more = _places(strong, beyond, right.grid)
    alone = [s for level in levels for s in singles(level) if s.strength <= STRONGEST]
    return _by_one(alone) or RingsResult(False, float(best / limit), "colour", places, strong=more)


def _by_one(alone: list[Single]) -> RingsResult | None:
    """Rings in one channel alone: that with the best of them; None where none reaches the threshold."""
    scored = [(grey_score(s.candidate), s) for s in alone]
    enough = [(score, s) for score, s in scored if score >= 1.0]
    if not enough:
        return None
    # taking out what the channels share leaves a little of the wave in the others
    lead = max(enough, key=lambda pair: pair[1].strength)[1].channel
    found = [_grey_place(s.candidate, score, s.strength, s.level) for score, s in enough if s.channel == lead]
    where, best = _best(found)
    return RingsResult(True, best, "channel", where, channel=CHANNELS[lead])


def _ordered(found: list[Traced]) -> tuple[list[tuple[float, Level, list[Wave]]], float]:
    """Traces with their evidence, best first, and the best evidence."""
    out = sorted(((followed_far(waves), level, waves) for level, waves in found), key=lambda f: -f[0])
    return out, out[0][0] if out else 0.0


def _places(found: list[tuple[float, Level, list[Wave]]], limit: float, grid: Grid) -> tuple[RingPlace, ...]:
    places: dict[tuple[float, int, int], RingPlace] = {}
    for total, level, waves in found:
        if total < limit:
            break
        for wave in (w for w in waves if w is waves[0] or w.steady >= GOES_ON):
            key = (level.pitch_mm, wave.row, wave.col)
            if key not in places:
                strength = _amplitude(level, wave, grid)
                places[key] = _place(wave, total / limit, strength, level)
    return tuple(places.values())


def needed(by_chance: float) -> float:
    """Evidence that rings must give where the wrong order of colours gives ``by_chance``.

    Weak evidence must be twice what chance gives; strong rings also show a little in the wrong order.
    """
    return max(LEAST_EVIDENCE, min(2.0 * by_chance, CLEAR_EVIDENCE), WRONG_ORDER * by_chance)


def followed_far(waves: list[Wave]) -> float:
    """Evidence of a wave and its best continuations beyond what noise gives."""
    return sum(sorted((said(w) for w in waves), reverse=True)[: NEIGHBOURS + 1])


def said(w: Wave) -> float:
    """What one tile adds to the evidence."""
    return max(0.0, w.worth - OF_NOISE)


def _weak_enough(level: Level, waves: list[Wave], fitter: Fitter) -> list[Wave]:
    """A trace without what swings more than film and glass can: printed screens, weave, ribs."""
    return [w for w in waves if not _too_strong(level, w, fitter)]


def _too_strong(level: Level, w: Wave, fitter: Fitter) -> bool:
    return said(w) > 0.0 and _amplitude(level, w, fitter.grid) > STRONGEST


def _amplitude(level: Level, w: Wave, grid: Grid) -> float:
    return amplitude(level, w.row, w.col, (w.fx, w.fy), w.form, w.ratios, grid)


def _by_grey(levels: list[Level], tell: Callable[[float], None]) -> RingsResult:
    grid = grid_of((1.0,))
    places: list[RingPlace] = []
    strong: list[RingPlace] = []
    for number, level in enumerate(levels):
        for c in candidates(level.field, grid, GREY_LEAST_CHIRP, GREY_CANDIDATES):
            p = c.peak
            strength = amplitude(level, p.row, p.col, (p.fx, p.fy), p.form, (1.0,), grid)
            kept = strong if strength > STRONGEST_GREY else places
            kept.append(_grey_place(c, grey_score(c), strength, level))
        tell(1.0 - 0.25 ** (number + 1))
    where, best = _best(places)
    more = () if best >= 1.0 else _best(strong)[0]
    return RingsResult(best >= 1.0, best, "grey", where, strong=more)


def _best(places: list[RingPlace]) -> tuple[tuple[RingPlace, ...], float]:
    """The places that reach the threshold, best first, and the best score of all."""
    ordered = sorted(places, key=lambda p: -p.score)
    return tuple(p for p in ordered if p.score >= 1.0), float(ordered[0].score) if ordered else 0.0


def grey_score(c: Candidate) -> float:
    """What neighbours along the normal say, weighed by how much the change of pitch is needed."""
    # straight or tangential bending alone is what courses of tiles, wood and ripples do
    if c.along < 6.5 or c.across < c.along / 3:
        return 0.0
    return _support(c, SIDE * 0.4) * float(np.clip(c.gain - 1.0, 0.0, 1.0)) / GREY_THRESHOLD


def _support(c: Candidate, radial: float) -> float:
    said = [
        max(0.0, v.value - EXPECTED)
        for v in c.votes[1:]
        if v.value >= AGREES * v.best and abs(v.radial) >= radial
    ]
    return sum(sorted(said, reverse=True)[:GREY_NEIGHBOURS])


def _place(w: Wave, score: float, strength: float, level: Level) -> RingPlace:
    n = np.array([w.fx, w.fy]) / max(float(np.hypot(w.fx, w.fy)), 1e-9)
    along = float(n @ np.array([[w.form[0], w.form[1]], [w.form[1], w.form[2]]]) @ n)
    mean = float(np.sqrt(w.fx**2 + w.fy**2 + spread(w.form)))
    return _told(w.row, w.col, mean, along, score, strength, level)


def _grey_place(c: Candidate, score: float, strength: float, level: Level) -> RingPlace:
    p = c.peak
    return _told(p.row, p.col, float(np.hypot(p.fx, p.fy)), c.along, score, strength, level)


def _told(
    row: int, col: int, frequency: float, along: float, score: float, strength: float, level: Level
) -> RingPlace:
    pitch_mm, radius = level.pitch_mm, None
    if along >= 4.0:
        # phase 2π r²/(λR) along the normal equals along·(r / half a tile)²
        half = SIDE / 2 * pitch_mm
        radius = 2 * np.pi * half**2 / (along * WAVELENGTHS_NM[1] * 1e-6) * 1e-3
    top, left, high, wide = level.inside(row, col)
    return RingPlace(
        x_mm=left * pitch_mm, y_mm=top * pitch_mm, width_mm=wide * pitch_mm, height_mm=high * pitch_mm,
        score=float(score), contrast=float(np.tanh(strength)), spacing_mm=float(pitch_mm / frequency),
        radius_of_curvature_m=radius,
    )  # fmt: skip
