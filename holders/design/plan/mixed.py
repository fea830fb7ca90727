"""Several kinds of film on one bed: each kind turned one way or the other, and all packed inside the lamp area."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.core.limits import MOST_WINDOWS
from holders.design.draft.bed import calibration, keep_open, lamp_rect, margin_mm, outer_rect, wall_mm
from holders.design.draft.lips import Laid, laid, lips
from holders.design.draft.places import Layout, Place
from holders.design.model import Edges, Rect
from holders.facts.models import Bed
from holders.facts.tables import process
from holders.fittings.registry import fitted_in
from holders.geometry.packing import Sort, Spot, most_by_area, packed
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

TURNS = {"auto": (False, True), "never": (False,), "always": (True,)}


@dataclass(frozen=True, slots=True)
class _Lying:
    """One kind of film the way it may lie: its lips, and the rectangle that it needs with all that stands round it."""

    film: Laid
    lips: Edges
    margin: float
    shoulder: float

    @property
    def reach(self) -> float:
        """From the film's edge to the outside of what it needs, mm."""
        return self.margin + self.shoulder

    def sort(self, bed: Bed, preset: PlainPreset, outer: Rect, wall: float, count: int) -> Sort:
        """The rectangles of this kind for the packing, opening in the light and walls within the holder."""
        lamp, zone, r, e = lamp_rect(bed), keep_open(bed, preset), self.reach, self.lips
        lowest = outer.y + wall if zone is None else max(outer.y + wall, zone.top + wall)
        wide, high = self.film.width + 2 * r, self.film.height + 2 * r
        return Sort(
            wide,
            high,
            count,
            (
                max(lamp.x - r - e.left, outer.x + wall),
                min(lamp.right + r + e.right, outer.right - wall) - wide,
            ),
            (
                max(lamp.y - r - e.foot, lowest),
                min(lamp.top + r + e.head, outer.top - wall) - high,
            ),
        )

    def place(self, spot: Spot) -> Place:
        """The film's rectangles on the bed."""
        film = Rect(spot.x + self.reach, spot.y + self.reach, self.film.width, self.film.height)
        side, end, e = self.film.border("left"), self.film.border("head"), self.lips
        pocket = film.grown(self.margin)
        return Place(
            film=film,
            picture=film.inset(side, side, end, end),
            opening=film.inset(e.left, e.right, e.head, e.foot),
            pocket=pocket,
            room=pocket.grown(self.shoulder),
            kind=spot.sort,
        )


def lay_out_mixed(job: Job, shoulder: float) -> Layout:
    """Place the films of all kinds; ``shoulder`` is what a fitting rests on beside each pocket, mm.

    Raises
    ------
    InputError
        Where a fitting takes one kind of film only, or not all of the films fit: it says how many of each kind do.
    """
    _takes_mixed(job)
    counts = tuple(1 if one.count == "fill" else int(one.count) for one in job.kinds)
    found = _tried(job, counts, shoulder)
    if found is not None and job.kinds[0].count == "fill":
        found = _filled(job, counts, shoulder, found)
    if found is None:
        raise _no_room(job, counts, shoulder)
    ways, spots = found
    if len(spots) > MOST_WINDOWS:
        raise InputError(
            "more_films", f"{len(spots)} films", f"one holder has at most {MOST_WINDOWS} windows: ask for fewer, or "
            "make several holders",
        )  # fmt: skip
    bed, first = job.bed, ways[0]
    return Layout(
        outer=outer_rect(job.bed, job.preset),
        glass=Rect(0, 0, bed.glass_width_mm, bed.glass_length_mm),
        lamp=lamp_rect(bed),
        calibration=calibration(bed),
        keep_open=keep_open(bed, job.preset),
        places=tuple(ways[spot.sort].place(spot) for spot in spots),
        lips=first.lips,
        laid=first.film,
        wall=wall_mm(job.preset),
        shoulder=shoulder,
        kinds=tuple((way.lips, way.film) for way in ways),
    )


_Found = tuple[tuple[_Lying, ...], tuple[Spot, ...]]


