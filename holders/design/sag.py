"""What the film surface of a design does, as plain values, and why it is not known where it is not."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from holders.design.other_films import AlongSpread, BaseSpread, CurledFilm, WarmFilm

if TYPE_CHECKING:
    from holders.film.models import LidRest


class NoSag(Enum):
    """Why a design's film surface is not known."""

    NOT_ASKED = "not computed"
    UNSOLVED = "no shape of the film was found"


@dataclass(frozen=True, slots=True)
class Sag:
    """What the film surface does to the picture (mm); None in a design whose film is rigid or was not asked.

    ``max_mm`` is how far the lowest point lies below the ledge, ``mean_mm`` the mean (negative: above it).
    """

    max_mm: float
    mean_mm: float
    min_gap_mm: float
    in_band_fraction: float
    least_gap_mm: float = 0.1  # what rings, dust and doubt ask for
    best_fraction: float | None = None  # in-band share with the best ledge, whatever could be built
    focus_fraction: float | None = None  # the same with the ledge at the focus height
    worst_fraction: float | None = None  # in-band share of the sensible extreme that does worst
    worst_case: str = ""
    reach_mm: tuple[float, float] | None = None  # least and greatest height of the picture above its ledge
    heights_mm: tuple[tuple[float, ...], ...] = ()  # by cells: rows from the head, columns from the left
    curled: tuple[CurledFilm, ...] = ()  # by growing curl across; what film of this kind may do instead
    curl_range_per_m: tuple[float, float, float] = (0.0, 0.0, 0.0)  # least, usual and most curl of its kind
    sought_per_m: tuple[float, float] = (0.0, 0.0)  # least and most curl for which a shape was looked for
    pressed_down_n: float = 0.0  # what the film pushes up with where its lid or cover stands
    lid: LidRest | None = None  # where a lid or cover that can move comes to rest on the film
    warm: WarmFilm | None = None  # the same film on a warm bed; None for glass and film in its mount
    bases: BaseSpread | None = None  # what softer and stiffer bases of its kind do
    along: AlongSpread | None = (
        None  # what film that curls less or more along does; None where none is stated
    )
    lid_room_mm: float = 0.0  # how far what lies on the film can be lifted, and so tilt; 0 where it cannot

    @property
    def lift_mm(self) -> float:
        """How far the film lifts its lid or cover, mm."""
        return 0.0 if self.lid is None else self.lid.rise_mm
