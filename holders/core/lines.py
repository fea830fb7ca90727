"""Small values that a room hands on to those above it: cautions and things to buy, and changes that may be tried."""

from __future__ import annotations

from collections.abc import Mapping
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
    """A line of the shopping list; ``price`` is None where the preset does not say what it costs.

    ``thing`` is what the steps that use it call it by (``holders/output/words/bench.py``).
    """

    what: str
    quantity: float
    unit: str
    note: str = ""
    price: float | None = None
    thing: str = ""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One change: in words, and as preset keys (None takes a key or a whole table away)."""

    text: str
    keys: Mapping[str, object]
    family: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of the things that can be chosen freely: in words ("" where it stays as it is), and as preset keys.

    ``needs`` names what has to be bought for it, "" for nothing.
    """

    text: str
    keys: Mapping[str, object]
    needs: str = ""
