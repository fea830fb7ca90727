"""A flat piece that is bought, where it lies."""

from __future__ import annotations

from dataclasses import dataclass

from holders.geometry.rect import Rect


@dataclass(frozen=True, slots=True)
class Plate:
    """A flat piece that is not made: its name, where each lies (one a window), and between which heights.

    ``is_film``: the film itself, where what lies in the pocket is the glass that carries it. ``on_lid``: a steel bar
    that is part of a lid; a lid may have several.
    """

    name: str
    places: tuple[Rect, ...]
    z0: float
    z1: float
    is_film: bool = False
    on_lid: bool = False
