"""The design made for the film's real surface: sag and curl move the ledge before it is built."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from holders.core.errors import InputError, NotConverged
from holders.core.workers import helper
from holders.design.height.heights import image_rise_mm, least_ledge, print_offset_mm
from holders.design.held.film_ranges import (
    along_rises,
    along_spread,
    base_spread,
    curled_films,
    curls_of_bases,
    films_ahead,
    plate_rises,
    range_study,
)
from holders.design.held.held_film import (
    band_of,
    least_gap_mm,
    picture_of,
    sheet_of,
    support_of,
)
from holders.design.held.model import (
    EVEN,
    Filmed,
    HeightGrid,
    grid_of_surface,
    picture_grid,
    picture_reach,
    picture_rises,
)
from holders.design.held.plate_glass import plate_sag_mm
from holders.design.held.warm_film import (
    natural_curls,
    odds_curls,
    sought_per_m,
    warm_curl_per_m,
    warm_curls,
    warm_surface,
    with_warmth,
)
from holders.design.model import Design
from holders.design.resolve import design, design_for
from holders.design.sag import NoSag, Sag
from holders.facts.models import FilmBase
from holders.facts.rise_names import cold_rise
from holders.film.band import best_ledge_height, shifted
from holders.film.lidded import lid_room_mm
from holders.film.models import Array, Surface
from holders.film.solver.interior import Effort
from holders.film.surface import RESOLUTION, WarmStart, solve_surface
from holders.fittings.registry import fitted_in
from holders.measure.bed.record import Measured
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

NOMINAL_EFFORT = 24.0  # billions of multiplications for one design: some 1.2 seconds at most
DRAFT_TOL, DRAFT_RESOLUTION = 1e-4, 7  # below 0.7 % in the sag of an 8x10 sheet


@dataclass(frozen=True, slots=True)
class SolverOptions:
    """How closely a film surface is solved, and the work that may go into it."""

    effort: Effort
    tol: float = 1e-8
    resolution: int = RESOLUTION
    recent: WarmStart | None = None


def designed(
    job: Job,
    places: Sequence[Measured] = (),
    *,
    ranges: bool = True,
    extremes: bool = True,
    draft: bool = False,
    uncut: bool = False,
    recent: WarmStart | None = None,
) -> tuple[Design, Filmed]:
    """The design whose ledge puts most of the picture in focus (or stands at the focus height if the preset says so).

    ``places`` are measurements of the bed, whose tilt the feet follow (their focus height at the windows is put into
    ``job`` first, by :func:`holders.design.plan.tilt.measured_bed`).

    A film surface that does not converge is reported in ``Filmed.why_not`` and the ledge stays at the focus height.

    ``ranges=False`` leaves out what the other films of its kind would do, which takes longer than all the rest;
    :func:`with_ranges` adds it later, and nothing else of the design changes. ``extremes=False`` leaves out the worst
    of them, which the odds do not ask for, and keeps the curls. ``draft`` solves the film less closely, for a first
    look: a ledge that is as well built one layer higher may come out there. ``recent`` lets a draft start from the film
    of the draft before (:class:`holders.film.surface.WarmStart`).

    ``uncut`` is for heights and windows alone: parts larger than the printer's plate stay whole, as in
    :func:`holders.design.resolve.design`, and mostly nothing is written on them.

    Raises ``InputError`` as :func:`holders.design.resolve.design`.
    """
    settled = _settled(job, places, uncut)
    if settled is not None:
        return settled
    if job.kinds:
        made, films = _for_all(job, places, _care(draft, recent), uncut)
        return _looked_at(job, made, films, ranges=ranges, extremes=extremes)
    try:
        found = _nominal(job, places, _care(draft, recent), uncut)
    except NotConverged as error:
        first = design(job, places=places, uncut=uncut)
        film = _unsolved(job, first, error)
        return replace(first, no_sag=NoSag.UNSOLVED, no_sag_because=film.why_not), film
    return with_ranges(job, *found, extremes=extremes) if ranges else found


def _settled(job: Job, places: Sequence[Measured], uncut: bool) -> tuple[Design, Filmed] | None:
    """The design where a fitting alone decides how the film lies; None where none does."""
    for kind in fitted_in(job.preset):
        if kind.settles_film:
            first = design(job, places=places, uncut=uncut)
            return kind.film(job, first, lambda plane: design(job, plane, places=places, uncut=uncut))
    return None


def _care(draft: bool, recent: WarmStart | None) -> SolverOptions:
    if draft:
        return SolverOptions(Effort(NOMINAL_EFFORT), DRAFT_TOL, DRAFT_RESOLUTION, recent)
    return SolverOptions(Effort(NOMINAL_EFFORT))


def _nominal(job: Job, places: Sequence[Measured], care: SolverOptions, uncut: bool) -> tuple[Design, Filmed]:
    """The design for the usual film; raises NotConverged when a shape is not found within the work allowed."""
    plain = _unlettered(job)
    first = design(plain, places=places, uncut=True)
    film = best_film(job, first, care)
    wanted, reach = _wanted(job, film, first)
    if wanted is not None:
        final = design(plain if uncut else job, wanted, places=places, reach=reach, uncut=uncut)
    else:
        final = first if uncut else design(job, places=places)
    return _on_ledge(job, film, first, final, care)


def _wanted(job: Job, film: Filmed, first: Design) -> tuple[float | None, tuple[float, float]]:
    """Where the plane of a flat film should lie for this film, and how far that reaches over its ledge; None where the
    preset wants the focus height.

    A film that no ledge brings into focus at all leaves the ledge as near to the focus height as can be.
    """
    if job.preset.ledge != "best" or film.best_ledge_mm is None or not film.best_fraction:
        return None, (0.0, 0.0)
    return film.best_ledge_mm + first.heights.optics, _reach_at_best(job, film)


def _on_ledge(
    job: Job, film: Filmed, first: Design, final: Design, care: SolverOptions
) -> tuple[Design, Filmed]:
    """The film on the ledge of the ``final`` design; ``first`` is the one with its ledge at the focus height."""
    flat = _sag(job, film, *_placed(job, film, first, care))
    if (
        film.support is not None and film.support.hold != support_of(job, final).hold
    ):  # other sheets make another lid
        again = best_film(job, final, care)
        film = replace(film, support=again.support, surface=again.surface)
    grid, surface = _placed(job, film, final, care)
    sag = replace(
        _sag(job, film, grid, surface),
        focus_fraction=flat.in_band_fraction,
        reach_mm=picture_reach(job.film, grid, film.picture, final.heights.ledge_above_glass),
        heights_mm=picture_rises(job.film, grid, film.picture, final.heights.ledge_above_glass),
    )
    return replace(final, sag=sag), replace(film, surface=surface, grid=grid, sag=sag, flat_sag=flat)


def _unsolved(job: Job, first: Design, error: NotConverged) -> Filmed:
    """Film of which no shape was found."""
    why = f"{error}; the ledge stands at the focus height"
    picture, band = picture_of(job.film, first.mine[0]), band_of(job.bed)
    return Filmed(None, None, picture, band, least_gap_mm(job), *(None,) * 6, why)


def _for_all(
    job: Job, places: Sequence[Measured], care: SolverOptions, uncut: bool
) -> tuple[Design, tuple[Filmed, ...]]:
    """The design for the usual film of each kind in a holder for several, each on a ledge as high as it wants.

    Where no shape of a film was found its ledge stands at the focus height, and its ``Filmed`` says so.
    """
    plain = _unlettered(job)
    first = design(plain, places=places, uncut=True)
    films: list[Filmed] = []
    wanted: list[tuple[float | None, tuple[float, float]]] = []
    for one, mine in zip(job.each, first.each, strict=True):
        try:
            films.append(best_film(one, mine, care))
            wanted.append(_wanted(one, films[-1], mine))
        except NotConverged as error:
            films.append(_unsolved(one, mine, error))
            wanted.append((None, (0.0, 0.0)))
    planes, reaches = zip(*wanted, strict=True)
    final = design_for(plain if uncut else job, planes, reaches, places, uncut=uncut)
    held = list(final.kinds)
    for kind, (one, film) in enumerate(zip(job.each, films, strict=True)):
        if film.why_not:
            held[kind] = replace(held[kind], no_sag=NoSag.UNSOLVED, no_sag_because=film.why_not)
            continue
        try:
            made, films[kind] = _on_ledge(one, film, first.of(kind), final.of(kind), care)
            held[kind] = replace(held[kind], sag=made.sag)
        except NotConverged as error:
            films[kind] = _unsolved(one, final.of(kind), error)
            held[kind] = replace(held[kind], no_sag=NoSag.UNSOLVED, no_sag_because=films[kind].why_not)
    return replace(final, kinds=tuple(held)).of(job.kind), tuple(films)


def _looked_at(
    job: Job, made: Design, films: tuple[Filmed, ...], *, ranges: bool, extremes: bool
) -> tuple[Design, Filmed]:
    """The design and the film of the kind that is looked at, those of all kinds in them, with their ranges if asked."""
    if ranges:
        found = [
            with_ranges(one, mine, film, extremes=extremes)
            for one, mine, film in zip(job.each, made.each, films, strict=True)
        ]
        held = [replace(one, sag=mine.sag) for one, (mine, _) in zip(made.kinds, found, strict=True)]
        made, films = replace(made, kinds=tuple(held)), tuple(film for _, film in found)
    return made.of(job.kind), replace(films[job.kind], each=films)


def _unlettered(job: Job) -> Job:
    """The same holder without its lettering, where only heights and windows are wanted of it."""
    plain = job.preset.layout.model_copy(update={"label": False})
    return replace(job, preset=job.preset.model_copy(update={"layout": plain}))


def with_ranges(job: Job, made: Design, film: Filmed, *, extremes: bool = True) -> tuple[Design, Filmed]:
    """A design made without them, with what the other films of its kind would do put in.

    ``extremes=False`` puts in the films of other curls alone.
    """
    # glass, and film gripped by its mount, hardly curl; a fitting that settles the film has looked at other curls
    if film.sag is None or film.surface is None or job.film.kind == "mount":
        return made, film
    if film.sheet is not None and helper() is not None:
        curls = [natural_curls(job, curl) for curl, _, _ in odds_curls(job)]
        dried = None if warm_curl_per_m(job) is None else warm_curls(job)
        films_ahead(job.base, job.preset, film.sheet, film.surface.support, curls, dried, turned=film.turned)
    warm, room = warm_surface(job, film), lid_room_mm(film.surface.support)
    curled, base = curled_films(job, film), job.base
    looked = curls_of_bases(curled, base.curl_per_m, movable=film.surface.support.movable)
    sag = replace(
        film.sag,
        curled=curled,
        curl_range_per_m=(base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m),
        sought_per_m=sought_per_m(job),
        bases=base_spread(base, looked, partial(plate_rises, job, film)),
        along=along_spread(job.preset, film.sag.heights_mm, partial(along_rises, job, film)),
        lid_room_mm=room,
    )
    film = replace(film, warm_grid=None if warm is None else grid_of_surface(warm))
    sag = with_warmth(job, sag, film.picture, warm)
    made, film = replace(made, sag=sag), replace(film, sag=sag)
    return _with_worst(job.base, job.preset, made, film) if extremes else (made, film)


def with_extremes(job: Job, made: Design, film: Filmed) -> tuple[Design, Filmed]:
    """A design made with ``extremes=False``, with the worst film of each kind put in; nothing else of it changes."""
    if any(kind.settles_film for kind in fitted_in(job.preset)):
        return made, film
    if not job.kinds:
        return _with_worst(job.base, job.preset, made, film)
    found = [
        _with_worst(one.base, one.preset, mine, film.of(kind))
        for kind, (one, mine) in enumerate(zip(job.each, made.each, strict=True))
    ]
    held = [replace(one, sag=mine.sag) for one, (mine, _) in zip(made.kinds, found, strict=True)]
    films = tuple(replace(mine, each=()) for _, mine in found)
    return replace(made, kinds=tuple(held)).of(job.kind), replace(films[job.kind], each=films)


def _with_worst(base: FilmBase, preset: PlainPreset, made: Design, film: Filmed) -> tuple[Design, Filmed]:
    if (
        film.sag is None or film.surface is None or not film.sag.curled
    ):  # of glass and mounts none was looked at
        return made, film
    sag, found = film.sag, range_study(base, preset, film)
    if found is None:
        sag = replace(sag, worst_fraction=0.0, worst_case="no shape was found for films of its range")
        return replace(made, sag=sag), replace(film, sag=sag)
    words = found.worst.described
    if found.worst.lid_rise_mm > 0:
        words += f", {cold_rise(made.on_film.on_film)} {found.worst.lid_rise_mm:.2f} mm"
    sag = replace(sag, worst_fraction=found.worst.in_band_fraction, worst_case=words)
    return replace(made, sag=sag), replace(film, sag=sag, ranges=found)


def best_film(job: Job, made: Design, care: SolverOptions) -> Filmed:
    """The film's surface in this design and the best ledge for it.

    Raises ``NotConverged`` when no equilibrium was found within the work that ``care`` allows.
    """
    window, band, gap = made.mine[0], band_of(job.bed), least_gap_mm(job)
    picture = picture_of(job.film, window)
    if job.base.rigid:
        _, _, sag = _plate(job)
        best = (band.low_mm + band.high_mm) / 2 + float(sag.max()) / 2 - made.heights.optics
        return Filmed(None, None, picture, band, gap, best, 1.0, None, None, None, None)
    sheet, support = sheet_of(job, window), support_of(job, made)
    offset, least = job.film.plane_offset_mm, least_ledge(job)

    choice = best_ledge_height(
        sheet,
        support,
        picture,
        band,
        refractive_index=job.base.refractive_index,
        min_gap_mm=gap,
        lowest_mm=made.heights.foot_protrusion
        + least
        + print_offset_mm(job.printer, job.printed, least)
        + offset,
        highest_mm=max(job.bed.lid_room_mm, made.heights.ledge_above_glass + offset),
        effort=care.effort,
        tol=care.tol,
        resolution=care.resolution,
        recent=care.recent,
    )
    return Filmed(
        sheet,
        support,
        picture,
        band,
        gap,
        choice.ledge_height_mm - offset,
        choice.in_band_fraction,
        choice.surface,
        None,
        None,
        None,
        turned=window.turned,
    )


def _plate(job: Job) -> tuple[Array, Array, Array]:
    """Sag of a glass plate, or of the glass that the film lies on."""
    base, size = job.base, job.film
    return plate_sag_mm(
        size.cut_width_mm,
        size.cut_height_mm,
        job.plate_mm,
        modulus_mpa=base.modulus_mpa,
        poisson=base.poisson,
        density_kg_m3=base.density_kg_m3,
    )


def _placed(job: Job, film: Filmed, made: Design, care: SolverOptions) -> tuple[HeightGrid, Surface | None]:
    """The heights of the film on the ledge of ``made``, and the solver's surface there (None for glass)."""
    height = made.heights.ledge_above_glass + job.film.plane_offset_mm
    if film.surface is None or film.sheet is None or film.support is None:
        x, y, sag = _plate(job)
        what = "glass plate" if job.on_glass is None else "glass that the film lies on"
        words = f"{what}: linear theory, Navier's series"
        return HeightGrid(x, y, height - sag, True, 1, 0.0, words), None
    try:
        s = shifted(film.surface, height)
    except InputError:  # it meets the glass there, so its shape is another
        support = film.support.model_copy(update={"ledge_height_mm": height})
        s = solve_surface(film.sheet, support, tol=care.tol, resolution=care.resolution, effort=care.effort)
    words = "film: large deflections with one-sided contact"
    return HeightGrid(s.x, s.y, s.z, s.converged, s.iterations, s.residual, words), s


