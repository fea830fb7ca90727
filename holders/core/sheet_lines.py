"""Lines of the job sheet that any room below it may give: cautions and things to buy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple


class Caution(NamedTuple):
    """A hazard, and what is usually done about it."""

    key: str
    title: str
    text: str

    @property
    def sentence(self) -> str:
        """Title and text in one."""
        return f"{self.title}. {self.text}"


@dataclass(frozen=True, slots=True)
class Row:
    """A line of the shopping list; ``price`` is None where the preset does not say what it costs."""

    what: str
    quantity: float
    unit: str
    note: str = ""
    price: float | None = None
