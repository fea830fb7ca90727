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


NEAR = 0.25  # of the limit: so close to it a warning is told as "near the limit", on whichever side it stands


def limit_words(finding: Finding) -> str:
    """The limit in words: a warning may stand on the good side of it, and then reads as if all were well."""
    limit = amount(finding.limit, finding.unit)
    if not limit:
        return ""
    near = (
        finding.level == "warn"
        and isinstance(finding.measured, (int, float))
        and isinstance(finding.limit, (int, float))
        and abs(finding.measured - finding.limit) <= NEAR * abs(finding.limit)
    )
    return f"near the limit of {limit}" if near else f"limit {limit}"
