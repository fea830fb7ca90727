"""What a check found: shared by checks, command line, job sheet and page."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel, ConfigDict

Level = Literal["pass", "warn", "stop", "skip"]


class Finding(BaseModel):
    """One rule's judgement of one holder.

    ``title`` says what is wrong, or what is fine; ``subject`` names what was looked at, the same whatever was found,
    and ``number`` what ``measured`` is. ``measured`` and ``limit`` are in ``unit``; both None where the rule is not
    about a number. ``field`` names the preset key that a person would change, so that the page can show it there.
    ``follows_from`` is the title of the finding that this one is only a consequence of, "" where it stands by itself.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    code: str
    level: Level
    title: str
    measured: float | str | None = None
    limit: float | str | None = None
    unit: str = ""
    where: str = ""
    advice: str = ""
    field: str = ""
    subject: str = ""
    number: str = ""
    follows_from: str = ""


CONTRAST = "contrast"  # the unit of findings about rings
OUTSIDE = "outside their limits without a warning"


def is_outside(finding: Finding) -> bool:
    """Whether a finding that does not warn has a number all the same: it applies, and did not pass."""
    return finding.level == "skip" and finding.measured is not None


def with_consequences(findings: Sequence[Finding]) -> tuple[tuple[Finding, tuple[Finding, ...]], ...]:
    """Each finding with those that follow from it, in the order given.

    One whose cause is not among the findings stands by itself.
    """
    there = {finding.title for finding in findings}
    own = [finding for finding in findings if finding.follows_from not in there]
    return tuple((one, tuple(f for f in findings if f.follows_from == one.title)) for one in own)


def consequence_words(following: Sequence[Finding]) -> str:
    """What follows from a finding, in one line: "so also: most of the film will be soft (0 % of the picture)".

    Only shares and chances stand beside it: a number that needs its name is not shorter than the finding.
    """
    each = []
    for finding in following:
        much = ""
        if finding.unit.startswith("of the "):
            much = amount(finding.measured, finding.unit)
        elif finding.number.endswith("of 100"):
            much = number_words(finding).partition(";")[0]
        each.append(f"{finding.title[:1].lower()}{finding.title[1:]}{f' ({much})' if much else ''}")
    return f"so also: {'; '.join(each)}" if each else ""


def amount(value: float | str | None, unit: str = "") -> str:
    """A measured value or a limit as people read it: three digits are enough, with its unit; "" where there is none.

    A share of something and the contrast of rings are written in percent.
    """
    if value is None:
        return ""
    if unit == CONTRAST and isinstance(value, (int, float)):
        value, unit = 100 * value, "%"
    if unit.startswith("of the ") and isinstance(value, (int, float)):
        value, unit = 100 * value, f"% {unit}"
    text = value if isinstance(value, str) else f"{value:.3g}" if abs(value) < 100 else f"{value:.1f}"
    return f"{text} {unit}".strip()


EVEN = 1e-3  # of the limit: no side to speak of
AIMED = ("film-size", "layers", "channel")  # rules whose limit is what it should be, neither more nor less


def limit_words(finding: Finding) -> str:
    """The limit in words: "at least" or "at most", as the finding stands on its good or its bad side."""
    limit = amount(finding.limit, finding.unit)
    if not limit:
        return ""
    if not isinstance(finding.measured, (int, float)) or not isinstance(finding.limit, (int, float)):
        return f"limit {limit}"
    over, size = finding.measured - finding.limit, abs(finding.limit)
    if abs(over) <= EVEN * size or finding.code in AIMED:
        return f"limit {limit}"
    return f"{'at least' if (over > 0) == (finding.level == 'pass') else 'at most'} {limit}"


def shown_chance(chance: float) -> float:
    """A chance to four digits, never better than it is: what :func:`per_hundred` says of it is what it says of this."""
    return math.floor(1e4 * chance + 1e-4) / 1e4


def per_hundred(chance: float) -> str:
    """A chance as people read it, never better than it is: "93", "over 99", "under 1"."""
    chance = shown_chance(chance)
    if chance < 0.01:
        return "under 1"
    if chance > 0.99:
        return "over 99"
    return f"{math.floor(100 * chance + 1e-6)}"


def number_words(finding: Finding) -> str:
    """The finding's number: what it is, how much, and what would be good; "" where it has none."""
    much, limit = amount(finding.measured, finding.unit), limit_words(finding)
    if finding.unit.startswith("of the "):  # once is enough
        limit = limit.removesuffix(f" {finding.unit}")
    if finding.number.endswith("of 100") and isinstance(finding.measured, (int, float)):
        good = "" if finding.level == "pass" else f"; good: {amount(finding.limit)} or more"
        return f"{per_hundred(finding.measured / 100)} {finding.number}{good}"
    good = f"good: {limit}" if limit.startswith(("at least", "at most")) else limit
    both = "; ".join(words for words in (much, good) if words)
    return f"{finding.number}: {both}" if finding.number and both else both
