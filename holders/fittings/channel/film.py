"""A strip in its channel as its lid holds it: how far it lifts that, at which ledge it is sharp, what others do.

The strip itself is found in :mod:`holders.fittings.channel.strip`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from holders.core.errors import NotConverged
from holders.design.height.heights import least_ledge
from holders.design.held.film_ranges import (
    Heights,
    along_range_per_m,
    along_spread,
    base_spread,
    curls_of_bases,
)
from holders.design.held.held_film import band_of, least_gap_mm, picture_of
from holders.design.held.model import EVEN, Filmed, HeightGrid, picture_grid, picture_reach, picture_rises
from holders.design.held.warm_film import (
    natural_curls,
    odds_curls,
    shape_of,
    sought_per_m,
    warm_curl_per_m,
    warm_curls,
    with_shape,
    with_warmth,
)
from holders.design.model import Design
from holders.design.other_films import CurledFilm
from holders.design.sag import NoSag, Sag
from holders.facts.curl_words import curl_words
from holders.facts.models import Bed, FilmBase
from holders.film.band import Picture
from holders.film.hold import Hold
from holders.film.models import Array, LidRest
from holders.fittings.channel.arc import Channel
from holders.fittings.channel.strip import Strip, strip
from holders.preset.resolve import Job

FIRST_RISE_MM, MOST_RISE_MM, CLOSE_MM = 0.1, 6.0, 0.003


@dataclass(frozen=True, slots=True)
class Under:
    """A strip under its lid, which has come to rest on it."""

    strip: Strip
    lid: LidRest | None


def strip_under(
    job: Job, made: Design, across_per_m: float, along_per_m: float = 0.0, base: FilmBase | None = None
) -> Under:
    """The strip of those natural curls and base between its rails; the upper ones lie with their lid's weight and rise
    with it.

    Left out, the base is the usual one of the film.

    Raises ``NotConverged`` as :func:`holders.fittings.channel.strip.strip`, and where strip and lid are nowhere found
    in balance.
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - few strips lift anything

    arc, hold, film = _channel_of(made), _hold_of(job, made), job.base if base is None else base
    down = strip(film, arc, across_per_m, along_per_m)
    if hold is None:
        return Under(down, None)
    needed, held = down.push_n, hold.force_n()
    if needed <= held:
        return Under(down, LidRest(hold.weight_n, held, needed, 0.0))

    def at(rise: float) -> Strip:
        return strip(film, replace(arc, roof=arc.roof + rise), across_per_m, along_per_m)

    def surplus(rise: float) -> float:
        return at(rise).push_n - hold.force_n(rise)

    low, high = 0.0, FIRST_RISE_MM
    while surplus(high) > 0:
        low, high = high, 2 * high
        if high > MOST_RISE_MM:
            raise NotConverged(f"the strip lifts its lid by more than {low:.1f} mm")
    rise = float(brentq(surplus, low, high, (), CLOSE_MM))
    return Under(at(rise), LidRest(hold.weight_n, held, needed, rise))


def _hold_of(job: Job, made: Design) -> Hold | None:
    """What keeps the lid over the strip down; None where nothing is known of it."""
    supports = (one.support(job, made) for one in made.fitted)
    return next((one.hold for one in supports if one is not None and one.hold is not None), None)


def channelled(job: Job, first: Design, again: Callable[[float], Design]) -> tuple[Design, Filmed]:
    """The design with the ledge that puts the strip's arc in the middle of the focus band, and its film.

    The ledge stands at the focus height, as in ``first``, if the preset says so; ``again`` designs with another.
    """
    band, picture, gap = band_of(job.bed), picture_of(job.film, first.windows[0]), least_gap_mm(job)
    try:
        under = strip_under(job, first, *natural_curls(job, job.base.curl_per_m))
    except NotConverged as error:
        why = f"{error}; the ledge stands at the focus height"
        return replace(first, no_sag=NoSag.UNSOLVED, no_sag_because=why), Filmed(
            None, None, picture, band, gap, *(None,) * 6, why
        )  # fmt: skip
    usual = under.strip
    offsets = picture_grid(grid_of(first, usual, 0.0), picture)
    middle = (float(offsets.min()) + float(offsets.max())) / 2
    lowest = first.heights.foot_protrusion + least_ledge(job)
    best = max((band.low_mm + band.high_mm) / 2 - middle, lowest)
    final = first if job.preset.ledge == "focus" else again(best)
    height = final.heights.ledge_above_glass
    grid = grid_of(final, usual, height)
    at_focus = first.heights.ledge_above_glass
    flat = _sag(job, picture, usual, grid_of(first, usual, at_focus), at_focus)
    worst, words = _worst(job, final, picture, height)
    curled, base = _curled(job, final, picture, height), job.base

    def rises(other: FilmBase, curl_per_m: float) -> Heights:
        one = strip_under(job, final, *natural_curls(job, curl_per_m), other).strip
        return picture_rises(job.film, grid_of(final, one, height), picture, height)

    def along_rises(along_per_m: float) -> Heights:
        one = strip_under(job, final, base.curl_per_m, along_per_m).strip
        return picture_rises(job.film, grid_of(final, one, height), picture, height)

    sag = replace(
        _sag(job, picture, usual, grid, height),
        best_fraction=share(job.bed, picture_grid(grid_of(final, usual, best), picture)),
        focus_fraction=flat.in_band_fraction,
        worst_fraction=worst,
        worst_case=words,
        curled=curled,
        curl_range_per_m=(base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m),
        sought_per_m=sought_per_m(job),
        bases=base_spread(base, curls_of_bases(curled, base.curl_per_m, movable=True), rises),
        along=along_spread(job.preset, picture_rises(job.film, grid, picture, height), along_rises),
        pressed_down_n=usual.push_n,
        lid=under.lid,
        lid_room_mm=0.0 if under.lid is None else math.inf,
    )
    sag, warm = _warmed(job, final, sag, picture, height)
    film = Filmed(
        None, None, picture, band, gap, best, sag.best_fraction, None, grid, sag, flat, warm_grid=warm
    )
    return replace(final, sag=sag), film


