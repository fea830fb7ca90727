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
    A step ``by_hand`` puts right a holder that is there already: it changes no key, and its gain is over ``now``, the
    chance of that holder as it is. A step to ``measure`` changes nothing but what is known: its keys stand for what
    would be found, and are to be replaced by it.
    """

    text: str
    chance: float
    gain: float
    keys: Mapping[str, object]
    preset: str
    minutes: float = 0.0
    cost: float | None = None
    hidden_mm2: float = 0.0
    by_hand: bool = False
    now: float | None = None
    measure: bool = False


@dataclass(frozen=True, slots=True)
class FilmChance:
    """One kind of film in a holder: its name, and the chance that a scan of it is sharp and free of rings, 0 to 1."""

    film: str
    chance: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """The judgement on one holder: ``chance`` of a scan that is sharp and free of rings, 0 to 1, and why.

    In a holder for several kinds of film the chance is that of a scan of the worst; ``films`` has each.
    """

    chance: float
    text: str
    largest_doubt: str
    next: tuple[Step, ...] = ()
    films: tuple[FilmChance, ...] = ()
