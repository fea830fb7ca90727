"""What is not known exactly: thickness, modulus, curl and humidity as ranges, and the range of results they give."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from holders.core.errors import InputError, NotConverged
from holders.facts.curl_words import height_words
from holders.film.band import Band, LedgeChoice, Picture, best_ledge_height, in_band_fraction, picture_heights
from holders.film.models import Array, Kind, Sheet, Support, Surface
from holders.film.solver.interior import Effort
from holders.film.surface import evened, solve_surface

STUDY_RESOLUTION = 8  # 0.5 % in the sag of an 8x10 sheet, far inside what the ranges themselves give
UNEVEN_RESOLUTION = 6  # under a lid or pane with unlike opposite lips: 1 %, in a third of the time
STUDY_TOL = 1e-6
STUDY_EFFORT, CASE_EFFORT = 24.0, 3.0  # billions of multiplications: about a second in all
MOVABLE_EFFORT = 5.0  # times as much where a lid or cover must find its own place in every case
SAMPLES = 16
PRIMES = (2, 3, 5, 7, 11)
NAMES = ("thickness", "modulus", "curl along x", "curl along y", "humidity")


@dataclass(frozen=True)
class Span:
    """From the least to the greatest value; equal where a value is taken as known.

    ``usual`` is the value to expect, half way where none is given.
    """

    low: float
    high: float
    usual: float | None = None

    def __post_init__(self) -> None:
        if not self.low <= self.high:
            raise InputError("range", (self.low, self.high), "the lower end must not exceed the upper end")
        if self.usual is not None and not self.low <= self.usual <= self.high:
            raise InputError(
                "range", (self.low, self.usual, self.high), "the usual value must lie between the ends"
            )

    @property
    def nominal(self) -> float:
        """The usual value, or half way."""
        return 0.5 * (self.low + self.high) if self.usual is None else self.usual


@dataclass(frozen=True)
class Unknowns:
    """Ranges of one kind of sheet. ``curl_per_rh`` is the change of curl (1/m, both directions) for each % of
    relative humidity above ``reference_rh``, at which the curl ranges hold: negative for film, which curls toward the
    emulsion as it dries.
    """

    thickness_mm: Span
    modulus_mpa: Span
    curl_x_per_m: Span
    curl_y_per_m: Span
    humidity_rh: Span = Span(50.0, 50.0)
    reference_rh: float = 50.0
    curl_per_rh: float = 0.0

    def spans(self) -> tuple[Span, ...]:
        """In the order of ``NAMES``."""
        return (self.thickness_mm, self.modulus_mpa, self.curl_x_per_m, self.curl_y_per_m, self.humidity_rh)

    def sheet(self, base: Sheet, values: Array) -> Sheet:
        """The base sheet with one set of values."""
        t, modulus, cx, cy, rh = (float(v) for v in values)
        extra = self.curl_per_rh * (rh - self.reference_rh)
        # a direction without curl of its own, such as the length of a wound strip, takes none from humidity either
        return base.model_copy(
            update={
                "thickness_mm": t,
                "modulus_mpa": modulus,
                "curl_x_per_m": cx + (extra if _curls(self.curl_x_per_m) else 0.0),
                "curl_y_per_m": cy + (extra if _curls(self.curl_y_per_m) else 0.0),
            }
        )


@dataclass(frozen=True)
class Spread:
    """Least, middle and greatest of a result over the sample and the corner cases, with that of the usual film."""

    low: float
    median: float
    high: float
    nominal: float


@dataclass(frozen=True)
class WorstCase:
    """The sensible case with the least picture area in the band, of equals the one whose picture reaches farthest out
    of it (or stays inside by least); ``described`` says what it is made of.
    """

    described: str
    sheet: Sheet
    max_sag_mm: float
    in_band_fraction: float
    min_gap_mm: float
    lid_rise_mm: float


@dataclass(frozen=True)
class Study:
    """Ranges of the results.

    ``in_band_fraction`` and ``min_gap_mm`` are for the ledge as it will be built (``ledge_height_mm``, the nominal
    best unless one was given); ``best_ledge_height_mm`` is what would suit each case. ``unsolved`` cases found no
    equilibrium within the work allowed and are in none of the ranges.
    """

    ledge_height_mm: float
    max_sag_mm: Spread
    max_rise_mm: Spread
    in_band_fraction: Spread
    min_gap_mm: Spread
    best_ledge_height_mm: Spread
    worst: WorstCase
    cases: int
    unsolved: int
    lid_rise_mm: Spread | None = None  # of a lid or cover that can move


def halton(count: int, dimensions: int, seed: int) -> Array:
    """(count, dimensions) evenly spread points in the unit cube: Halton's sequence, shifted at random by the seed."""
    shift = np.random.default_rng(seed).random(dimensions)
    points = np.empty((count, dimensions))
    for d, base in enumerate(PRIMES[:dimensions]):
        for i in range(count):
            n, f, value = i + 1, 1.0, 0.0
            while n:
                f /= base
                value += f * (n % base)
                n //= base
            points[i, d] = value
    return (points + shift) % 1.0


