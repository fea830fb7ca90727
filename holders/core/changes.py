"""Changes that could be made to a preset: what one of them says, and which keys it sets."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


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
