"""A holder designed and looked at once more with other values in its preset."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from holders.checks.base import Rule
from holders.core.errors import HoldersError
from holders.core.findings import Finding
from holders.design.model import Design

if TYPE_CHECKING:
    from holders.preset.resolve import Job


def remade(job: Job, changed: Mapping[str, bool | float]) -> tuple[Job, Design] | None:
    """The holder with other values, its film's surface not computed; None where it cannot be designed."""
    from holders.design.resolve import design  # noqa: PLC0415 - only where something is wrong

    new = with_values(job, changed)
    try:
        return None if new is None else (new, design(new))
    except (HoldersError, ValueError):
        return None


def with_film(job: Job) -> Design | None:
    """The design of a changed holder with its film's surface computed, as it is judged; None where that is refused."""
    from holders.design.held.film_in_holder import designed, with_extremes  # noqa: PLC0415 - scipy

    try:
        made, film = designed(job, (), extremes=False)
        return with_extremes(job, made, film)[0]
    except (HoldersError, ValueError):
        return None


def with_values(job: Job, changed: Mapping[str, bool | float]) -> Job | None:
    """The job with other values in its preset; None where a preset may not have them."""
    from holders.preset.schema import Preset  # noqa: PLC0415

    values = job.preset.model_dump()
    for path, value in changed.items():
        table, _, key = path.rpartition(".")
        values[table][key] = value
    try:
        return replace(job, preset=Preset.model_validate(values))
    except (HoldersError, ValueError):
        return None


def again(job: Job, design: Design, rules: Sequence[Rule]) -> list[Finding]:
    """What some rules find on a holder; nothing where one of them cannot look at it."""
    try:
        return [finding for rule in rules for finding in rule.check(job, design)]
    except (HoldersError, ValueError):
        return []


def worse(now: Iterable[Finding], then: Iterable[Finding]) -> list[Finding]:
    """The stops and warnings of a changed holder that it had not before, or had as a warning where it now has a stop.

    Findings whose subject holds a number (what a film needs, what a glass weighs) are known by their rule and key.
    """
    had = {(_known(one), one.level) for one in now}
    return [
        one
        for one in then
        if one.level in ("warn", "stop")
        and (_known(one), one.level) not in had
        and (_known(one), "stop") not in had
    ]


def _known(finding: Finding) -> tuple[str, str]:
    numbered = any(letter.isdigit() for letter in finding.subject)
    return finding.code, finding.field if numbered else finding.subject
