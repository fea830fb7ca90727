"""What is not known of a film, as ranges: the spread of its surface, and the same film laid in otherwise."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import lru_cache

import numpy as np

from holders.core.errors import NotConverged
from holders.design.held.curl_odds import softness
from holders.design.held.held_film import GLASS_INDEX, channels_of, facing_index
from holders.design.held.model import Filmed, grid_of_surface, picture_rises
from holders.design.held.warm_film import natural_curls, odds_curls
from holders.design.other_films import AlongSpread, BaseSpread, CurledFilm
from holders.facts.habits import habit
from holders.facts.models import FilmBase, FilmFormat
from holders.facts.tables import lamp
from holders.film.band import Band, Picture
from holders.film.compare import KINDS, compare
from holders.film.models import Kind, Sheet, Support, Surface
from holders.film.ranges import (
    CASE_EFFORT,
    MOVABLE_EFFORT,
    STUDY_TOL,
    Span,
    Study,
    Unknowns,
    curl_shapes,
    study,
    study_resolution,
)
from holders.film.rings import ring_risk
from holders.film.surface import solve_ahead
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

Heights = tuple[tuple[float, ...], ...]
KIND_WORDS = {
    Kind.LEDGE: "ledge only",
    Kind.LID: "lid frame with play",
    Kind.COVER: "glass cover on top",
    Kind.GRIPPED: "edges pressed, may slide",
    Kind.GRIPPED_HELD: "edges held fast (a bound)",
}
SAMPLES = 8  # of thickness, stiffness and curl together; curl alone is looked at besides
LID_PLAY_MM = 0.2  # play assumed in the comparison when the holder has no lid: the preset's own default


def unknowns(base: FilmBase, preset: PlainPreset, film: Filmed) -> Unknowns:
    """The ranges of the film's base: thickness, modulus and curl across the short side."""
    curl = Span(base.curl_low_per_m, base.curl_high_per_m, base.curl_per_m)
    across_y = film.turned
    low, along, high = along_range_per_m(preset)
    known = Span(low, high, along)
    return Unknowns(
        thickness_mm=Span(base.thickness_low_mm, base.thickness_high_mm, base.thickness_mm),
        modulus_mpa=Span(base.modulus_low_mpa, base.modulus_high_mpa, base.modulus_mpa),
        curl_x_per_m=known if across_y else curl,
        curl_y_per_m=curl if across_y else known,
    )


def range_study(base: FilmBase, preset: PlainPreset, film: Filmed) -> Study | None:
    """The spread of the results at the ledge as built; None for glass and where it cannot be had.

    The one that was made with the film, where it was.
    """
    if film.ranges is not None or film.sheet is None or film.support is None or film.surface is None:
        return film.ranges
    try:
        return _studied(
            film.sheet,
            film.surface.support,
            unknowns(base, preset, film),
            film.picture,
            film.band,
            base.refractive_index,
            film.least_gap_mm,
        )
    except NotConverged:
        return None


@lru_cache(
    maxsize=16
)  # of changes that are tried on one holder, many leave the film and what holds it as they are
def _studied(
    sheet: Sheet,
    support: Support,
    ranges: Unknowns,
    picture: Picture,
    band: Band,
    refractive_index: float,
    min_gap_mm: float,
) -> Study:
    """The study of one film on one support; raises NotConverged."""
    return study(
        sheet,
        support,
        ranges,
        picture,
        band,
        refractive_index=refractive_index,
        min_gap_mm=min_gap_mm,
        ledge_height_mm=support.ledge_height_mm,
        samples=SAMPLES,
    )


@lru_cache(maxsize=128)
def _bent(
    sheet: Sheet, support: Support, curls_per_m: tuple[tuple[float, float], ...]
) -> tuple[Surface, ...]:
    return curl_shapes(sheet, support, curls_per_m)


def curled_films(job: Job, film: Filmed) -> tuple[CurledFilm, ...]:
    """The films of other curls as heights over their pictures, by growing curl across, without those of no shape.

    The usual film alone where no other finds one; nothing where none is known of the usual one.
    """
    if film.sheet is None or film.surface is None:
        return ()
    every, made = odds_curls(job), []
    natural = [natural_curls(job, curl) for curl, _, _ in every]
    pairs = [(along, across) if film.turned else (across, along) for across, along in natural]
    try:
        shapes = _bent(film.sheet, film.surface.support, tuple(pairs))
    except NotConverged:
        usual, (_, along) = film.surface, natural_curls(job, job.base.curl_per_m)
        return (
            CurledFilm(job.base.curl_per_m, along, 0.5, _rises(job.film, usual, film.picture), usual.lid),
        )
    for both, (_, along), (curl, below, inside) in zip(pairs, natural, every, strict=True):
        surface = next((s for s in shapes if (s.sheet.curl_x_per_m, s.sheet.curl_y_per_m) == both), None)
        if surface is None:
            continue
        rises = _rises(job.film, surface, film.picture)
        made.append(CurledFilm(curl, along, below, rises, surface.lid, inside))
    return tuple(made)


