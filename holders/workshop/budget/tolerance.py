"""Stack-up of everything that moves the picture against the focus band.

A contributor has a *shift* (known, or expected: rounding to layers, the glue line) and a *spread* (not known: a
tolerance or a standard uncertainty). Worst case adds every limit; root sum of squares adds variances; Monte Carlo
draws each from its own law. Even (rectangular) limits have a standard deviation of a/sqrt(3), triangular ones
a/sqrt(6): JCGM 100:2008 (GUM) 4.3.7 and 4.3.9, from memory. A normal contributor's limit is taken at two sigma.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from holders.core.errors import InputError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Law = Literal["even", "normal", "triangular"]
NORMAL_LIMIT_SIGMAS = 2.0
SAMPLES = 200_000
SHARP_SHARE = 0.9  # of the picture; as much as makes a good holder: common practice, no source
SEED = 20_240_229
KEPT = 12  # streams of draws, 1.6 MB each
_PER_LIMIT = {"even": 1 / math.sqrt(3), "triangular": 1 / math.sqrt(6), "normal": 1 / NORMAL_LIMIT_SIGMAS}


def sharp_means() -> str:
    """What a headline counts as a sharp scan: one sentence to stand below it."""
    return f"Sharp: at least {100 * SHARP_SHARE:.0f} % of the picture, all tolerances at once."


class Cause(Enum):
    """What kind of thing moves the plane: what can be done about a contributor depends on it."""

    FOCUS = "focus height"
    LAYERS = "rounding to layers"
    SHEETS = "rounding to sheets"
    AIM = "aimed off focus"
    PRINT = "printed height"
    STAIR = "readings of the test piece's stair"
    SHEET = "thickness of a sheet"
    GLUE = "glue line"
    DAMP = "sheets that swell in damp air"
    FEET = "feet"
    BASE = "film thickness"
    MOUNT = "height of the film in its mount"
    LAYER = "glass, fluid and film below the picture"
    FRAME_SAG = "sag of the frame"
    FRAME_BOW = "warm bow of the frame"
    FILM = "film surface"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Contributor:
    """One thing that moves the plane, mm.

    ``limit_mm`` is the plus-or-minus spread, ``times`` how often it counts (two layers cut from one sheet: 2).
    ``over_picture`` marks what varies across the picture rather than from one holder to the next: the sag.
    """

    name: str
    limit_mm: float
    shift_mm: float = 0.0
    law: Law = "even"
    times: float = 1.0
    source: str = ""
    over_picture: bool = False
    cause: Cause = Cause.OTHER

    @property
    def reach_mm(self) -> float:
        """The spread that counts in a worst case."""
        return abs(self.times) * self.limit_mm

    @property
    def sigma_mm(self) -> float:
        """Its standard deviation."""
        return self.reach_mm * _PER_LIMIT[self.law]


@dataclass(frozen=True, slots=True)
class Chance:
    """An estimated probability and its standard error."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class StackUp:
    """What all of them do together; heights are relative to the best focus, mm.

    ``chance`` is of the whole picture being in the band, ``chance_point`` of any one point of it, ``chance_normal``
    the closed form of the latter with a normal sum. ``shares`` are each one's part of the mean square error.
    """

    shift_mm: float
    worst_low_mm: float
    worst_high_mm: float
    rss_mm: float  # root sum of squares of the limits
    fixed_low_mm: (
        float  # least height: root sum of squares of what is fixed, and all of the picture's own reach
    )
    fixed_high_mm: float
    sigma_mm: float  # standard deviation of the sum
    chance: Chance
    chance_point: Chance
    chance_normal: float
    largest: str
    shares: tuple[tuple[str, float], ...]
    band_low_mm: float
    band_high_mm: float
    samples: int
    seed: int
    parts: tuple[Contributor, ...]  # what was added up

    def cause_of(self, name: str) -> Cause:
        """What kind of thing the contributor of that name is."""
        return next(part.cause for part in self.parts if part.name == name)

    @property
    def surely_sharp(self) -> bool:
        """Sharp even in the worst case (normal contributors counted to two sigma)."""
        return self.band_low_mm <= self.worst_low_mm and self.worst_high_mm <= self.band_high_mm


def shift(parts: Sequence[Contributor]) -> float:
    """The sum of all shifts, mm."""
    return sum(part.times * part.shift_mm for part in parts)


def worst_case(parts: Sequence[Contributor]) -> tuple[float, float]:
    """Least and greatest height when every limit conspires, mm from best focus."""
    reach = sum(part.reach_mm for part in parts)
    return shift(parts) - reach, shift(parts) + reach


def root_sum_square(parts: Sequence[Contributor]) -> float:
    """The classic statistical tolerance: root of the sum of squared limits, mm (plus or minus, about the shift)."""
    return math.hypot(*(part.reach_mm for part in parts)) if parts else 0.0


