"""The film on the warm bed, beside what it is in the room: the air, its curl, its shape on the ledge as built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType

import numpy as np

from holders.core.errors import NotConverged
from holders.design.height.heights import image_rise_mm
from holders.design.held.curl_odds import NODES, below, nodes
from holders.design.held.curl_shapes import curl_shapes
from holders.design.held.dried import WAYS, both_ways, dried_per_m
from holders.design.held.held_film import band_of
from holders.design.held.model import EVEN, Filmed, HeightGrid, grid_of_surface, picture_grid, picture_rises
from holders.design.other_films import WarmFilm, WarmShape
from holders.design.sag import Sag
from holders.facts.models import Bed, FilmBase
from holders.facts.numbers import numbers
from holders.film.band import Picture
from holders.film.models import Array, Sheet, Support, Surface
from holders.film.ranges import CASE_EFFORT, MOVABLE_EFFORT, STUDY_TOL, study_resolution
from holders.film.solver.interior import Effort
from holders.film.surface import solve_surface
from holders.film.warmth import bare_chance, coat_shares, warm_air
from holders.preset.resolve import Job

# of the way from cold to warm: what "at once" and "warmed up" mean; common practice, no source
SPANS: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"any": (0.0, 1.0), "cold": (0.0, 0.25), "warm": (0.75, 1.0)}
)
STEPS = 41
NEAR_PER_M = 0.05
MANY, BARE_NODES = 0.25, 5  # of bare films among those of a kind, from which their curls are solved as well
SHARP = 0.9  # of the picture


def warm_film(job: Job) -> WarmFilm | None:
    """The air of a job and what it does to its film, without its shape; None for glass and film in its mount."""
    base = job.base
    if base.rigid or job.film.kind == "mount":
        return None
    room = job.preset.room
    known = any(one.value == "curl_per_m" and one.status == "measured" for one in base.sources)
    air = warm_air(base, room.ambient_c, room.humidity_percent, job.bed.lamp_rise_k, curl_known=known)
    return WarmFilm(
        air.room_percent,
        air.bed_percent,
        air.cold_per_m,
        air.warm_per_m,
        coat_shares(base, job.film.kind),
        bare_chance(base, job.film.kind),
        SPANS[room.scan_when],
        known,
    )


def warm_curl_per_m(job: Job) -> float | None:
    """Curl of the usual film on the warm bed, with nothing on its back; None where the film shown has a coat."""
    air = warm_film(job)
    if air is None or air.bare_chance == 0 or air.warm_per_m == 0:
        return None
    return job.base.curl_per_m + air.warm_per_m


def warm_curls(job: Job) -> tuple[float, float]:
    """Natural curl across and along of the usual film on the warm bed, with nothing on its back, 1/m."""
    air, along = warm_film(job), job.preset.film.curl_along_per_m
    dried = 0.0 if air is None else air.warm_per_m
    return both_ways(job.base.curl_per_m + dried, dried, along, job.base.poisson)


def natural_curls(job: Job, curl_per_m: float) -> tuple[float, float]:
    """Natural curl across and along of film that curls so much across when it is free, 1/m.

    Of what lies beyond what film of its kind curls, a part is drying (:func:`holders.design.held.dried.dried_per_m`).
    """
    base = job.base
    inside = base.curl_low_per_m <= curl_per_m <= base.curl_high_per_m
    dried = 0.0 if inside else dried_per_m(base, warm_film(job), curl_per_m)
    return both_ways(curl_per_m, dried, job.preset.film.curl_along_per_m, base.poisson)


def odds_curls(job: Job) -> list[tuple[float, float, bool]]:
    """Curls across at which the usual film is solved for the odds, ascending: each with the chance of less, and whether
    it lies inside what film of its kind curls, or is only come to as film dries.
    """
    base, air = job.base, warm_film(job)
    low, high = base.curl_low_per_m, base.curl_high_per_m
    span = low, base.curl_per_m, high
    curls: set[float] = set()
    if air is None or air.bare_chance < 1:
        curls.update(nodes(*span, _changes(air, bare=False)))
        most = 0.0 if air is None else max(abs(air.cold_per_m), abs(air.warm_per_m)) * _spread()
        if most >= NEAR_PER_M:
            curls.update((low - most, high + most))
    if air is not None and air.bare_chance >= MANY:
        curls.update(nodes(*span, _changes(air, bare=True), NODES if air.bare_chance == 1 else BARE_NODES))
    kept = {*span, min(curls), max(curls)}
    for curl in sorted(curls):
        if min(abs(curl - one) for one in kept) > NEAR_PER_M:
            kept.add(curl)
    return [(curl, below(*span, curl), low <= curl <= high) for curl in sorted(kept)]


def sought_per_m(job: Job) -> tuple[float, float]:
    """Least and most curl for which a shape is looked for, the warm bare film's among them."""
    curls = [curl for curl, _, _ in odds_curls(job)]
    warm = warm_curl_per_m(job)
    every = curls if warm is None else [*curls, warm]
    return min(every), max(every)


