"""The good holder with a glass cover, and the ways in which one can be wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from holders.design.model import Cut, Design, Foot, Rect
from holders.design.sag import Sag
from holders.film.models import LidRest
from holders.fittings.cover.pane import Pane
from holders.fittings.cover.spring import Spring
from holders.geometry.outline import circle
from holders.preset.resolve import Job
from tests.checks.make_design import FEET, job, make
from tests.refit import refitted

PINS = ((70.0, 80.0), (74.0, 80.0), (146.0, 217.0), (142.0, 217.0))
HOLE = 1.5
SPRING = Spring(leg=1.6, slot=2.4, length=20.0, back=3.6, thick=3.0)
SIX = (*FEET, Foot(6.5, 148.5, 6.0), Foot(209.5, 148.5, 6.0))


def covered(
    gap: float = 0.5,
    thick: float = 1.5,
    z0: float = 3.28,
    face: str = "etched",
    reach: float = 2.0,
    floor: float = 2.3,
    sag: Sag | None = None,
    spring: Spring = SPRING,
    **table: Any,
) -> tuple[Job, Design]:
    """A plate ``gap`` smaller than its pocket on each side, its top 0.32 mm under the wall, two catches."""
    made = make()
    top = made.parts[0].z1
    pits = tuple(Cut("pin", circle(x, y, HOLE), floor, top) for x, y in PINS)
    frame = replace(made.parts[0], cuts=(*made.parts[0].cuts, *pits))
    place = made.windows[0].pocket.grown(-gap)
    pane = Pane((place,), z0, z0 + thick, face, gap, reach, 2, PINS, top - floor, spring)
    wanted = job(preset={"cover": {"thickness_mm": thick, "face": face, "clearance_mm": gap, **table}})
    springy = wanted.material.model_copy(update={"spring_strain": 0.008})
    return (
        replace(wanted, material=springy),
        replace(made, parts=(frame,), feet=SIX, fitted=(pane,), sag=sag or pushing(0.1)),
    )


def pushing(newton: float, rise_mm: float = 0.0, weight_n: float = 0.4) -> Sag:
    """A film that asks for so much force to lie flat under a cover that weighs 0.4 N."""
    rest = LidRest(weight_n=weight_n, held_n=weight_n, needed_n=newton, rise_mm=rise_mm)
    return Sag(0.2, 0.1, 2.9, 1.0, pressed_down_n=min(newton, weight_n), lid=rest)


def shifted(dx: float) -> tuple[Job, Design]:
    """The plate drawn off its place, into the wall."""
    wanted, made = covered()
    assert made.find(Pane) is not None
    r = made.find(Pane).places[0]
    moved = replace(made.find(Pane), places=(Rect(r.x + dx, r.y, r.width, r.height),))
    return wanted, refitted(made, moved)
