"""The best ways to hold a film: every sensible combination tried, ranked by the chance of a good scan and its price."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from holders.core.errors import HoldersError
from holders.core.lines import Choice
from holders.fittings.registry import FITTINGS, fitted_in
from holders.measure.bed.record import Measured
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.search.candidates import FINE_LAYER_MM, film_keys, one_more_sheet, rivals_of
from holders.search.effort import effort_of
from holders.search.halves import in_halves
from holders.search.smaller import Smaller, as_good, small_frame
from holders.study import Basis, Study, basis_of, study
from holders.verdict.judge import OWN

MOST_WAYS = 8
POOR = 0.5  # of the best chance: a way that is less likely than that is not worth showing
ALIKE = 0.005  # of the chance: no reason to prefer one way to another


Combination = tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class Way:
    """One way to hold the film, designed and judged; lengths of time in minutes, area in mm²."""

    text: str
    chance: float
    minutes: float
    cost: float | None
    hidden_mm2: float
    keys: Mapping[str, object]
    preset: str
    needs: frozenset[str] = frozenset()
    warnings: int = 0  # of its checks, beside that on the chance itself


@dataclass(frozen=True, slots=True)
class Ways:
    """What a search found: how many combinations were tried, and the ways worth having, the best first."""

    tried: int
    ways: tuple[Way, ...]


def choices(found: Study) -> tuple[tuple[Choice, ...], ...]:
    """The space that is searched: for each thing that can be chosen, its choices, the first as it is now."""
    stay = Choice("", {})
    return (
        (stay, *holds(found)),
        (stay, *_sides(found)),
        (stay, *wider_lips(found)),
        (stay, *fine_layers(found), *_another_sheet(found)),
    )


def _soft(found: Study) -> bool:
    """Whether there is a film whose hold can be chosen."""
    settled = any(kind.settles_film for kind in fitted_in(found.job.preset))
    return not found.job.base.rigid and found.job.film.kind != "mount" and not settled


def holds(found: Study) -> Iterator[Choice]:
    """What may hold the film instead: nothing, lids, glass covers."""
    if not _soft(found):
        return
    preset, over = found.job.preset, [kind for kind in FITTINGS if kind.over_film]
    if any(kind.over_film for kind in fitted_in(preset)):
        riders = [kind for kind in FITTINGS if kind.rides_on]
        bare: dict[str, object] = {kind.key: None for kind in (*over, *riders)}
        yield Choice(", ".join(f"no {kind.over_film}" for kind in over), bare)
    for kind in FITTINGS:
        yield from kind.choices(found.job, rivals_of(kind, preset))


def _sides(found: Study) -> Iterator[Choice]:
    other = "up" if found.job.preset.film.emulsion == "down" else "down"
    if found.job.film.kind != "mount":
        yield Choice(f"emulsion {other}", {"film.emulsion": other})


def wider_lips(found: Study) -> Iterator[Choice]:
    """Lips that reach farther under the film."""
    if not _soft(found):
        return
    lip = found.job.preset.lip
    if any(side is not None for side in (lip.left_mm, lip.right_mm, lip.head_mm, lip.foot_mm)):
        return
    lips = found.design.mine[0].lips
    now = max(lips.left, lips.right, lips.head, lips.foot)
    for more in (1,) if found.job.printer is not None else (1, 2):
        yield Choice(f"lips of {now + more:g} mm", {"lip.all_mm": round(now + more, 2)})


def fine_layers(found: Study) -> Iterator[Choice]:
    """Thinner layers, so that the ledge comes out nearer to where it is wanted."""
    printer = found.job.printer
    if printer is not None and printer.layer_mm > FINE_LAYER_MM:
        yield Choice(f"layers of {FINE_LAYER_MM:g} mm", {"printer.layer_mm": FINE_LAYER_MM})


def _another_sheet(found: Study) -> Iterator[Choice]:
    if found.job.printer is None:
        for sheet in one_more_sheet(found):
            yield Choice(sheet.text[0].lower() + sheet.text[1:], sheet.keys, "sheet")


def search(
    found: Study,
    places: Sequence[Measured] = (),
    most: int = MOST_WAYS,
    groups: Sequence[Sequence[Choice]] | None = None,
    *,
    frames: bool = False,
) -> Ways:
    """Try every combination of the choices and keep those that nothing beats on chance, time, price and hidden picture.

    ``groups`` are the choices, one of each; default: :func:`choices`. With ``frames`` each of the ways that are kept is
    tried in the least frame besides, too.

    Every combination is designed with its film and its odds, the same as :func:`holders.study.study` gives; checks
    are asked only of the ways that are shown, and one that a check stops is left out.

    Raises ``holders.errors.InputError`` as :func:`holders.study.study`.
    """
    every = list(itertools.product(*(choices(found) if groups is None else groups)))
    known: dict[str, Basis] = {}
    tried = in_halves(rough_ways, every, found, places, known, alike=_film_of)
    kept: list[tuple[Way, Study]] = []
    for way in _ranked([way for way in tried if way is not None]):
        if len(kept) == most or (kept and way.chance < POOR * kept[0][0].chance):
            break
        beaten = any(_beats(other, way) for other, _ in kept)
        made = None if beaten else _made(found, way, places, known.get(way.preset))
        if made is not None:
            kept.append(made)
    least = [(way, there, small_frame(there)) for way, there in kept] if frames else []
    small = [_in_least_frame(way, there, one, places) for way, there, one in least if one is not None]
    ways = [*(way for way, _ in kept), *(way for way in small if way is not None)]
    return Ways(len(every) + len(small), tuple(_unbeaten(ways)[:most]))


def _ranked(ways: Iterable[Way]) -> list[Way]:
    """The likeliest first; of ways about as likely the quicker, then the one that changes less."""
    return sorted(
        ways,
        key=lambda way: (
            -round(way.chance / ALIKE),
            round(way.minutes),
            round(way.hidden_mm2),
            len(way.keys),
        ),
    )


def _unbeaten(ways: Iterable[Way]) -> list[Way]:
    """Those that none before them in their order beats."""
    kept: list[Way] = []
    for way in _ranked(ways):
        if not any(_beats(other, way) for other in kept):
            kept.append(way)
    return kept


def _in_least_frame(way: Way, there: Study, small: Smaller, places: Sequence[Measured]) -> Way | None:
    """A way in a frame no larger than it needs; None where that harms it."""
    try:
        text = with_values(way.preset, small.keys)
        new = study(parse(text, there.preset_file or "preset"), text, places, extremes=False)
        effort = effort_of(new.job, new.design, new.nested)
    except HoldersError:
        return None
    if not as_good(new, there):
        return None
    return Way(
        f"{way.text}; a frame of {small.size}, {small.where}",
        new.verdict.chance,
        effort.minutes,
        effort.cost,
        effort.hidden_mm2,
        {**way.keys, **small.keys},
        text,
        way.needs,
        _warnings(new),
    )


def rough_ways(
    every: Sequence[Combination],
    found: Study,
    places: Sequence[Measured] = (),
    known: dict[str, Basis] | None = None,
) -> list[Way | None]:
    """Each combination with its odds and effort, None where it cannot be designed; checks are not asked.

    What the checks would start from is put into ``known``, by the preset's text.
    """
    return [_rough(found, one, together(one), places, {} if known is None else known) for one in every]


def _film_of(combination: Combination) -> object:
    """What decides the film's own surface in a combination: those with the same one share it."""
    return film_keys(together(combination))