def _changes(air: WarmFilm | None, *, bare: bool) -> list[float]:
    """What coated or bare films of a kind curl more than in their base's numbers, of equal chance each, 1/m."""
    if air is None:
        return [0.0]
    first, last = air.span
    ways = [first + (last - first) * (k + 0.5) / WAYS for k in range(WAYS)]
    shares = [share for share in air.coat_shares if (share > _spread()) == bare]
    return [
        share * (air.cold_per_m + way * (air.warm_per_m - air.cold_per_m)) for share in shares for way in ways
    ]


def _spread() -> float:
    return numbers("gelatin")["back-coat-spread"].value


def warm_surface(job: Job, film: Filmed) -> Surface | None:
    """The usual film with nothing on its back on the warm bed, on the ledge as built; None where it is as the cold
    one, and where no shape was found.
    """
    if warm_curl_per_m(job) is None or film.sheet is None or film.surface is None:
        return None
    across, along = warm_curls(job)
    curl_x, curl_y = (along, across) if film.turned else (across, along)
    curls = {"curl_x_per_m": curl_x, "curl_y_per_m": curl_y}
    return _solved(film.sheet.model_copy(update=curls), film.surface.support)


@lru_cache(maxsize=16)  # many changes that are tried on a holder leave its film as it is
def _solved(sheet: Sheet, support: Support) -> Surface | None:
    effort = Effort(CASE_EFFORT * (MOVABLE_EFFORT if support.movable else 1.0))
    try:
        return solve_surface(
            sheet, support, tol=STUDY_TOL, resolution=study_resolution(support), effort=effort, opens=False
        )
    except NotConverged:
        return None


def with_warmth(job: Job, sag: Sag, picture: Picture, surface: Surface | None) -> Sag:
    """The film's numbers with those of the warm film, whose ``surface`` was solved where it differs from the cold."""
    air = warm_film(job)
    if air is None:
        return sag
    if warm_curl_per_m(job) is None:
        return replace(sag, warm=replace(air, shown=_same(job.base, sag)))
    if surface is None:
        return replace(sag, warm=air)
    s, grid = surface, grid_of_surface(surface)
    base_height = s.support.ledge_height_mm - job.film.plane_offset_mm
    shown = shape_of(
        job,
        grid,
        picture,
        base_height,
        max_mm=s.max_sag_mm,
        mean_mm=s.mean_sag_mm,
        min_gap_mm=s.min_gap_mm,
        rise_mm=0.0 if s.lid is None else s.lid.rise_mm,
    )
    return with_shape(job, sag, shown, base_height)


def with_shape(job: Job, sag: Sag, shown: WarmShape, ledge_mm: float) -> Sag:
    """The film's numbers with those of a warm film on a ledge so high above the glass."""
    air = warm_film(job)
    if air is None:
        return sag
    found = replace(sag, warm=replace(air, shown=shown))
    return replace(found, warm=replace(air, shown=shown, leaves_at=_leaves_at(job, found, ledge_mm)))


def shape_of(
    job: Job,
    grid: HeightGrid,
    picture: Picture,
    ledge_mm: float,
    *,
    max_mm: float,
    mean_mm: float,
    min_gap_mm: float,
    rise_mm: float,
) -> WarmShape:
    """The warm film's numbers from its heights."""
    curl = warm_curl_per_m(job)
    assert curl is not None
    heights = picture_grid(grid, picture) + image_rise_mm(job)
    rises = picture_rises(job.film, grid, picture, ledge_mm)
    return WarmShape(curl, max_mm, mean_mm, min_gap_mm, _share(job.bed, heights), rise_mm, rises)


def _same(base: FilmBase, sag: Sag) -> WarmShape:
    """Film that warmth does nothing to."""
    return WarmShape(
        base.curl_per_m,
        sag.max_mm,
        sag.mean_mm,
        sag.min_gap_mm,
        sag.in_band_fraction,
        sag.lift_mm,
        sag.heights_mm,
    )


def _leaves_at(job: Job, sag: Sag, ledge_mm: float) -> float | None:
    """How far from cold to warm the usual film is when less than nine tenths of its picture are sharp."""
    shapes, air = curl_shapes(sag), sag.warm
    if shapes is None or air is None:
        return None
    flat = ledge_mm + job.film.plane_offset_mm + image_rise_mm(job)
    for way in np.linspace(0.0, 1.0, STEPS):
        curl = job.base.curl_per_m + way * air.warm_per_m
        if _share(job.bed, shapes.at(curl)[0] + flat) < SHARP:
            return float(way)
    return None


def _share(bed: Bed, heights: Array) -> float:
    band = band_of(bed)
    return float(np.mean((heights >= band.low_mm - EVEN) & (heights <= band.high_mm + EVEN)))
