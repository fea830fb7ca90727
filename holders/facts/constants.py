"""Physical constants, one value each; ``data/constants.toml`` names the source of every one."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType

from holders.facts.models import Number


@cache
def table() -> Mapping[str, Number]:
    """All rows by key."""
    text = resources.files("holders.facts").joinpath("data", "constants.toml").read_text(encoding="utf-8")
    rows = [Number.model_validate(row) for row in tomllib.loads(text)["row"]]
    return MappingProxyType({row.key: row for row in rows})


def constant(key: str) -> float:
    """The value of one constant in the unit of its row. Raises ``KeyError`` for a key that does not exist."""
    return table()[key].value


GRAVITY_M_S2 = constant("gravity")
