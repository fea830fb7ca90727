"""What other films of the usual one's kind do on its ledge: other curls, other bases, the warm bed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:  # numpy is not wanted for lists
    from holders.film.models import LidRest


@dataclass(frozen=True, slots=True)
class CurledFilm:
    """The usual film with another curl: heights of its picture over the ledge by equal cells, mm, like the usual one's.

    ``across_per_m`` is its curl when it is free, ``along_per_m`` its natural curl along, that of its drying with it.
    ``lid`` is where its lid or cover comes to rest. ``below`` is the chance that a film of this kind curls less than
    this one; not ``inside``, it is one that such film only comes to as it dries.
    """

    across_per_m: float
    along_per_m: float
    below: float
    heights_mm: tuple[tuple[float, ...], ...]
    lid: LidRest | None = None
    inside: bool = True

    @property
    def lid_rise_mm(self) -> float:
        """How far it lifts its lid or cover, mm."""
        return 0.0 if self.lid is None else self.lid.rise_mm


@dataclass(frozen=True, slots=True)
class WarmShape:
    """Film of one curl on the ledge as built, mm: like the usual film's numbers in :class:`Sag`."""

    curl_per_m: float
    max_mm: float
    mean_mm: float
    min_gap_mm: float
    in_band_fraction: float
    lid_rise_mm: float
    heights_mm: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class WarmFilm:
    """What warm, dry air does to film of this kind: in the odds for all of it, and shown for the usual film.

    ``cold_per_m`` and ``warm_per_m`` are how much more film with nothing on its back curls in the room and on the warm
    bed than its base's numbers say; ``coat_shares`` what films of this kind take of that, of equal chance each, and
    ``bare_chance`` how likely such a film has no coat. ``span`` is between which parts of the way from cold to warm the
    scan is made, 0 to 1; ``curl_known``: the base's numbers were measured in this room. ``shown`` is the film of the
    usual curl on the warm bed, None where no shape was found; ``leaves_at`` how far on that way it is when less than
    nine tenths of its picture is sharp, None where it stays.
    """

    room_percent: float
    bed_percent: float
    cold_per_m: float
    warm_per_m: float
    coat_shares: tuple[float, ...]
    bare_chance: float
    span: tuple[float, float]
    curl_known: bool
    shown: WarmShape | None = None
    leaves_at: float | None = None


@dataclass(frozen=True, slots=True)
class AlongSpread:
    """What film of the usual curl across that curls less and more along than stated adds to the heights of the picture
    by cells, mm: at the ends ``low_per_m`` and ``high_per_m`` of what it may curl along.
    """

    low_per_m: float
    high_per_m: float
    low_mm: tuple[tuple[float, ...], ...]
    high_mm: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class BaseSpread:
    """What the thinnest and softest base of a kind, and the thickest and stiffest, add to the heights of the picture by
    cells, mm: at each of ``curls_per_m``. ``softness`` are bases of equal chance between them: 1 the one, -1 the other.
    """

    curls_per_m: tuple[float, ...]
    softest_mm: tuple[tuple[tuple[float, ...], ...], ...]
    stiffest_mm: tuple[tuple[tuple[float, ...], ...], ...]
    softness: tuple[float, ...]
