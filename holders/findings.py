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
