"""Film on glass of its own and film through open ends, designed, for the checks of its kinds."""

from __future__ import annotations

from typing import Any

from holders.design.model import Design
from holders.design.resolve import design
from holders.preset.resolve import Job
from tests.presets_made import job


def glasses(**table: Any) -> tuple[Job, Design]:
    """A 4x5 sheet between coated and etched glass."""
    wanted = job(glasses={"face_below": "etched", **table})
    return wanted, design(wanted)


def roll(turn: str = "always", along: float = 0.0, **table: Any) -> tuple[Job, Design]:
    """A strip of five frames of a longer film, across the bed through open ends."""
    film = {"format": "35mm-strip-5", "curl_along_per_m": along}
    wanted = job(film=film, layout={"turn": turn}, roll={"gap_mm": 0.8, **table})
    return wanted, design(wanted)


def wet(**table: Any) -> tuple[Job, Design]:
    """A 4x5 sheet in fluid that its maker states not to burn, unless the table says otherwise."""
    wanted = job(wet={"flammable": "no", **table})
    return wanted, design(wanted)
