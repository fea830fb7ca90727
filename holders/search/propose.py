"""What holds the film of a new preset: nothing, a lid that rests on it, or a glass cover, found by trying."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from holders.core.errors import HoldersError
from holders.core.lines import Candidate
from holders.fittings.registry import fitted_in
from holders.preset.load import parse
from holders.search.candidates import candidates
from holders.search.tried import tried
from holders.study import Study, study

GOOD = 0.9  # of the chance: nothing more is tried on a holder as likely as this
WORTH = 0.05  # of the chance: a part that gains less is not worth making


def proposed(
    values: Mapping[str, Any], text_of: Callable[[Mapping[str, Any]], str]
) -> tuple[dict[str, Any], str]:
    """The values of a preset with what holds its film best, and what was added, in words ("" for nothing).

    A lid is tried before a glass cover, which has to be bought; a lid that was asked for stays. Values of a holder that
    cannot be designed are given back unchanged.

    Parameters
    ----------
    values:
        Tables and keys of a preset.
    text_of:
        Writes such values as a preset's text.
    """
    best, said = copy.deepcopy(dict(values)), ""
    try:
        text = text_of(values)
        first = found = study(parse(text, "preset"), text)
    except HoldersError:
        return best, said
    for change in _ways(first):
        if found.ok and found.verdict.chance >= GOOD:
            break
        result = tried(first, change)
        if result is None or not _gains(found, result.found):
            continue
        found = result.found
        best = _with(values, change.keys)
        said = f"{change.text}: {first.verdict.chance:.0%} -> {found.verdict.chance:.0%} good scans"
    return best, said


def _gains(old: Study, new: Study) -> bool:
    if len(new.stops) != len(old.stops):
        return len(new.stops) < len(old.stops)
    return new.verdict.chance >= old.verdict.chance + WORTH


def _ways(found: Study) -> Iterator[Candidate]:
    """A lid, then a cover; nothing beside what was asked for."""
    if not any(kind.over_film for kind in fitted_in(found.job.preset)):
        yield from (change for change in candidates(found) if change.family == "hold")


def _with(values: Mapping[str, Any], keys: Mapping[str, object]) -> dict[str, Any]:
    made = copy.deepcopy(dict(values))
    for path, value in keys.items():
        table, _, key = path.rpartition(".")
        if value is not None:
            made.setdefault(table, {})[key] = value
    return made
