"""Physical constants, one value each; ``data/constants.toml`` names the source of every one."""

from __future__ import annotations

from holders.facts.numbers import numbers


def constant(key: str) -> float:
    """The value of one constant in the unit of its row. Raises ``KeyError`` for a key that does not exist."""
    return numbers("constants")[key].value


GRAVITY_M_S2 = constant("gravity")
