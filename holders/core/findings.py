"""What a check found: shared by checks, command line, job sheet and page."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict

Level = Literal["pass", "warn", "stop", "skip"]


class Finding(BaseModel):
    """One rule's verdict on one holder.

    ``measured`` and ``limit`` are in ``unit``; both None where the rule is not about a number. ``field`` names the
    preset key that a person would change, so that the page can show the finding beside it.
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


def amount(value: float | str | None, unit: str = "") -> str:
    """A measured value or a limit as people read it: three digits are enough, with its unit; "" where there is none."""
    if value is None:
        return ""
    text = value if isinstance(value, str) else f"{value:.3g}" if abs(value) < 100 else f"{value:.1f}"
    return f"{text} {unit}".strip()


EVEN = 1e-3  # of the limit: no side to speak of
AIMED = ("film-size", "layers", "channel")  # rules whose limit is what it should be, neither more nor less
NEAR = 0.25  # of the limit: so close to it a warning is told as "near the limit", on whichever side it stands


def limit_words(finding: Finding) -> str:
    """The limit in words: "at least" or "at most", as the finding stands on its good or its bad side.

    A warning may stand on the good side of its limit, close by, and would read as if all were well: that is "near".
    """
    limit = amount(finding.limit, finding.unit)
    if not limit:
        return ""
    if not isinstance(finding.measured, (int, float)) or not isinstance(finding.limit, (int, float)):
        return f"limit {limit}"
    over, size = finding.measured - finding.limit, abs(finding.limit)
    if finding.level == "warn" and size > 0 and abs(over) <= NEAR * size:
        return f"near the limit of {limit}"
    if abs(over) <= EVEN * size or finding.code in AIMED:
        return f"limit {limit}"
    return f"{'at least' if (over > 0) == (finding.level == 'pass') else 'at most'} {limit}"