def together(combination: Sequence[Choice]) -> dict[str, object]:
    """The keys of all choices; a table that one of them takes away stays away."""
    keys: dict[str, object] = {}
    for choice in combination:
        keys |= choice.keys
    gone = [path for path, value in keys.items() if value is None and "." not in path]
    return {path: value for path, value in keys.items() if path.split(".")[0] not in gone or value is None}


def _rough(
    found: Study,
    combination: Sequence[Choice],
    keys: Mapping[str, object],
    places: Sequence[Measured],
    known: dict[str, Basis],
) -> Way | None:
    try:
        text = with_values(found.preset_text, keys)
        basis = basis_of(parse(text, "preset"), places)
        effort = effort_of(basis.job, basis.design, basis.nested)
    except HoldersError:
        return None
    known[text] = basis
    words = "; ".join(choice.text for choice in combination if choice.text) or "as it is"
    needs = frozenset(choice.needs for choice in combination if choice.needs)
    return Way(
        words[0].upper() + words[1:],
        basis.chance,
        effort.minutes,
        effort.cost,
        effort.hidden_mm2,
        keys,
        text,
        needs,
    )


def _beats(a: Way, b: Way) -> bool:
    """Whether ``a`` is as likely to be sharp as ``b``, takes no more of anything and needs nothing bought besides."""
    cost = (a.cost is None) or (b.cost is None) or a.cost <= b.cost
    return (
        a.needs <= b.needs
        and a.chance >= b.chance - ALIKE
        and round(a.minutes) <= round(b.minutes)
        and round(a.hidden_mm2) <= round(b.hidden_mm2)
        and cost
    )


def _made(
    found: Study, way: Way, places: Sequence[Measured], basis: Basis | None = None
) -> tuple[Way, Study] | None:
    """The way with its warnings counted, and its study; None where a check stops it."""
    try:
        preset = parse(way.preset, found.preset_file or "preset")
        there = study(preset, way.preset, places, extremes=False, basis=basis)
    except HoldersError:
        return None
    return (replace(way, warnings=_warnings(there)), there) if there.ok else None


def _warnings(there: Study) -> int:
    return len({one.code for one in there.findings if one.level == "warn"} - {OWN})