def _sag(job: Job, film: Filmed, grid: HeightGrid, surface: Surface | None) -> Sag:
    """Sag, gap and the share in focus of the film at those heights."""
    heights = picture_grid(grid, film.picture) + image_rise_mm(job)
    share = float(np.mean((heights >= film.band.low_mm - EVEN) & (heights <= film.band.high_mm + EVEN)))
    edge, lowest = float(grid.z[0, 0]), float(grid.z.min())  # a plate's corner is its edge height
    if surface is None:
        most, mean, gap = edge - lowest, edge - float(np.trapezoid(np.trapezoid(grid.z, grid.x), grid.y)) / (
            float(grid.x[-1] * grid.y[-1])
        ), lowest - (0.0 if job.on_glass is None else job.on_glass.hang_mm)  # fmt: skip
    else:
        most, mean, gap = surface.max_sag_mm, surface.mean_sag_mm, surface.min_gap_mm
    pressed = 0.0 if surface is None else surface.pressed_down_n
    lid = None if surface is None else surface.lid
    return Sag(most, mean, gap, share, film.least_gap_mm, film.best_fraction, pressed_down_n=pressed, lid=lid)


def _reach_at_best(job: Job, film: Filmed) -> tuple[float, float]:
    """The same with the ledge where it would best be."""
    if film.surface is None:
        x, y, sag = _plate(job)
        return picture_reach(
            job.film, HeightGrid(x, y, -sag, True, 1, 0.0, ""), film.picture, -job.film.plane_offset_mm
        )
    s = film.surface
    grid = HeightGrid(s.x, s.y, s.z, s.converged, s.iterations, s.residual, "")
    return picture_reach(job.film, grid, film.picture, s.support.ledge_height_mm - job.film.plane_offset_mm)
