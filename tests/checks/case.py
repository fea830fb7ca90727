"""One way in which a check can warn, stop, pass or not apply: what is changed, and what must be found."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from holders.core.findings import Level
from holders.design.model import Design
from holders.preset.resolve import Job

Made = tuple[Job, Design]


@dataclass(frozen=True)
class Case:
    """``words`` stand in what the finding looked at; ``field`` is the preset key it must name (None: any)."""

    code: str
    level: Level
    make: Callable[[], Made]
    words: str = ""
    field: str | None = None

    def __str__(self) -> str:
        return f"{self.code}-{self.level}-{self.words.replace(' ', '_') or 'rule'}"
