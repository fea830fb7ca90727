"""Numbers of the workshop, each with its source: how a caliper reads, flatness, creep, speeds."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

from holders.facts.models import Number


@cache
def table() -> Mapping[str, Number]:
    """All of them by key."""
    text = resources.files("holders.facts").joinpath("data", "habits.toml").read_text(encoding="utf-8")
    rows = [Number.model_validate(row) for row in tomllib.loads(text)["row"]]
    return MappingProxyType({row.key: row for row in rows})


def habit(key: str) -> float:
    """The value of one of them. Raises ``KeyError`` for a key that does not exist (a bug in the caller)."""
    return table()[key].value


def told(key: str) -> str:
    """Where it comes from, in words: ``value unit (status)``."""
    row = table()[key]
    return f"{row.name}: {row.value:g} {row.unit} ({row.status})"
