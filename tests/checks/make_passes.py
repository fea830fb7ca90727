"""Holders that move between passes, and the ways in which one can be wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from holders.design.model import Design, Rect
from holders.design.resolve import design
from holders.fittings.passes.made import Passes
from holders.preset.resolve import Job
from tests.presets_made import job

TWO = {"bed": {"name": "a4-small"}, "film": {"format": "5x7"}, "passes": {}}
UPRIGHT = {
    "name": "a4-small", "lamp_x_mm": 55.5, "lamp_width_mm": 105.0, "lamp_y_mm": 90.0, "lamp_length_mm": 130.0,
}  # fmt: skip


def holder(**changes: Any) -> tuple[Job, Design]:
    wanted = job(**{**TWO, **changes})
    return wanted, design(wanted)


def with_passes(made: Design, **changes: Any) -> Design:
    """The design with other passes than were designed."""
    others = tuple(replace(one, **changes) if isinstance(one, Passes) else one for one in made.fitted)
    return replace(made, fitted=others)


def thin_overlap() -> tuple[Job, Design]:
    """Steps that leave 10 mm of the 15 that were asked for."""
    wanted, made = holder()
    return wanted, with_passes(made, stands=((0.0, 0.0), (0.0, 95.0)))


def gap_between() -> tuple[Job, Design]:
    """Steps longer than the lamp area."""
    wanted, made = holder()
    return wanted, with_passes(made, stands=((0.0, 0.0), (0.0, 106.0)))


def bare_glass() -> tuple[Job, Design]:
    """A lamp area as wide as the glass: half a millimetre of it shines past the holder on either side."""
    wanted, made = holder()
    return wanted, replace(made, lamp=Rect(0.0, made.lamp.y, 216.0, made.lamp.height))