def _rises(kind: FilmFormat, surface: Surface, picture: Picture) -> Heights:
    """Heights of a surface's picture over its ledge."""
    ledge = surface.support.ledge_height_mm - kind.plane_offset_mm
    return picture_rises(kind, grid_of_surface(surface), picture, ledge)


def films_ahead(
    base: FilmBase,
    preset: PlainPreset,
    sheet: Sheet,
    support: Support,
    curls: Sequence[tuple[float, float]],
    warm: tuple[float, float] | None,
    *,
    turned: bool,
) -> None:
    """Share with this process's helper the other films that will be asked for: of other curls and bases, and the warm
    one. Nothing is done without a helper.

    ``curls`` are those of the odds in their order, ``warm`` the warm film's where it is another; each across and along.
    """

    def laid(both: tuple[float, float]) -> dict[str, float]:
        across, along = both
        x, y = (along, across) if turned else (across, along)
        return {"curl_x_per_m": x, "curl_y_per_m": y}

    sheets = [sheet.model_copy(update=laid(both)) for both in (*curls, *(() if warm is None else (warm,)))]
    usual = [both for both in curls if both[0] == base.curl_per_m]
    looked = usual if support.movable else [*curls[:-1:2], *curls[-1:]]
    for thick, stiff in (
        (base.thickness_low_mm, base.modulus_low_mpa),
        (base.thickness_high_mm, base.modulus_high_mpa),
    ):
        other = {"thickness_mm": thick, "modulus_mpa": stiff}
        sheets += [sheet.model_copy(update={**laid(both), **other}) for both in looked]
    low, along, high = along_range_per_m(preset)
    if along:
        sheets += [sheet.model_copy(update=laid((base.curl_per_m, end))) for end in (low, high)]
    effort = CASE_EFFORT * (MOVABLE_EFFORT if support.movable else 1.0)
    solve_ahead(((one, support) for one in sheets), STUDY_TOL, study_resolution(support), effort)


Rises = Callable[[FilmBase, float], Heights]


def base_spread(base: FilmBase, curled: Sequence[CurledFilm], rises: Rises) -> BaseSpread | None:
    """Films on the softest and on the stiffest base of their kind, at each of the curls; None where they are one, or
    not found.

    ``rises`` gives the heights of the picture over the ledge of a film of that base and curl across, or raises
    ``NotConverged``.
    """
    thick = base.thickness_low_mm, base.thickness_mm, base.thickness_high_mm
    stiff = base.modulus_low_mpa, base.modulus_mpa, base.modulus_high_mpa
    if (thick[0], stiff[0]) == (thick[2], stiff[2]):
        return None
    soft, hard = (
        base.model_copy(update={"thickness_mm": t, "modulus_mpa": modulus})
        for t, modulus in ((thick[0], stiff[0]), (thick[2], stiff[2]))
    )
    found: list[tuple[float, Heights, Heights]] = []
    for one in curled:
        try:
            ends = [
                np.asarray(rises(end, one.across_per_m)) - np.asarray(one.heights_mm) for end in (soft, hard)
            ]
        except NotConverged:
            continue
        more, less = (tuple(tuple(float(z) for z in row) for row in np.round(end, 6)) for end in ends)
        found.append((one.across_per_m, more, less))
    if not found:
        return None
    curls, softest, stiffest = zip(*found, strict=True)
    return BaseSpread(curls, softest, stiffest, softness(thick, stiff))


def along_range_per_m(preset: PlainPreset) -> tuple[float, float, float]:
    """Least, usual and most natural curl along the film, 1/m: about what the preset says by a share of it."""
    along = preset.film.curl_along_per_m
    spread = abs(along) * habit("curl-along-spread")
    return along - spread, along, along + spread