def standard_deviation(parts: Sequence[Contributor]) -> float:
    """Standard deviation of the sum of independent contributors, mm."""
    return math.hypot(*(part.sigma_mm for part in parts)) if parts else 0.0


def draw(parts: Sequence[Contributor], samples: int = SAMPLES, seed: int = SEED) -> NDArray[np.float64]:
    """Sums of the contributors drawn from their laws, shape (samples,), mm from best focus.

    Each contributor has a stream of its own, so that adding one leaves the others' draws as they were.
    """
    import numpy as np  # noqa: PLC0415 - listing the checks stays light

    total = np.full(samples, shift(parts))
    for index, part in enumerate(parts):
        if part.reach_mm > 0:
            total += part.reach_mm * _unit(part.law, seed, index, samples)
    return total


@lru_cache(maxsize=KEPT)  # every holder is drawn with the same numbers
def _unit(law: Law, seed: int, index: int, samples: int) -> NDArray[np.float64]:
    import numpy as np  # noqa: PLC0415 - listing the checks stays light

    rng = np.random.default_rng((seed, index))
    if law == "even":
        drawn = rng.uniform(-1.0, 1.0, samples)
    elif law == "triangular":
        drawn = rng.triangular(-1.0, 0.0, 1.0, samples)
    else:
        drawn = rng.normal(0.0, 1 / NORMAL_LIMIT_SIGMAS, samples)
    drawn.flags.writeable = False
    return drawn


def stack_up(
    parts: Sequence[Contributor],
    band_low_mm: float,
    band_high_mm: float,
    samples: int = SAMPLES,
    seed: int = SEED,
) -> StackUp:
    """Worst case, root sum of squares and Monte Carlo against the band (mm below and above best focus).

    Raises
    ------
    InputError
        When there is nothing to add up, the band is empty or a limit is negative.
    """
    _sound(parts, band_low_mm, band_high_mm, samples)
    fixed = [part for part in parts if not part.over_picture]
    across = [part for part in parts if part.over_picture]
    low, high = worst_case(across)  # the picture reaches from here to there around its ledge
    plane = draw(fixed, samples, seed)
    whole = ((plane + low >= band_low_mm) & (plane + high <= band_high_mm)).mean()
    point = draw(parts, samples, seed)
    inside = ((point >= band_low_mm) & (point <= band_high_mm)).mean()
    middle, sigma = shift(parts), standard_deviation(parts)
    shares = _shares(parts)
    worst_low, worst_high = worst_case(parts)
    half = root_sum_square(fixed) + (high - low) / 2
    return StackUp(
        shift_mm=middle,
        worst_low_mm=worst_low,
        worst_high_mm=worst_high,
        rss_mm=root_sum_square(parts),
        fixed_low_mm=middle - half,
        fixed_high_mm=middle + half,
        sigma_mm=sigma,
        chance=estimated(float(whole), samples),
        chance_point=estimated(float(inside), samples),
        chance_normal=normal_inside(middle, sigma, band_low_mm, band_high_mm),
        largest=max(shares, key=lambda item: item[1])[0],
        shares=shares,
        band_low_mm=band_low_mm,
        band_high_mm=band_high_mm,
        samples=samples,
        seed=seed,
        parts=tuple(parts),
    )


def normal_inside(middle: float, sigma: float, low: float, high: float) -> float:
    """The chance that a normal variable lies between two limits; a step when ``sigma`` is 0."""
    if sigma <= 0:
        return 1.0 if low <= middle <= high else 0.0
    root = sigma * math.sqrt(2)
    return 0.5 * (math.erf((high - middle) / root) - math.erf((low - middle) / root))


def estimated(share: float, samples: int) -> Chance:
    """A share of so many draws with its standard error."""
    # (k + 1)/(n + 2): an estimate of 0 or 1 is not certain either
    smooth = (share * samples + 1) / (samples + 2)
    return Chance(share, math.sqrt(smooth * (1 - smooth) / samples))


def _shares(parts: Sequence[Contributor]) -> tuple[tuple[str, float], ...]:
    squares = [part.sigma_mm**2 + (part.times * part.shift_mm) ** 2 for part in parts]
    whole = sum(squares)
    return tuple(
        (part.name, square / whole if whole > 0 else 0.0) for part, square in zip(parts, squares, strict=True)
    )


def _sound(parts: Sequence[Contributor], low: float, high: float, samples: int) -> None:
    if not parts:
        raise InputError("contributors", "(none)", "give at least one")
    if not low < high:
        raise InputError("focus_band", (low, high), "the band's low end must lie under its high end")
    if samples < 1000:
        raise InputError("samples", samples, "at least 1000, or the chance says nothing")
    for part in parts:
        if not (0 <= part.limit_mm < math.inf and math.isfinite(part.shift_mm)):
            raise InputError(part.name, part.limit_mm, "a spread is a length that is not negative")
