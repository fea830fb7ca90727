"""What a rule is: a code, a title, a reason, a source, and a check that yields findings."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

from holders.design.model import Design
from holders.findings import Finding, Level

if TYPE_CHECKING:
    from holders.preset.resolve import Job

DIGITS = 4  # of a millimetre or a share: finer than anything that is made or measured here


class Rule(ABC):
    """One thing that can be wrong with a holder.

    ``source`` names the publication behind the rule or its numbers; "common practice, no source" and (
        "from memory"
    )
    say that there is none at hand.
    """

    code: ClassVar[str]
    title: ClassVar[str]
    why: ClassVar[str]
    source: ClassVar[str]

    @abstractmethod
    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Yield at least one finding: what was measured, or why the rule does not apply."""

    def found(
        self,
        level: Level,
        *,
        measured: float | str | None = None,
        limit: float | str | None = None,
        unit: str = "mm",
        where: str = "",
        advice: str = "",
        field: str = "",
        title: str = "",
    ) -> Finding:
        """A finding of this rule; ``title`` where it differs from the rule's own."""
        return Finding(
            code=self.code,
            level=level,
            title=title or self.title,
            measured=_rounded(measured),
            limit=_rounded(limit),
            unit=unit if measured is not None or limit is not None else "",
            where=where,
            advice=advice,
            field=field,
        )

    def skipped(self, reason: str, title: str = "") -> Finding:
        """The rule does not apply, for a reason given in words."""
        return self.found("skip", title=title, advice=reason)


def _rounded(value: float | str | None) -> float | str | None:
    """Numbers short enough to read; minus zero made plain."""
    return round(value, DIGITS) + 0.0 if isinstance(value, (int, float)) else value


def at_most(value: float, warn: float, stop: float) -> Level:
    """The level of a value that should be small: pass up to ``warn``, stop beyond ``stop``."""
    return "stop" if value > stop + TINY else "warn" if value > warn + TINY else "pass"


def at_least(value: float, warn: float, stop: float) -> Level:
    """The level of a value that should be large: pass from ``warn`` up, stop below ``stop``."""
    return at_most(-value, -warn, -stop)


TINY = 1e-6  # arithmetic noise must not turn a limit exactly met into a warning
