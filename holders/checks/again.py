"""A holder designed and looked at once more with other values in its preset."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from holders.checks.base import Rule
from holders.core.errors import HoldersError
from holders.core.findings import Finding
from holders.design.model import Design

if TYPE_CHECKING:
    from holders.preset.resolve import Job


@dataclass(frozen=True, slots=True)
class Again:
    """A holder that other values are tried on: what was looked up of its preset, and its design."""

    job: Job
    design: Design

    def changed(self, values: Mapping[str, bool | float], *, film: bool = False) -> Again | None:
        """The holder with other values, its film's surface computed only with ``film``, which takes longer; None where
        it cannot be designed.
        """
        from holders.design.held.film_in_holder import designed, with_extremes  # noqa: PLC0415 - scipy
        from holders.design.resolve import design  # noqa: PLC0415 - only where something is wrong
        from holders.preset.schema import Preset  # noqa: PLC0415

        rows = self.job.preset.model_dump()
        for path, value in values.items():
            table, _, key = path.rpartition(".")
            rows[table][key] = value
        try:
            job = replace(self.job, preset=Preset.model_validate(rows))
            if not film:
                return Again(job, design(job))
            return Again(job, with_extremes(job, *designed(job, (), extremes=False))[0])
        except (HoldersError, ValueError):
            return None

    def found(self, rules: Sequence[Rule]) -> list[Finding] | None:
        """What some rules find on it; None where one of them cannot look at it, so that nothing is known of it."""
        try:
            return [finding for rule in rules for finding in rule.check(self.job, self.design)]
        except (HoldersError, ValueError):
            return None


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
