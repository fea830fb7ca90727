"""What a new preset holds its film with, and on how many feet: the best way for format, route and bed, by trying."""

from __future__ import annotations

import copy
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from holders.core.errors import HoldersError, InputError
from holders.core.findings import per_hundred
from holders.core.lines import Choice
from holders.design.resolve import design as designed
from holders.facts import tables
from holders.facts.models import Printer
from holders.fittings.registry import FITTINGS, fitted_in
from holders.preset.load import parse
from holders.preset.tables.supposed import if_supposed
from holders.search.smaller import as_good, small_frame
from holders.search.ways import Way, fine_layers, holds, search, wider_lips
from holders.study import Study, study
from holders.workshop.cost import print_costs

GOOD = 0.9  # of the chance: nothing more is tried on a holder as likely as this
WORTH = 0.05  # of the chance: a part that gains less is not worth making
EVEN = 0.005  # of the chance: what is less is no loss
LIGHTER = 0.6  # of the plastic: a frame that takes more is not worth its trays
FEET = (6, 8)
STAY = Choice("", {})

Text = Callable[[Mapping[str, Any]], str]


def proposed(
    values: Mapping[str, Any], text_of: Text, kept: Collection[str] = ()
) -> tuple[dict[str, Any], str]:
    """The values of a preset with what makes a good scan likely, and what was changed, in words ("" for nothing).

    First what holds the film is chosen (nothing, a lid, a glass cover), then lips, layers and the number of feet; of
    ways about as likely the one that needs the least.
    A printed frame is the least one, or a light one, where that saves pieces or much plastic. What was asked for stays,
    unless a check stops it and nothing added to it helps. Values of a holder that cannot be designed are given back
    unchanged.

    Parameters
    ----------
    values:
        Tables and keys of a preset.
    text_of:
        Writes such values as a preset's text.
    kept:
        Tables (``lid``, ``cover`` ...) and keys (``lip.all_mm`` ...) that stay as ``values`` has them, there or not,
        as somebody set them by hand.
    """
    best, said = copy.deepcopy(dict(values)), []
    try:
        best, found = _designed(best, text_of, kept)
        first = found
        said += [
            kind.sees_more
            for kind in fitted_in(found.job.preset)
            if kind.key not in values and kind.sees_more
        ]
        for groups in (_held, _finer, _without):
            if found.ok and (found.verdict.chance >= GOOD or groups is _without):
                break
            way = _best(found, tuple(_allowed(choices, kept) for choices in groups(found)))
            if way is not None:
                best = _with(best, way.keys)
                found = _studied(best, text_of)
                said.append(way.text)
        if less := _smaller(best, found, text_of, kept) or _lighter(best, found, text_of):
            best, found, words = less
            said.append(words)
    except HoldersError:
        return copy.deepcopy(dict(values)), ""
    if not said:
        return best, ""
    words = "; ".join([said[0], *(text[0].lower() + text[1:] for text in said[1:])])
    chances = f"{per_hundred(first.verdict.chance)} -> {per_hundred(found.verdict.chance)} of 100"
    return best, f"{words}: {chances}{if_supposed(found.job.whole_preset, found.job.film.cut_width_mm)}"


def least_printer(values: Mapping[str, Any], text_of: Text) -> dict[str, Any]:
    """The values with the smallest printer that makes the holder whole and as well, where theirs was chosen for it.

    A printer is first chosen for a holder as large as the glass; a frame that became smaller fits a smaller one.
    """
    found = _studied(values, text_of)
    own, outer = found.job.printer, found.design.outer
    if own is None or found.design.seams:
        return dict(values)
    rows = [row for row in tables.table("printers") if isinstance(row, Printer)]
    for row in sorted(rows, key=lambda row: row.build_x_mm * row.build_y_mm):
        if row.build_x_mm * row.build_y_mm >= own.build_x_mm * own.build_y_mm:
            break
        room = (row.build_x_mm - 2 * row.margin_mm, row.build_y_mm - 2 * row.margin_mm)
        if outer.width > room[0] or outer.height > room[1]:
            continue
        less = {**values, "printer": {**(values.get("printer") or {}), "name": row.key}}
        try:
            there = _studied(less, text_of)
        except InputError:
            continue
        if not there.design.seams and as_good(there, found):
            return less
    return dict(values)


def _smaller(
    values: dict[str, Any], found: Study, text_of: Text, kept: Collection[str]
) -> tuple[dict[str, Any], Study, str] | None:
    """The values with the least frame, its study, and what it saves in words, where it saves much and harms nothing."""
    small = None if found.job.printer is None else small_frame(found)
    if small is None or any(_touches(f"layout.{key}", kept) for key in small.layout):
        return None
    less = {**values, "layout": {**(values.get("layout") or {}), **small.layout}}
    try:
        there = _studied(less, text_of)
    except InputError:
        return None
    return (less, there, small.words) if as_good(there, found) else None


