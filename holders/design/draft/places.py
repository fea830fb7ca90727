"""Where each film lies, and what must stay clear around it: rectangles on the bed, mm."""

from __future__ import annotations

from dataclasses import dataclass

from holders.design.draft.lips import Laid
from holders.design.model import Edges, Rect


@dataclass(frozen=True, slots=True)
class Place:
    """One film's rectangles on the bed: film as cut, picture, window opening, film pocket, and all that it needs."""

    film: Rect
    picture: Rect
    opening: Rect
    pocket: Rect
    room: Rect  # the pocket with a lid's shoulder


@dataclass(frozen=True, slots=True)
class Layout:
    """The outer rectangle, what must stay clear, and the films."""

    outer: Rect
    glass: Rect
    lamp: Rect
    calibration: Rect | None  # the zone itself
    keep_open: Rect | None  # the zone with its clearance
    places: tuple[Place, ...]
    lips: Edges
    laid: Laid
    wall: float
    shoulder: float


@dataclass(frozen=True, slots=True)
class Step:
    """A corner of a wall's profile: how far from the film plane, and how far back from the window edge there."""

    away_mm: float
    back_mm: float
