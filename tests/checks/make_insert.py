"""A carrier with a 4x5 insert, and the ways in which one can be wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from holders.design.model import Design, Part, Slab
from holders.design.resolve import design
from holders.fittings.carrier.insert import Carrier
from holders.geometry.outline import Outline, Region, moved, rectangle
from holders.preset.resolve import Job
from tests.presets_made import job
from tests.refit import refitted

TABLE: dict[str, Any] = {"insert_width_mm": 120.0, "insert_length_mm": 150.0}


def carried(printer: dict[str, Any] | None = None, **table: Any) -> tuple[Job, Design]:
    wanted = job(carrier={**TABLE, **table}, printer=printer or {})
    return wanted, design(wanted)


def _changed(name: str, how: Any) -> tuple[Job, Design]:
    wanted, made = carried()
    parts = tuple(how(p) if p.name == name else p for p in made.parts)
    return wanted, replace(made, parts=parts)


def shifted(region: Region, dx: float) -> Region:
    return Region(moved(region.outer, dx, 0), tuple(moved(hole, dx, 0) for hole in region.holes))


def pushed(dx: float) -> tuple[Job, Design]:
    """The insert off its place."""

    def shift(part: Part) -> Part:
        return replace(
            part, slabs=tuple(replace(s, region=shifted(s.region, dx)) for s in part.slabs), cuts=()
        )

    return _changed("insert", shift)


def keyless() -> tuple[Job, Design]:
    """Insert and pocket as plain rectangles."""
    wanted, made = carried()
    bed = made.find(Carrier)
    assert bed is not None
    i, p = bed.insert, bed.pocket
    plain = rectangle(i.x, i.y, i.width, i.height)
    parts = []
    for part in made.parts:
        slabs = tuple(_plain(s, part.name, plain, rectangle(p.x, p.y, p.width, p.height)) for s in part.slabs)
        parts.append(replace(part, slabs=slabs))
    return wanted, replace(made, parts=tuple(parts))


def _plain(slab: Slab, name: str, plain: Outline, pocket: Outline) -> Slab:
    if name == "insert":
        return replace(slab, region=replace(slab.region, outer=plain))
    if slab.name == "wall":
        return replace(slab, region=replace(slab.region, holes=(*slab.region.holes[:-1], pocket)))
    return slab


def narrow_seat(ledge: float) -> tuple[Job, Design]:
    """A carrier whose floor reaches less far under the insert."""
    wanted, made = carried()
    bed = made.find(Carrier)
    assert bed is not None
    hole = bed.insert.inset(*(ledge,) * 4)
    opened = rectangle(hole.x, hole.y, hole.width, hole.height)

    def open_up(part: Part) -> Part:
        first = part.slabs[0]
        holes = (*first.region.holes[:-1], opened)
        return replace(
            part, slabs=(replace(first, region=replace(first.region, holes=holes)), *part.slabs[1:])
        )

    parts = tuple(open_up(p) if p.name == "carrier" else p for p in made.parts)
    return wanted, replace(made, parts=parts)


def wide_ledge() -> tuple[Job, Design]:
    """A carrier whose ledge is said to reach under the window."""
    wanted, made = carried()
    assert made.find(Carrier) is not None
    return wanted, refitted(made, replace(made.find(Carrier), ledge=20.0))
