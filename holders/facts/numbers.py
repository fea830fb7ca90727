"""Tables of single numbers: ``numbers("habits")["caliper"]`` is a row with value, unit, source and status."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

from holders.facts.models import Number

TABLES = ("constants", "gelatin", "habits")


@cache
def numbers(name: str) -> Mapping[str, Number]:
    """All rows of one of the :data:`TABLES` by key.

    Raises ``FileNotFoundError`` for a table that does not exist (a bug in the caller, not user input).
    """
    text = resources.files("holders.facts").joinpath("data", f"{name}.toml").read_text(encoding="utf-8")
    rows = [Number.model_validate(row) for row in tomllib.loads(text)["row"]]
    return MappingProxyType({row.key: row for row in rows})
