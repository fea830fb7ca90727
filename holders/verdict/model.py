"""A judgement as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One change to a preset that was tried on this very holder, and what it gains.

    ``chance`` is the chance of a good scan with it, 0 to 1, and ``gain`` how much more that is; ``keys`` are the preset
    keys that change (None: the table goes), ``preset`` the whole text with the step done. ``minutes`` of machine time,
    ``cost`` in the user's currency (None where no price is known) and ``hidden_mm2`` of the picture are what the
    holder then takes more than now.
    """

    text: str
    chance: float
    gain: float
    keys: Mapping[str, object]
    preset: str
    minutes: float = 0.0
    cost: float | None = None
    hidden_mm2: float = 0.0


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judgement on one holder: ``chance`` of a scan that is sharp and free of rings, 0 to 1, and why."""

    chance: float
    text: str
    largest_doubt: str
    next: tuple[Step, ...] = ()
