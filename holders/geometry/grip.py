"""Where fingers take hold, beside a rectangle."""

from __future__ import annotations

from typing import NamedTuple


class Grip(NamedTuple):
    """A notch where fingers reach the film or the lid's tab; ``beside_mm`` is the room for a finger beside that tab.

    ``through_mm`` is the width of an opening through the floor below the tab, in which a fingertip lifts the film.
    """

    edge: str
    width_mm: float
    beside_mm: float
    depth_mm: float
    tab: bool = False
    through_mm: float = 0.0
    undercut_mm: float = 0.0  # how far the tab stands out over a finger, on either side
