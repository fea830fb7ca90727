"""A lid with steel bars on it, and the ways in which they can be wrong."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from holders.design.model import Design
from holders.design.resolve import design
from holders.fittings.bars.fitted import Steel
from holders.preset.resolve import Job
from tests.checks.case import Case
from tests.checks.make_design import job as good_job
from tests.checks.make_design import make
from tests.presets_made import job

ON: dict[str, Any] = {
    "route": "laser",
    "film": {"format": "roll-6x9"},
    "material": {"name": "plywood-birch", "sheets_mm": [0.82, 1.48, 2.95]},
    "layout": {"count": 1, "pocket_depth_mm": 0.8},
    "lid": {"thickness_mm": 1.5, "lip_mm": 1.7, "clearance_mm": 0.2},
    "bars": {"sides": "12x5", "ends": "12x5"},
}
IN: dict[str, Any] = {
    "layout": {"count": 1},
    "lid": {"thickness_mm": 6.0},
    "bars": {"sides": "10x4", "ends": "none"},
}


@cache
def barred(*, on: bool = True) -> tuple[Job, Design]:
    """A lid with bars glued on it, or let in."""
    wanted = job(**(ON if on else IN))
    return wanted, design(wanted)


def changed(*, on: bool = True, **keys: float) -> tuple[Job, Design]:
    """The same with a number of its bars changed."""
    wanted, made = barred(on=on)
    fitted = tuple(replace(one, **keys) if isinstance(one, Steel) else one for one in made.fitted)
    return wanted, replace(made, fitted=fitted)


BARS = (
    Case("bars", "pass", barred, "room between bars and frame"),
    Case("bars", "warn", lambda: changed(over=0.2), "room between bars and frame", "layout.pocket_depth_mm"),
    Case("bars", "stop", lambda: changed(over=0.0), "room between bars and frame", "layout.pocket_depth_mm"),
    Case("bars", "pass", barred, "strip that a bar is glued to"),
    Case("bars", "warn", lambda: changed(glued=1.0), "strip that a bar is glued to", "lid.lip_mm"),
    Case("bars", "pass", lambda: barred(on=False), "lid above the bars"),
    Case("bars", "warn", lambda: changed(on=False, cover=0.6), "lid above the bars", "lid.thickness_mm"),
    Case("bars", "skip", lambda: (good_job(), make())),
    Case("grip", "pass", barred, "hold on the bars"),
    Case("grip", "warn", lambda: changed(above=2.0), "hold on the bars", "bars.sides"),
)
