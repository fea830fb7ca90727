"""Small pan head screws: the sizes that a design needs of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class Screw:
    """A metric screw, mm: thread, hole that it cuts its thread in, hole that it passes, and its pan head."""

    thread_mm: float
    pilot_mm: float
    through_mm: float
    head_mm: float
    head_height_mm: float


# pilot: tap drill for the coarse thread (ISO 2306); through: medium fit (ISO 273); head: pan head (ISO 7045).
# All from memory.
SCREWS: Mapping[str, Screw] = MappingProxyType(
    {
        "M2": Screw(2.0, 1.6, 2.4, 4.0, 1.6),
        "M2.5": Screw(2.5, 2.05, 2.9, 5.0, 2.1),
        "M3": Screw(3.0, 2.5, 3.4, 5.6, 2.4),
    }
)
