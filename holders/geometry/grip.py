"""Where fingers take hold, beside a rectangle."""

from __future__ import annotations

from typing import NamedTuple


class Grip(NamedTuple):
    """A notch where fingers reach the film or the lid's tab; ``beside_mm`` is the room for a finger beside that tab."""

    edge: str
    width_mm: float
    beside_mm: float
    depth_mm: float
    tab: bool = False