def _lighter(values: dict[str, Any], found: Study, text_of: Text) -> tuple[dict[str, Any], Study, str] | None:
    """The values with a light frame, its study, and what it saves in words, where it saves much and harms nothing."""
    job, layout = found.job, values.get("layout") or {}
    if job.printer is None or "light" in layout or not found.ok:
        return None
    trial = job.preset.model_copy(update={"layout": job.preset.layout.model_copy(update={"light": True})})
    try:
        laid = [
            sum(cost.laid_mm3 * cost.quantity for cost in print_costs(job.material, job.printer, design))
            for design in (designed(replace(job, preset=trial)), found.design)
        ]
        if laid[0] > LIGHTER * laid[1]:
            return None
        light = {**values, "layout": {**layout, "light": True}}
        there = _studied(light, text_of)
    except InputError:
        return None
    if not there.ok or there.verdict.chance < found.verdict.chance - EVEN:
        return None
    return light, there, f"A light frame takes {1 - laid[0] / laid[1]:.0%} less plastic"


def _allowed(choices: Iterable[Choice], kept: Collection[str]) -> tuple[Choice, ...]:
    """The choices that change nothing of what stays."""
    return tuple(one for one in choices if not any(_touches(path, kept) for path in one.keys))


def _touches(path: str, kept: Collection[str]) -> bool:
    """Whether a change of a table or key changes one of those, a table they are in, or a key in it."""
    return any(path == one or path.startswith(f"{one}.") or one.startswith(f"{path}.") for one in kept)


def _designed(values: dict[str, Any], text_of: Text, kept: Collection[str]) -> tuple[dict[str, Any], Study]:
    """The study of a preset, and its values; of film larger than the lamp area with a fitting that sees more of it.

    Raises the refusal of the preset as it was where nothing helps.
    """
    try:
        return values, _studied(values, text_of)
    except InputError:
        for kind in (k for k in FITTINGS if k.sees_more and k.key not in values and k.key not in kept):
            more = {**values, kind.key: {}}
            try:
                return more, _studied(more, text_of)
            except InputError:
                continue
        raise


def _studied(values: Mapping[str, Any], text_of: Text) -> Study:
    text = text_of(values)
    return study(parse(text, "preset"), text, extremes=False)


def _best(found: Study, groups: tuple[tuple[Choice, ...], ...]) -> Way | None:
    """Of the ways that no check stops and that are about as likely as the likeliest, the one with the fewest warnings,
    and of those the one that needs the least; None where none gains.
    """
    result = search(found, groups=groups)
    if not result.ways:
        return None
    likely = [way for way in result.ways if way.chance >= result.ways[0].chance - WORTH]
    way = min(likely, key=lambda one: (one.warnings, len(one.needs), len(one.keys), -one.chance))
    gains = not found.ok or way.chance >= found.verdict.chance + WORTH
    return way if gains and way.keys else None


def _held(found: Study) -> tuple[tuple[Choice, ...], ...]:
    """What may hold the film; what was asked for is not taken away."""
    asked = [kind.key for kind in fitted_in(found.job.preset) if kind.over_film]
    ways = [
        way for way in holds(found) if not any(name in way.keys and way.keys[name] is None for name in asked)
    ]
    return ((STAY, *ways),)


def _without(found: Study) -> tuple[tuple[Choice, ...], ...]:
    """Any way to hold the film, with feet or without them: for what was asked for and cannot be made."""
    feet = () if found.job.preset.feet is None else (Choice("no feet", {"feet": None}),)
    return (STAY, *holds(found)), (STAY, *feet)


def _finer(found: Study) -> tuple[tuple[Choice, ...], ...]:
    return (STAY, *wider_lips(found)), (STAY, *fine_layers(found)), (STAY, *_more_feet(found))


def _more_feet(found: Study) -> Iterator[Choice]:
    feet = found.job.preset.feet
    if feet is not None:
        for count in (n for n in FEET if n > feet.count):
            yield Choice(f"{count} feet", {"feet.count": count})


def _with(values: Mapping[str, Any], keys: Mapping[str, object]) -> dict[str, Any]:
    made = copy.deepcopy(dict(values))
    for path, value in keys.items():
        table, _, key = path.rpartition(".")
        if value is not None:
            made.setdefault(table, {})[key] = value
        else:
            made.pop(path, None)
    return made