def _tried(job: Job, counts: Sequence[int], shoulder: float) -> _Found | None:
    """The first way of turning the kinds in which all find room, unturned before turned; None where none does."""
    outer, wall, rules = outer_rect(job.bed, job.preset), wall_mm(job.preset), process(job.preset.route)
    wish = wall + 2 * rules.notch_depth_mm  # room for a notch on both sides
    turns = TURNS[job.preset.layout.turn]
    each = [[_lying(one, turned, shoulder) for turned in turns] for one in job.each]
    for ways in itertools.product(*each):
        kinds = zip(ways, counts, strict=True)
        sorts = [way.sort(job.bed, job.preset, outer, wall, count) for way, count in kinds]
        spots = packed(sorts, wall, wish)
        if spots is not None:
            return ways, spots
    return None


def _lying(job: Job, turned: bool, shoulder: float) -> _Lying:
    film = laid(job.film, turned)
    wanted = max((kind.lip_mm(job) for kind in fitted_in(job.preset)), default=0.0)
    return _Lying(film, lips(job, film, wanted), margin_mm(job.film, job.preset), shoulder)


def _filled(job: Job, counts: tuple[int, ...], shoulder: float, least: _Found) -> _Found:
    """As many of the first kind as fit beside the others, found by halving: more are taken to fit less."""
    outer, rest = outer_rect(job.bed, job.preset), counts[1:]
    film = job.kinds[0].film
    most = most_by_area(film.cut_width_mm, film.cut_height_mm, (outer.width, outer.height))
    low, high, best = 1, max(1, min(most, MOST_WINDOWS - sum(rest))) + 1, least
    while high - low > 1:
        count = (low + high) // 2
        found = _tried(job, (count, *rest), shoulder)
        if found is None:
            high = count
        else:
            low, best = count, found
    return best


def _takes_mixed(job: Job) -> None:
    """Refuse a fitting that is made for one kind of film, where it may be left out if all films have room then."""
    for kind in fitted_in(job.preset):
        if kind.takes_mixed:
            continue
        plain = replace(job, preset=job.preset.model_copy(update={kind.key: None}))
        try:
            lay_out_mixed(plain, sum(other.shoulder_mm(plain) for other in fitted_in(plain.preset)))
            ways = f"leave out [{kind.key}]: the films have room without it; or make a holder for each film"
        except InputError:
            ways = "make a holder for each film"
        raise InputError(kind.key, "(set)", f"is for one kind of film, and this holder has several: {ways}")


def _no_room(job: Job, counts: tuple[int, ...], shoulder: float) -> InputError:
    """The refusal, with the numbers of films that do fit, each tried."""
    names = [one.film.name for one in job.each]
    ways = []
    for k in reversed(range(len(counts))):
        fewer = next(
            (
                n
                for n in range(counts[k] - 1, 0, -1)
                if _tried(job, (*counts[:k], n, *counts[k + 1 :]), shoulder) is not None
            ),
            None,
        )
        if fewer is not None:
            ways.append(f"{_count_key(k)} = {fewer}")
    without = [names[k] for k in range(1, len(counts)) if _fits_without(job, counts, shoulder, k)]
    if without and not ways:
        ways.append(f"leave out {' or '.join(without)}")
    asked = " and ".join(f"{n} of {name}" for n, name in zip(counts, names, strict=True))
    last = len(counts) - 1
    return InputError(
        _count_key(last), counts[last], f"{asked} do not fit this bed together; {' or '.join(ways)}"
        if ways else f"{asked} do not fit this bed together: make a holder for each",
    )  # fmt: skip


def _fits_without(job: Job, counts: tuple[int, ...], shoulder: float, number: int) -> bool:
    """Whether the others fit where one kind is left out."""
    kinds = tuple(one for k, one in enumerate(job.kinds) if k != number)
    rest = tuple(n for k, n in enumerate(counts) if k != number)
    return _tried(replace(job.of(0), kinds=kinds), rest, shoulder) is not None


def _count_key(number: int) -> str:
    return "layout.count" if number == 0 else f"more_films.{number - 1}.count"