def study(
    base: Sheet,
    support: Support,
    unknowns: Unknowns,
    picture: Picture,
    band: Band,
    *,
    refractive_index: float,
    min_gap_mm: float,
    ledge_height_mm: float | None = None,
    samples: int = SAMPLES,
    seed: int = 1,
) -> Study:
    """The range of results over a seeded sample of the unknowns and the sensible extreme cases.

    Raises InputError for empty ranges, NotConverged when the nominal case or more than a quarter of all cases fail.
    """
    spans = unknowns.spans()
    usual = np.array([s.nominal for s in spans])
    asked = _Asked(support, picture, band, refractive_index, min_gap_mm, _effort(support))
    built = ledge_height_mm
    if built is None:
        built = asked.best(unknowns.sheet(base, usual), None, None).ledge_height_mm
    asked = replace(asked, support=support.model_copy(update={"ledge_height_mm": built}))
    low, high = np.array([s.low for s in spans]), np.array([s.high for s in spans])
    sampled = low + halton(samples, len(spans), seed) * (high - low)
    every = [usual, *sampled, *_corners(spans)]
    results = [_tried(asked, unknowns.sheet(base, values), values) for values in every]
    solved = [one for one in results if one is not None]
    cases, unsolved = len(every), len(every) - len(solved)
    if unsolved > cases / 4 or results[0] is None:
        raise NotConverged(f"range study: {unsolved} of {cases} cases found no equilibrium")
    table = np.array([row for _, _, row in solved])
    sag, rise, inside, gap, best = (_spread(column) for column in table.T[:5])
    worst = int(np.lexsort((-table[:, 5], table[:, 2]))[0])
    return Study(
        ledge_height_mm=built,
        max_sag_mm=sag,
        max_rise_mm=rise,
        in_band_fraction=inside,
        min_gap_mm=gap,
        best_ledge_height_mm=best,
        worst=WorstCase(
            _described(solved[worst][1], spans, solved[worst][0].sheet),
            solved[worst][0].sheet,
            float(table[worst, 0]),
            float(table[worst, 2]),
            float(table[worst, 3]),
            float(table[worst, 6]),
        ),
        cases=cases,
        unsolved=unsolved,
        lid_rise_mm=_spread(table.T[6]) if support.movable else None,
    )


def curl_shapes(
    sheet: Sheet, support: Support, curls_per_m: Sequence[tuple[float, float]]
) -> tuple[Surface, ...]:
    """The sheet with each curl along x and y instead of its own, as far as solved.

    Raises NotConverged when none of them finds an equilibrium within the work allowed.
    """
    effort, more = _effort(support), MOVABLE_EFFORT if support.movable else 1.0
    found = []
    for curl_x, curl_y in curls_per_m:
        allowed = min(CASE_EFFORT * more, effort.left)
        mine = Effort(allowed)
        bent = sheet.model_copy(update={"curl_x_per_m": curl_x, "curl_y_per_m": curl_y})
        try:
            found.append(_shape(bent, support, mine))
        except NotConverged:
            continue
        finally:
            effort.left -= allowed - mine.left
    if not found:
        raise NotConverged(f"curls: none of {len(curls_per_m)} found an equilibrium")
    return tuple(found)