def _channel_of(made: Design) -> Channel:
    found = made.find(Channel)
    assert found is not None
    return found


def grid_of(made: Design, half: Strip, ledge_mm: float) -> HeightGrid:
    """The strip, mirrored about its middle line, its ledge ``ledge_mm`` above the glass."""
    middle = made.windows[0].film.width / 2
    x = np.concatenate([middle - half.x[:0:-1], middle + half.x])
    z = ledge_mm + np.concatenate([half.w[:, :0:-1], half.w], axis=1)
    words = "strip in its channel: large deflections between the rails, its ends under the lid"
    return HeightGrid(x, half.y, z, True, half.iterations, half.residual, words)


def share(bed: Bed, heights: Array) -> float:
    """Share of those heights that lie in the focus band."""
    band = band_of(bed)
    return float(np.mean((heights >= band.low_mm - EVEN) & (heights <= band.high_mm + EVEN)))


def _sag(job: Job, picture: Picture, half: Strip, grid: HeightGrid, ledge: float) -> Sag:
    heights = picture_grid(grid, picture)
    return Sag(
        max_mm=max(0.0, ledge - float(heights.min())),
        mean_mm=ledge - float(heights.mean()),
        min_gap_mm=ledge + float(half.w.min()),
        in_band_fraction=share(job.bed, heights),
        least_gap_mm=least_gap_mm(job),
        reach_mm=picture_reach(job.film, grid, picture, ledge),
        heights_mm=picture_rises(job.film, grid, picture, ledge),
    )


def _curled(job: Job, made: Design, picture: Picture, ledge: float) -> tuple[CurledFilm, ...]:
    """The strip at each curl that film of its kind may have; those without a shape are left out."""
    found = []
    for curl, below, inside in odds_curls(job):
        across, along = natural_curls(job, curl)
        try:
            under = strip_under(job, made, across, along)
        except NotConverged:
            continue
        rises = picture_rises(job.film, grid_of(made, under.strip, ledge), picture, ledge)
        found.append(CurledFilm(curl, along, below, rises, under.lid, inside))
    return tuple(found)


def _warmed(
    job: Job, made: Design, sag: Sag, picture: Picture, ledge: float
) -> tuple[Sag, HeightGrid | None]:
    """The film's numbers with those of the strip on the warm bed, and its heights where they are others."""
    if warm_curl_per_m(job) is None:
        return with_warmth(job, sag, picture, None), None
    try:
        under = strip_under(job, made, *warm_curls(job))
    except NotConverged:
        return with_warmth(job, sag, picture, None), None
    grid = grid_of(made, under.strip, ledge)
    warm, rise = _sag(job, picture, under.strip, grid, ledge), 0.0 if under.lid is None else under.lid.rise_mm
    numbers = {"max_mm": warm.max_mm, "mean_mm": warm.mean_mm, "min_gap_mm": warm.min_gap_mm, "rise_mm": rise}
    return with_shape(job, sag, shape_of(job, grid, picture, ledge, **numbers), ledge), grid


def _worst(job: Job, made: Design, picture: Picture, ledge: float) -> tuple[float | None, str]:
    """The flattest and the most curled strip that the base's range allows, with the ends of what it may curl along: the
    worst of them.
    """
    found = []
    low, _, high = along_range_per_m(job.preset)
    ends = (("least", job.base.curl_low_per_m), ("most", job.base.curl_high_per_m))
    for (name, curl), along in product(ends, sorted({low, high})):
        words = f"{name} curl of its base, {curl_words(curl, job.film.cut_width_mm)}"
        if along:
            words += f", {along:g} per m along"
        try:
            under = strip_under(job, made, curl, along)
        except NotConverged:
            found.append((0.0, f"{words}: no shape was found"))
        else:
            found.append((share(job.bed, picture_grid(grid_of(made, under.strip, ledge), picture)), words))
    return min(found)
