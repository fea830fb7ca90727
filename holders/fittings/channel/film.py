"""The strip in its channel: bent across its width only, between terraces below and the lid's rails above.

A long strip that curls across its width alone bends like a beam with the plate's stiffness D in place of E I
(cylindrical bending: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, chapter 1, from memory). Its
section is found in cubic pieces as the shape of least bending energy that stays between the rails. Curl along the
strip, and the ends, are not looked at: the arc stiffens the strip against both.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import lsq_linear

from holders.core.errors import NotConverged
from holders.design.height.heights import least_ledge
from holders.design.held.film_ranges import Heights, base_spread, curls_of_bases
from holders.design.held.held_film import band_of, least_gap_mm, picture_of
from holders.design.held.model import EVEN, Filmed, HeightGrid, picture_grid, picture_reach, picture_rises
from holders.design.held.warm_film import (
    odds_curls,
    shape_of,
    sought_per_m,
    warm_curl_per_m,
    with_shape,
    with_warmth,
)
from holders.design.model import Design
from holders.design.other_films import CurledFilm
from holders.design.sag import NoSag, Sag
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.curl_words import curl_words
from holders.facts.models import Bed, FilmBase
from holders.film.band import Picture
from holders.film.hold import Hold
from holders.film.models import Array, LidRest
from holders.fittings.channel.arc import Channel
from holders.preset.resolve import Job

POINTS = 161  # of the section, from the middle to the edge
EVEN_NODES = 15
PAST_MM = 0.05
MOST_NODES = 60  # terraces of layers of 0.05 mm and less can have more corners than matter
ALONG = 9  # points along the strip, all alike
FIRST_RISE_MM, MOST_RISE_MM, CLOSE_MM = 0.1, 6.0, 0.003
FAR_MM = 10.0  # gravity is a pull toward a place so far below that it hardly changes with the height


@dataclass(frozen=True, slots=True)
class Section:
    """Half of the strip's section: height ``w`` over the ledge at ``x`` from the middle, mm.

    ``push_n_per_mm`` is what the whole section pushes up with against the lid's rails for each mm of the strip's
    length, ``carried_n_per_mm`` what the rails below carry, ``energy_n`` its energy for each mm.
    """

    x: Array
    w: Array
    iterations: int
    residual: float
    push_n_per_mm: float = 0.0
    carried_n_per_mm: float = 0.0
    energy_n: float = 0.0


def section(base: FilmBase, made: Channel, curl_per_m: float, thickness_mm: float | None = None) -> Section:
    """The strip of that curl (positive: toward the emulsion, so an arch) between its rails.

    Raises ``NotConverged`` when the search for the least energy did not end.
    """
    t = base.thickness_mm if thickness_mm is None else thickness_mm
    stiff = base.modulus_mpa * t**3 / (12 * (1 - base.poisson**2))
    weight = base.density_kg_m3 * 1e-9 * GRAVITY_M_S2 * t
    nodes = _nodes(made)
    rows, wanted = _bending(nodes, curl_per_m * 1e-3)
    share = np.gradient(nodes)
    share[[0, -1]] /= 2
    pull = np.sqrt(weight / (FAR_MM * stiff) * share)
    sink = np.zeros((nodes.size, 2 * nodes.size))
    sink[np.arange(nodes.size), 2 * np.arange(nodes.size)] = pull
    low, high = bounds_mm(made, nodes, t)
    free = np.full(nodes.size, np.inf)
    limits = np.column_stack([low, -free]).ravel(), np.column_stack([high, free]).ravel()
    limits[0][1], limits[1][1] = -1e-12, 1e-12  # level in the middle, as the other half mirrors it
    matrix, aim = np.vstack([rows, sink]), np.concatenate([wanted, -pull * FAR_MM])
    with np.errstate(over="ignore", invalid="ignore"):  # of a curl beyond all reason; told below
        found = lsq_linear(
            matrix,
            aim,
            bounds=limits,
            method="bvls",
            tol=1e-15,
            max_iter=500,
        )
    if found.status <= 0 or not found.optimality <= 1e-8:  # not a number is no answer either
        raise NotConverged(f"the strip's section: {found.message}")
    x = np.linspace(0.0, made.half, POINTS)
    w = CubicHermiteSpline(nodes, found.x[0::2], found.x[1::2])(x)
    # what holds each height where it is, by the slope of the energy there: both halves, each mm of length
    held = (2 * stiff * (matrix.T @ (matrix @ found.x - aim)))[0::2]
    up, down = -float(held[held < 0].sum()), float(held[held > 0].sum())
    energy = 2 * stiff * (float(found.cost) - 0.5 * float(np.sum((pull * FAR_MM) ** 2)))
    return Section(x, np.asarray(w, dtype=float), int(found.nit), float(found.optimality), up, down, energy)


@dataclass(frozen=True, slots=True)
class Under:
    """A strip under its lid, which has come to rest on it."""

    half: Section
    lid: LidRest | None


def strip_under(job: Job, made: Design, curl_per_m: float, base: FilmBase | None = None) -> Under:
    """The strip of that curl and base between its rails; the upper ones lie with their lid's weight and rise with it.

    Left out, the base is the usual one of the film.

    Raises ``NotConverged`` as :func:`section`, and where strip and lid are nowhere found in balance.
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - few strips lift anything

    arc, hold, long = _channel_of(made), _hold_of(job, made), made.windows[0].film.height
    film = job.base if base is None else base
    down = section(film, arc, curl_per_m)
    if hold is None:
        return Under(down, None)
    needed, held = down.push_n_per_mm * long, hold.force_n()
    if needed <= held:
        return Under(down, LidRest(hold.weight_n, held, needed, 0.0))

    def at(rise: float) -> Section:
        return section(film, replace(arc, roof=arc.roof + rise), curl_per_m)

    def surplus(rise: float) -> float:
        return at(rise).push_n_per_mm * long - hold.force_n(rise)

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


