"""Numbers of the workshop, each with its source: how a caliper reads, flatness, creep, speeds."""

from __future__ import annotations

from collections.abc import Mapping

from holders.facts.models import Number
from holders.facts.numbers import numbers


def table() -> Mapping[str, Number]:
    """All of them by key."""
    return numbers("habits")


def habit(key: str) -> float:
    """The value of one of them. Raises ``KeyError`` for a key that does not exist (a bug in the caller)."""
    return table()[key].value


def told(key: str) -> str:
    """Where it comes from, in words: ``value unit (status)``."""
    row = table()[key]
    return f"{row.name}: {row.value:g} {row.unit} ({row.status})"