def _effort(support: Support) -> Effort:
    """The work that all cases of a study may take together."""
    return Effort(STUDY_EFFORT * (MOVABLE_EFFORT if support.movable else 1.0))


def _tried(asked: _Asked, sheet: Sheet, values: Array) -> tuple[Surface, Array, Array] | None:
    """A case with its values and results; None where no equilibrium was found within the work allowed."""
    try:
        surface, row = asked.case(sheet)
    except NotConverged:
        return None
    return surface, values, row


def _curls(span: Span) -> bool:
    return bool(span.low or span.high)


def _shape(sheet: Sheet, support: Support, effort: Effort) -> Surface:
    return solve_surface(
        sheet, support, tol=STUDY_TOL, resolution=study_resolution(support), effort=effort, opens=False
    )


def study_resolution(support: Support) -> int:
    """The degree at which extremes are solved: coarser where one is dear."""
    dear = support.kind in (Kind.LID, Kind.COVER) and evened(support.lips) != support.lips
    return UNEVEN_RESOLUTION if dear else STUDY_RESOLUTION


@dataclass(frozen=True)
class _Asked:
    """What every case of a study has in common, with the work still allowed for all of them."""

    support: Support
    picture: Picture
    band: Band
    refractive_index: float
    min_gap_mm: float
    effort: Effort

    def best(self, sheet: Sheet, surface: Surface | None, effort: Effort | None) -> LedgeChoice:
        """The ledge that would suit a sheet."""
        return best_ledge_height(
            sheet,
            self.support,
            self.picture,
            self.band,
            refractive_index=self.refractive_index,
            min_gap_mm=self.min_gap_mm,
            surface=surface,
            tol=STUDY_TOL,
            resolution=study_resolution(self.support),
            effort=effort,
        )

    def case(self, sheet: Sheet) -> tuple[Surface, Array]:
        """The film; and its max sag, max rise, share in the band, least gap as built, the ledge height that would suit
        best, how far the picture reaches beyond the band (negative: how far inside it stays), a lid's rise.
        """
        more = MOVABLE_EFFORT if self.support.movable else 1.0
        allowed = min(CASE_EFFORT * more, self.effort.left)
        mine = Effort(allowed)
        try:
            surface = _shape(sheet, self.support, mine)
            inside = in_band_fraction(surface, self.picture, self.band, self.refractive_index)
            best = self.best(sheet, surface, mine)
        finally:
            self.effort.left -= allowed - mine.left
        rise = 0.0 if surface.lid is None else surface.lid.rise_mm
        heights = picture_heights(surface, self.picture, self.refractive_index)
        beyond = max(float(heights.max()) - self.band.high_mm, self.band.low_mm - float(heights.min()))
        found = (surface.max_sag_mm, surface.max_rise_mm, inside, surface.min_gap_mm, best.ledge_height_mm)
        return surface, np.array([*found, beyond, rise])


def _corners(spans: tuple[Span, ...]) -> list[Array]:
    """The thinnest and softest sheet with every combination of extreme curls and humidity."""
    ends = [(s.low,) if s.low == s.high else (s.low, s.high) for s in spans[2:]]
    return [np.array([spans[0].low, spans[1].low, *rest]) for rest in product(*ends)]


def _spread(values: Array) -> Spread:
    return Spread(float(values.min()), float(np.median(values)), float(values.max()), float(values[0]))


def _described(values: Array, spans: tuple[Span, ...], sheet: Sheet) -> str:
    thick, stiff, across, along, damp = (float(value) for value in values)
    said = (
        f"{thick:.3g} mm",
        f"{stiff:.0f} MPa",
        f"{across:.3g} per m ({height_words(across, sheet.width_mm)} in the middle)",
        f"{along:.3g} per m ({height_words(along, sheet.height_mm)} in the middle)",
        f"{damp:.3g} %RH",
    )
    parts = [
        f"{name} {words}"
        for name, words, span in zip(NAMES, said, spans, strict=True)
        if span.low != span.high
    ]
    return ", ".join(parts) or "the nominal case (no range given)"