def _nodes(made: Channel) -> Array:
    """Where the strip can touch: every corner of the rails, just past it, and a few places between.

    Where that makes more than ``MOST_NODES`` those just past the corners are left out, which hold nothing back, and of
    corners that lie closer still some, evenly.
    """
    half = made.half
    corners = [made.window, made.lid_edge, *made.low, *made.high]
    past = [c + PAST_MM for c in (*made.low, made.window)] + [c - PAST_MM for c in made.high]
    even = np.linspace(0.0, half, EVEN_NODES).tolist()
    least = PAST_MM / 2
    kept = _apart((*corners, *past, *even), half, least)
    if len(kept) > MOST_NODES:
        kept = _apart((*corners, *even), half, least)
    while len(kept) > MOST_NODES:
        least *= 1.25
        kept = _apart((*corners, *even), half, least)
    kept[-1] = half
    return np.array(kept)


def _apart(places: Sequence[float], half: float, least: float) -> list[float]:
    """The places from the middle to the edge, without those that lie less than ``least`` past the one before."""
    inside = sorted(v for v in places if 0.0 <= v <= half)
    kept = [inside[0]]
    for v in inside[1:]:
        if v - kept[-1] > least:
            kept.append(v)
    return kept


def _bending(nodes: Array, curl_per_mm: float) -> tuple[Array, Array]:
    """Rows whose squares add up to the integral of (w'' + curl)² for cubic pieces, exactly, and what they should be.

    Unknowns are height and slope at each node in turn; two Gauss points a piece, as w'' is linear on it.
    """
    pieces = nodes.size - 1
    rows, wanted = np.zeros((2 * pieces, 2 * nodes.size)), np.zeros(2 * pieces)
    for k in range(pieces):
        length = nodes[k + 1] - nodes[k]
        for g, at in enumerate((-1 / np.sqrt(3.0), 1 / np.sqrt(3.0))):
            u = (1 + at) / 2
            second = np.array(
                [
                    (12 * u - 6) / length**2,
                    (6 * u - 4) / length,
                    (6 - 12 * u) / length**2,
                    (6 * u - 2) / length,
                ]
            )
            weight = np.sqrt(length / 2)
            rows[2 * k + g, 2 * k : 2 * k + 4] = weight * second
            wanted[2 * k + g] = -weight * curl_per_mm
    return rows, wanted


def bounds_mm(made: Channel, x: Array, thickness_mm: float) -> tuple[Array, Array]:
    """Least and greatest height of the film's underside over the ledge at distances ``x`` from the middle, mm."""
    low, high = np.full(x.shape, -np.inf), np.full(x.shape, np.inf)
    low[x >= made.window] = 0.0
    for k, corner in enumerate(made.low[:-1], 1):
        low[x > corner + EVEN] = -k * made.layer
    high[x >= made.lid_edge] = made.roof - thickness_mm
    for k, corner in enumerate(made.high, 1):
        high[x >= corner - EVEN] = made.roof - k * made.layer - thickness_mm
    return low, np.maximum(high, low + 1e-6)  # a film too thick for its slot is pinched, not impossible