def along_spread(
    preset: PlainPreset, usual: Heights, rises: Callable[[float], Heights]
) -> AlongSpread | None:
    """Film that curls less and more along than the preset says; None where that says of none, or none was found.

    ``rises`` gives the heights of the picture over the ledge of the film of that curl along, or raises
    ``NotConverged``.
    """
    low, along, high = along_range_per_m(preset)
    if not along:
        return None
    try:
        ends = [np.round(np.asarray(rises(end)) - np.asarray(usual), 6) for end in (low, high)]
    except NotConverged:
        return None
    less, more = (tuple(tuple(float(z) for z in row) for row in end) for end in ends)
    return AlongSpread(low, high, less, more)


def curls_of_bases(
    curled: Sequence[CurledFilm], usual_per_m: float, *, movable: bool
) -> Sequence[CurledFilm]:
    """The curls at which other bases are looked at: every other one, or under a lid or cover that can move (which takes
    ten times as long, and where bases differ by less) the usual one alone.
    """
    if movable:
        return [one for one in curled if one.across_per_m == usual_per_m]
    return (*curled[:-1:2], *curled[-1:])


def plate_rises(job: Job, film: Filmed, base: FilmBase, curl_per_m: float) -> Heights:
    """Heights of the picture over the ledge of a film of another base and curl; raises ``NotConverged``."""
    assert film.sheet is not None
    assert film.surface is not None
    across, along = natural_curls(job, curl_per_m)
    sheet = film.sheet.model_copy(update={"thickness_mm": base.thickness_mm, "modulus_mpa": base.modulus_mpa})
    (s,) = _bent(sheet, film.surface.support, ((along, across) if film.turned else (across, along),))
    return _rises(job.film, s, film.picture)


def along_rises(job: Job, film: Filmed, along_per_m: float) -> Heights:
    """Heights of the picture over the ledge of the usual film with another curl along; raises ``NotConverged``."""
    assert film.sheet is not None
    assert film.surface is not None
    across = job.base.curl_per_m
    pair = (along_per_m, across) if film.turned else (across, along_per_m)
    (s,) = _bent(film.sheet, film.surface.support, (pair,))
    return _rises(job.film, s, film.picture)


def comparison(base: FilmBase, film: Filmed) -> list[tuple[str, ...]]:
    """Rows of the one table that compares lid and no lid, emulsion up and down; empty for glass and mounts."""
    if film.sheet is None or film.support is None or film.support.kind is Kind.GRIPPED:
        return []
    support = film.support
    kinds: list[tuple[Support, tuple[Kind, ...]]] = [(support, KINDS)]
    if support.lid_play_mm == 0.0 and support.lid_lips is None:
        kinds = [(support.model_copy(update={"lid_play_mm": LID_PLAY_MM}), KINDS)]
    if support.kind is Kind.COVER:  # it lies on the film: without the play that a lid is given
        kinds.insert(0, (support, (Kind.COVER,)))
    rows = [
        row
        for held, several in kinds
        for row in compare(
            film.sheet,
            held,
            film.picture,
            film.band,
            refractive_index=base.refractive_index,
            min_gap_mm=film.least_gap_mm,
            kinds=several,
        )
    ]
    return [
        (
            KIND_WORDS[row.kind],
            row.emulsion,
            _number(row.max_sag_mm),
            _number(row.max_rise_mm),
            "" if row.in_band_fraction is None else f"{100 * row.in_band_fraction:.1f} %",
            _number(row.best_ledge_height_mm),
            _number(row.min_gap_mm),
            row.note,
        )
        for row in rows
    ]


def ring_words(job: Job, film: Filmed) -> str:
    """Whether rings can show, and where on the picture."""
    if film.surface is None:
        return (
            "no film near the glass" if film.sag and film.sag.min_gap_mm > film.least_gap_mm else "possible"
        )
    risk = ring_risk(
        film.surface,
        channels_of(lamp(job.bed.lamp)),
        film_index=facing_index(job.base, job.preset),
        glass_index=GLASS_INDEX,
        picture=film.picture if job.film.kind != "mount" else None,
    )
    limit = f"below a gap of {1000 * risk.gap_limit_mm:.1f} micrometres ({risk.channel} light)"
    if risk.share <= 0:
        # the nearest place of the whole film, as everywhere else: on the ledge it may be nearer than in the picture
        least = risk.least_gap_mm if film.sag is None else film.sag.min_gap_mm
        return f"none to be expected: they show {limit}, and the film stays {least:.2f} mm away"
    return f"can show on {100 * risk.share:.1f} % of the picture, where it comes {limit}"


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:.2f}"
