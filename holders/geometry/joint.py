"""How two pieces of a split part interlock."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from holders.geometry.outline import Outline, Point

JointKind = Literal["tongue", "lap"]


@dataclass(frozen=True, slots=True)
class Joint:
    """Where two pieces interlock, in bed coordinates: ``low`` carries the tongue, ``high`` the socket around it."""

    letter: str  # engraved on both pieces where it has room
    kind: JointKind
    low: str
    high: str
    root: Point  # on the seam, in the middle of the tongue's root
    tongue: Outline  # reaches back a little into its own piece
    socket: Outline  # the tongue and the clearance all round
    play_mm: float  # how far the pieces can be drawn apart before it holds them (a lap: infinite)
    marked: bool = False