def channelled(job: Job, first: Design, again: Callable[[float], Design]) -> tuple[Design, Filmed]:
    """The design with the ledge that puts the strip's arc in the middle of the focus band, and its film.

    The ledge stands at the focus height, as in ``first``, if the preset says so; ``again`` designs with another.
    """
    band, picture, gap = band_of(job.bed), picture_of(job.film, first.windows[0]), least_gap_mm(job)
    try:
        under = strip_under(job, first, job.base.curl_per_m)
        usual = under.half
    except NotConverged as error:
        why = f"{error}; the ledge stands at the focus height"
        return replace(first, no_sag=NoSag.UNSOLVED, no_sag_because=why), Filmed(
            None, None, picture, band, gap, *(None,) * 6, why
        )  # fmt: skip
    offsets = picture_grid(grid_of(first, usual, 0.0), picture)
    middle = (float(offsets.min()) + float(offsets.max())) / 2
    lowest = first.heights.foot_protrusion + least_ledge(job)
    best = max((band.low_mm + band.high_mm) / 2 - middle, lowest)
    final = first if job.preset.ledge == "focus" else again(best)
    height = final.heights.ledge_above_glass
    grid = grid_of(final, usual, height)
    flat = _sag(
        job,
        picture,
        usual,
        grid_of(first, usual, first.heights.ledge_above_glass),
        first.heights.ledge_above_glass,
    )
    worst, words = _worst(job, final, picture, height)
    curled, base = _curled(job, final, picture, height), job.base

    def rises(other: FilmBase, curl_per_m: float) -> Heights:
        half = strip_under(job, final, curl_per_m, other).half
        return picture_rises(job.film, grid_of(final, half, height), picture, height)

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
        pressed_down_n=usual.push_n_per_mm * first.windows[0].film.height,
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


def grid_of(made: Design, half: Section, ledge_mm: float) -> HeightGrid:
    """The section mirrored and drawn out along the strip, its ledge ``ledge_mm`` above the glass."""
    film = made.windows[0].film
    x = np.concatenate([film.width / 2 - half.x[:0:-1], film.width / 2 + half.x])
    w = np.concatenate([half.w[:0:-1], half.w])
    y = np.linspace(0.0, film.height, ALONG)
    z = ledge_mm + np.tile(w, (ALONG, 1))
    words = "strip in its channel: bent across its width only, between the rails (no curl along it)"
    return HeightGrid(x, y, z, True, half.iterations, half.residual, words)


def share(bed: Bed, heights: Array) -> float:
    """Share of those heights that lie in the focus band."""
    band = band_of(bed)
    return float(np.mean((heights >= band.low_mm - EVEN) & (heights <= band.high_mm + EVEN)))


def _sag(job: Job, picture: Picture, half: Section, grid: HeightGrid, ledge: float) -> Sag:
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
        try:
            under = strip_under(job, made, curl)
        except NotConverged:
            continue
        rises = picture_rises(job.film, grid_of(made, under.half, ledge), picture, ledge)
        found.append(CurledFilm(curl, 0.0, below, rises, under.lid, inside))
    return tuple(found)


def _warmed(
    job: Job, made: Design, sag: Sag, picture: Picture, ledge: float
) -> tuple[Sag, HeightGrid | None]:
    """The film's numbers with those of the strip on the warm bed, and its heights where they are others."""
    curl = warm_curl_per_m(job)
    if curl is None:
        return with_warmth(job, sag, picture, None), None
    try:
        under = strip_under(job, made, curl)
    except NotConverged:
        return with_warmth(job, sag, picture, None), None
    grid = grid_of(made, under.half, ledge)
    warm, rise = _sag(job, picture, under.half, grid, ledge), 0.0 if under.lid is None else under.lid.rise_mm
    numbers = {"max_mm": warm.max_mm, "mean_mm": warm.mean_mm, "min_gap_mm": warm.min_gap_mm, "rise_mm": rise}
    return with_shape(job, sag, shape_of(job, grid, picture, ledge, **numbers), ledge), grid


def _worst(job: Job, made: Design, picture: Picture, ledge: float) -> tuple[float | None, str]:
    """The flattest and the most curled strip that the base's range allows: the worse of them."""
    found = []
    for name, curl in (("least", job.base.curl_low_per_m), ("most", job.base.curl_high_per_m)):
        words = f"{name} curl of its base, {curl_words(curl, job.film.cut_width_mm)}"
        try:
            under = strip_under(job, made, curl)
        except NotConverged:
            found.append((0.0, f"{words}: no shape was found"))
        else:
            found.append((share(job.bed, picture_grid(grid_of(made, under.half, ledge), picture)), words))
    return min(found)
