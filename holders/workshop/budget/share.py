"""The chance that so much of the picture is sharp: every place of the film on its frame, every tolerance at once.

A place of the picture lies where the film's own surface and the frame below it put it (both known); the plane of all
of them is uncertain by the tolerances, which are drawn. Warmth is taken as anywhere between cold and warm, and the
film's curl from its own distribution: for every step of that the film is where such a curl puts it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.design.held.curl_odds import GOLDEN, quantile
from holders.design.held.curl_shapes import curl_shapes
from holders.design.model import HEIGHT_CELLS, Design
from holders.facts.habits import habit
from holders.preset.resolve import Job
from holders.workshop.budget.contributors import fixed_contributors, sharpness
from holders.workshop.budget.framed import Framed, framed
from holders.workshop.budget.tolerance import (
    SAMPLES,
    SEED,
    SHARP_SHARE,
    Chance,
    StackUp,
    draw,
    estimated,
    normal_inside,
)

Floats = NDArray[np.float64]
STRATA = 8  # between cold and warm
ANY_TIME = (0.0, 1.0)
# multiples of these are spread evenly over the unit cube: inverse powers of the root of x^4 = x + 1 (M. Roberts,
# The Unreasonable Effectiveness of Quasirandom Sequences, 2018, from memory)
SPREAD = tuple(1.2207440846057596**-k for k in (1, 2, 3))
CURL_STEPS = 24  # of equal chance, over what film of a kind curls
FEW = 2000
MOST = 0.5


@dataclass(frozen=True, slots=True)
class SharpShare:
    """Chances for the picture that does worst: that at least ``share`` of it is sharp, and that all of it is.

    ``stack`` is the plain stack-up of the same contributors, in which every extreme is taken to meet every other.
    ``spoiled_by`` is "curl" or "warmth" where film that differs from the usual one takes most of the chance.
    """

    share: float
    most: Chance
    whole: Chance
    window: int  # from 1
    stack: StackUp
    spoiled_by: str = ""


def sharp_share(
    job: Job, design: Design, share: float = SHARP_SHARE, samples: int = SAMPLES, seed: int = SEED
) -> SharpShare:
    """The chances for one holder; a film whose surface is not known is taken as flat.

    Which picture does worst is seen with film of the usual curl; the chances then count all curls that film of its
    kind may have.
    """
    h = design.heights
    low, high = h.band_low - h.focus, h.band_high - h.focus
    plane = draw(fixed_contributors(job, design), samples, seed)
    under = framed(job, design, HEIGHT_CELLS)
    pictures = heights_of(design, under)
    few = plane[: min(FEW, len(plane))]
    rates = [rate([good_planes(z, low, high, share) for z in strata], few) for strata in pictures]
    worst = int(np.argmin(rates))
    mixed = curled_heights(design, under, worst)
    found = [rate([good_planes(z, low, high, part) for z in mixed], plane) for part in (share, 1.0)]
    return SharpShare(
        share,
        estimated(found[0], samples),
        estimated(found[1], samples),
        worst + 1,
        sharpness(job, design, samples=samples, seed=seed, under=under),
        ""
        if job.on_glass is not None  # film on glass has its shape, whatever its curl
        else _spoiled_by(
            design, under, worst, (rates[worst], found[0]), lambda z: good_planes(z, low, high, share), few
        ),
    )


def _spoiled_by(
    design: Design,
    frame: Framed | None,
    window: int,
    rates: tuple[float, float],
    good: Callable[[Floats], list[tuple[float, float]]],
    plane: Floats,
) -> str:
    """Whether it is the spread of curl, or its growth by warmth, that takes most of the chance; "" where neither does.

    ``rates`` are the chances with the usual film and with all films.
    """
    usual, every = rates
    if usual - every <= MOST * (1 - every):  # where nothing is lost, nothing takes it
        return ""
    sag = design.sag
    if sag is None or sag.warm is None:
        return "curl"
    still = replace(design, sag=replace(sag, warm=replace(sag.warm, warm_per_m=0.0, cold_per_m=0.0)))
    cold = rate([good(z) for z in curled_heights(still, frame, window)], plane)
    return "warmth" if cold - every > MOST * (usual - every) else "curl"


def stack_chances(
    job: Job,
    design: Design,
    totals_mm: Sequence[float],
    spreads_mm: Sequence[float],
    share: float = SHARP_SHARE,
) -> tuple[float, ...]:
    """The chance that at least ``share`` of the picture is sharp with the ledge at each height instead of as built.

    ``spreads_mm`` are even limits. The sum of all that is uncertain is taken as normal, which is near enough to rank.
    """
    h, frame = design.heights, framed(job, design, HEIGHT_CELLS)
    windows = range(1 if frame is None else len(frame.cold))
    pictures = [curled_heights(design, frame, window) for window in windows]
    feet = habit("foot-spread") if job.preset.feet is not None else 0.0
    low, high = h.band_low - h.focus, h.band_high - h.focus
    spans = [[good_planes(z, low, high, share) for z in strata] for strata in pictures]
    found = []
    for total, spread in zip(totals_mm, spreads_mm, strict=True):
        off, sigma = (
            total - h.ledge_wanted,
            math.hypot(spread / math.sqrt(3), feet / math.sqrt(3), h.focus_sigma),
        )
        found.append(
            min(
                sum(normal_inside(off, sigma, a, b) for step in strata for a, b in step) / len(strata)
                for strata in spans
            )
        )
    return tuple(found)


def curled_heights(
    design: Design, frame: Framed | None, window: int, lift: Floats | float = 0.0
) -> list[Floats]:
    """Sorted heights of one window's picture (counted from 0) for each step of curl and, in turn, of warmth.

    ``lift`` is how much higher than designed the ledge carries each cell of the picture, mm (rows from the head).

    Film that dries as it warms curls more; how much of that its back coat takes off is drawn along, evenly over the
    steps. Neighbouring steps of curl follow one another so that each of the drawn planes meets one of each.
    """
    aimed, warmth = design.heights.aimed_off, warm_steps(design, frame)
    found = []
    for film, way in zip(films_by_curl(design, warmth), warmth * CURL_STEPS, strict=True):
        under: Floats | float = 0.0
        if frame is not None:
            cold, warm = frame.cold[window], frame.warm[window]
            under = cold + way * (warm - cold)
        found.append(np.sort((film + aimed - under + lift).ravel()))
    return found


def warm_steps(design: Design, frame: Framed | None) -> list[float]:
    """How far from cold to warm each step of warmth is, 0 to 1; one alone where nothing changes by it."""
    air = None if design.sag is None else design.sag.warm
    if frame is None and air is None:
        return [0.0]
    low, high = ANY_TIME if air is None else air.span
    return [low + (high - low) * (k + 0.5) / STRATA for k in range(STRATA)]


def films_by_curl(
    design: Design, warmth: Sequence[float] = (0.0,), steps: int = CURL_STEPS
) -> Iterator[Floats]:
    """Heights of the film over its picture, (n, n), for each of so many curls of equal chance and each warmth in turn.

    Between the curls at which the film was solved its heights are taken as even; the usual film alone where no others
    are known. Film of a curl for which no shape was found is nowhere (infinite heights), so never sharp. Bases are
    drawn along, what else it may curl along, and the tilt of a lid that is lifted.
    """
    sag = design.sag
    shapes = None if sag is None else curl_shapes(sag)
    usual, air = film_heights(design), None if sag is None else sag.warm
    across = np.linspace(-1.0, 1.0, usual.shape[1])
    for k in range(steps):
        for n, way in enumerate(warmth):
            if shapes is None or sag is None:
                yield usual
                continue
            coat, soft, tilt, along = ((k * len(warmth) + n + 0.5) * step % 1.0 for step in (*SPREAD, GOLDEN))
            curl = quantile(*sag.curl_range_per_m, (k + 0.5) / steps)
            if air is not None:
                share = air.coat_shares[int(coat * len(air.coat_shares))]
                curl += share * (air.cold_per_m + way * (air.warm_per_m - air.cold_per_m))
            if not shapes.knows(curl):
                yield np.full(usual.shape, np.inf)
                continue
            film, rise = shapes.at(curl)
            film = film + shapes.of_base(curl, soft) + shapes.of_along(along)
            if sag.lid_room_mm > 0:
                # up on one side and down on the other, at most as far again as it rises, unless something stops it
                film = film + (2 * tilt - 1) * min(rise, max(0.0, sag.lid_room_mm - rise)) * across
            yield film


def heights_of(design: Design, frame: Framed | None) -> list[list[Floats]]:
    """For each window and each step from cold to warm, sorted heights of the picture over where flat film would lie.

    What the ledge was aimed off focus for is in them.
    """
    aimed, film = design.heights.aimed_off, film_heights(design)
    if frame is None:
        return [[np.sort((film + aimed).ravel())]]
    warmth = warm_steps(design, frame)
    return [
        [np.sort((film + aimed - cold - t * (warm - cold)).ravel()) for t in warmth]
        for cold, warm in zip(frame.cold, frame.warm, strict=True)
    ]


def film_heights(design: Design) -> Floats:
    """Heights of the film over its picture above its ledge, (n, n); flat where they are not known.

    Where only the ends are known they are taken as even between them.
    """
    n = HEIGHT_CELLS
    sag = design.sag
    if sag is not None and sag.heights_mm:
        return np.asarray(sag.heights_mm, dtype=float)
    if sag is None or sag.reach_mm is None:
        return np.zeros((n, n))
    low, high = sag.reach_mm
    return np.linspace(low, high, n * n).reshape(n, n)


def good_planes(heights: Floats, low: float, high: float, share: float) -> list[tuple[float, float]]:
    """The shifts that bring at least ``share`` of the sorted heights between ``low`` and ``high``, as intervals.

    So many of them in a row fit the band, or none do.
    """
    count = len(heights)
    many = max(1, math.ceil(share * count - 1e-9))
    first, last = heights[: count - many + 1], heights[many - 1 :]
    starts, ends = low - first, high - last
    fits = (starts <= ends + 1e-12) & np.isfinite(ends)
    spans = sorted(zip(starts[fits].tolist(), ends[fits].tolist(), strict=True))
    merged: list[tuple[float, float]] = []
    for start, end in spans:
        if merged and start <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((start, end))
    return merged


def rate(strata: list[list[tuple[float, float]]], plane: Floats) -> float:
    """The share of the drawn planes that lie in an interval of their own step of warmth."""
    hits, steps = 0, len(strata)
    for k, spans in enumerate(strata):
        drawn = plane[k::steps]
        for start, end in spans:
            hits += int(((drawn >= start - 1e-12) & (drawn <= end + 1e-12)).sum())
    return hits / len(plane)
