"""What a rule is: a code, a title, a reason, a source, and a check that yields findings."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

from holders.checks.words import Said, sentence
from holders.core.findings import Finding, Level
from holders.design.model import Design, Fitted

if TYPE_CHECKING:
    from holders.preset.resolve import Job

F = TypeVar("F", bound=Fitted)

TRIED = "holders check lists the changes that gain, each tried on this holder"
UNTRIED = "worth a try, not tried on this holder: "
FLAT = 0.5  # share of the focus band's half width that a bow or sag may take unremarked
DIGITS = 4  # of a millimetre or a share: finer than anything that is made or measured here


class Rule(ABC):
    """One thing that can be wrong with a holder.

    ``source`` names the publication behind the rule or its numbers; "common practice, no source" and "from memory" say
    that there is none at hand.
    """

    code: ClassVar[str]
    title: ClassVar[str]
    why: ClassVar[str]
    source: ClassVar[str]
    per_film: ClassVar[bool] = False  # whether it is asked of each kind of film in a holder for several
    said: ClassVar[Mapping[str, Said]] = MappingProxyType({})  # sentences of its own subjects

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
        """A finding of this rule; ``title`` is what was looked at, where it differs from the rule's own."""
        subject = title or self.title
        words, number = sentence(subject, level, measured, limit, self.said)
        return Finding(
            code=self.code,
            level=level,
            title=words,
            subject=subject,
            number=number,
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


class FittedRule(Rule, Generic[F]):
    """What can be wrong with one kind of fitting; ``absent`` is why it does not apply to a holder without."""

    fitted: type[F]
    absent: ClassVar[str]

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """What is found of the fitting, or that the holder has none."""
        made = design.find(self.fitted)
        if made is None:
            yield self.skipped(self.absent)
        else:
            yield from self.look(job, design, made)

    @abstractmethod
    def look(self, job: Job, design: Design, made: F) -> Iterator[Finding]:
        """Yield at least one finding of the fitting as it was made."""


def gathered(found: Iterable[tuple[float, str, Finding]]) -> Iterator[Finding]:
    """One finding a level for findings that are alike part by part: the worst of them, and how many there are.

    Each comes with a number that is least where it is worst, and the part's name.
    """
    alike: dict[tuple[str, str], list[tuple[float, str, Finding]]] = {}
    for item in found:
        alike.setdefault((item[2].subject, item[2].level), []).append(item)
    for (_, level), items in alike.items():
        _, worst, finding = min(items, key=lambda item: item[0])
        names = [name for _, name, _ in items if name != worst]
        if not names:
            yield finding
        elif level in ("pass", "skip"):
            words = "; ".join(w for w in (finding.where, f"worst of {len(items)} parts") if w)
            yield finding.model_copy(update={"where": words})
        else:
            more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
            words = f"{finding.where}; also {', '.join(names[:MOST_NAMES])}{more}"
            yield finding.model_copy(update={"where": words})


MOST_NAMES = 4


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
