"""Where each film lies, and what must stay clear around it: rectangles on the bed, mm."""

from __future__ import annotations

from dataclasses import dataclass, replace

from holders.design.draft.lips import Laid
from holders.design.draft.stands import STAYS, Moves
from holders.design.model import Edges, Rect


@dataclass(frozen=True, slots=True)
class Place:
    """One film's rectangles on the bed: film as cut, picture, window opening, film pocket, and all that it needs."""

    film: Rect
    picture: Rect
    opening: Rect
    pocket: Rect
    room: Rect  # the pocket with a lid's shoulder
    kind: int = 0  # which kind of film lies there, in a holder for several


@dataclass(frozen=True, slots=True)
class Layout:
    """The outer rectangle, what must stay clear, and the films."""

    outer: Rect
    glass: Rect
    lamp: Rect
    calibration: Rect | None  # the zone itself
    keep_open: Rect | None  # the zone with its clearance, wherever the holder is moved to
    places: tuple[Place, ...]
    lips: Edges
    laid: Laid
    wall: float
    shoulder: float
    kinds: tuple[tuple[Edges, Laid], ...] = ()  # lips and film of each kind, in a holder for several
    moves: Moves = STAYS  # between the passes of a scan

    def of(self, kind: int) -> Layout:
        """The films of one kind alone, with their own lips; the same layout where there is one kind."""
        if not self.kinds:
            return self
        lips, laid = self.kinds[kind]
        places = tuple(place for place in self.places if place.kind == kind)
        return replace(self, places=places, lips=lips, laid=laid, kinds=())

    def lips_at(self, place: Place) -> Edges:
        """The lips of the film at a place."""
        return self.kinds[place.kind][0] if self.kinds else self.lips

    def laid_at(self, place: Place) -> Laid:
        """The film at a place as it lies."""
        return self.kinds[place.kind][1] if self.kinds else self.laid


@dataclass(frozen=True, slots=True)
class Step:
    """A corner of a wall's profile: how far from the film plane, and how far back from the window edge there."""

    away_mm: float
    back_mm: float
    ends_back_mm: float | None = None  # the same at head and foot, where it differs
