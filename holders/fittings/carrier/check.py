"""A carrier and its insert: the insert drops in, sits all round, goes in one way only, and keeps its height."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import FittedRule, at_least, at_most
from holders.core.findings import Finding, Level
from holders.design.model import Design, Part, Role
from holders.facts.models import Printer
from holders.fittings.carrier.insert import Carrier
from holders.fittings.carrier.words import SAID

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from holders.preset.resolve import Job

SNUG_MM, LOOSE_MM = 0.1, 0.8
SEAT_MM = 2.0
SKIN_MM = 1e-3
PROUD_MM2 = 0.5  # shared area that stops an insert from going in
COSTLY = 0.5  # share of the band's half width that two heights may take
OUT_MM = 0.5
TRIES = (-1.0, 0.0, 1.0)  # of the clearance, along both axes


class InsertRule(FittedRule[Carrier]):
    """The insert in its carrier."""

    code = "insert"
    title = "insert in its carrier"
    why = "an insert that jams, tips, lies the wrong way round or on a ridge of dust puts the whole film out of focus"
    source = "arithmetic on the sections of both parts; clearances and the seat: common practice, no source"

    said = SAID
    fitted = Carrier
    absent = "the holder has no insert"

    def look(self, job: Job, design: Design, made: Carrier) -> Iterator[Finding]:
        """Clearance, seat, orientation, the two heights, and what the carrier's ledge shades."""
        around = tuple(part for part in design.parts if part.role is Role.CARRIER)
        inserts = tuple(part for part in design.parts if part.role is Role.INSERT)
        yield self._clearance(around, inserts)
        yield self._seat(made, around, inserts)
        yield self._one_way(made, around, inserts)
        yield self._heights(job.printer, design, made)
        yield self._window(design, made)

    def _clearance(self, around: tuple[Part, ...], inserts: tuple[Part, ...]) -> Finding:
        from holders.design.parts import slices  # noqa: PLC0415

        gap, where = math.inf, ""
        for insert, body, place in slices.facing(inserts, around):
            here = -1.0 if insert.intersection(body).area > SKIN_MM else insert.distance(body)
            if here < gap:
                gap, where = here, place
        level: Level = (
            "stop" if gap <= 0 else "pass" if SNUG_MM - SKIN_MM <= gap <= LOOSE_MM + SKIN_MM else "warn"
        )
        return self.found(
            level,
            title="gap round the insert",
            measured=gap,
            limit=SNUG_MM if gap < LOOSE_MM else LOOSE_MM,
            where=where,
            advice=""
            if level == "pass"
            else "0.2 to 0.3 mm lets an insert drop in without rattling; a coupon tells",
            field="carrier.clearance_mm",
        )

    def _seat(self, made: Carrier, around: tuple[Part, ...], inserts: tuple[Part, ...]) -> Finding:
        """The narrowest part of the ring where insert and carrier touch, less what the insert can move aside."""
        from holders.design.parts import slices  # noqa: PLC0415

        below = slices.covered_at(around, made.floor - SKIN_MM)
        above = slices.covered_at(inserts, made.floor + SKIN_MM)
        touch = below.intersection(above)
        widths = [
            (_seat_mm(touch, made, edge) - made.clearance, edge) for edge in ("left", "right", "head", "foot")
        ]
        least, edge = min(widths)
        level = at_least(least, SEAT_MM, 0.0) if least > 0 else "stop"
        return self.found(
            level,
            title="insert rests on the carrier's ledge all round",
            measured=max(0.0, least),
            limit=SEAT_MM,
            where=f"{edge} edge, the insert pushed to the other side",
            advice="" if level == "pass" else "a wider carrier.ledge_mm, or less clearance",
            field="carrier.ledge_mm",
        )

    def _one_way(self, made: Carrier, around: tuple[Part, ...], inserts: tuple[Part, ...]) -> Finding:
        from holders.design.parts import slices  # noqa: PLC0415

        z = max(made.floor, min(part.z1 for part in inserts) - SKIN_MM)
        wall = slices.covered_at(around, z)
        plate = slices.union([slices.footprint(part) for part in inserts])
        shared, way = min((_in_the_way(turned, wall, made), way) for way, turned in _wrong_ways(plate, made))
        return self.found(
            "pass" if shared > PROUD_MM2 else "stop",
            title="insert goes in one way only",
            measured=shared,
            limit=PROUD_MM2,
            unit="mm² in the way",
            where=way,
            advice=""
            if shared > PROUD_MM2
            else f"a larger carrier.key_mm, so that the {made.corner} corner stops it",
            field="carrier.key_mm",
        )

    def _heights(self, printer: Printer | None, design: Design, made: Carrier) -> Finding:
        """Two printed heights instead of one."""
        one = printer.z_tolerance_mm if printer is not None else 0.0
        both = math.sqrt(2) * one
        half = design.heights.half_band
        level = at_most(both, COSTLY * half, half)
        own = design.heights.drawn_ledge - made.floor
        return self.found(
            level,
            title="carrier and insert add up to the ledge's height",
            measured=both,
            limit=COSTLY * half,
            where=(
                f"{made.floor:.2f} mm above the glass and {own:.2f} mm of insert, each ± {one:g} mm; code {made.fit}"
            ),
            advice="" if level == "pass" else "measure both with a caliper, and set printer.z_tolerance_mm",
            field="printer.z_tolerance_mm",
        )

    def _window(self, design: Design, made: Carrier) -> Finding:
        """How far the carrier's opening stands back from the film's windows."""
        i, ledge = made.insert, made.ledge
        back, k = min(
            (min(o.x - i.x, i.right - o.right, o.y - i.y, i.top - o.top) - ledge, k)
            for k, o in enumerate((w.opening for w in design.windows), 1)
        )
        return self.found(
            "pass" if back >= -SKIN_MM else "stop",
            title="carrier's ledge clear of the windows",
            measured=back,
            limit=0.0,
            where=f"window {k}",
            advice="" if back >= -SKIN_MM else "a narrower carrier.ledge_mm, or a larger insert",
            field="carrier.ledge_mm",
        )


def _seat_mm(touch: BaseGeometry, made: Carrier, edge: str) -> float:
    """Least width of the seat along one edge, probed across it at five places off the corners, mm."""
    import shapely  # noqa: PLC0415

    r, found = made.insert, []
    reach = made.ledge + OUT_MM
    for share in (0.15, 0.3, 0.5, 0.7, 0.85):
        x, y = r.x + share * r.width, r.y + share * r.height
        line = {
            "left": [(r.x - OUT_MM, y), (r.x + reach, y)],
            "right": [(r.right - reach, y), (r.right + OUT_MM, y)],
            "foot": [(x, r.y - OUT_MM), (x, r.y + reach)],
            "head": [(x, r.top - reach), (x, r.top + OUT_MM)],
        }[edge]
        found.append(touch.intersection(shapely.LineString(line)).length)
    return float(min(found))


def _wrong_ways(plate: BaseGeometry, made: Carrier) -> Iterator[tuple[str, BaseGeometry]]:
    """The insert laid in every way but the right one: turned by quarters, and turned over."""
    from shapely.affinity import rotate, scale  # noqa: PLC0415

    middle = (made.insert.x + made.insert.width / 2, made.insert.y + made.insert.height / 2)
    over = scale(plate, -1.0, 1.0, origin=middle)
    for quarter in (0, 1, 2, 3):
        if quarter:
            yield f"turned by {90 * quarter} degrees", rotate(plate, 90 * quarter, origin=middle)
        yield f"turned over and by {90 * quarter} degrees", rotate(over, 90 * quarter, origin=middle)


def _in_the_way(plate: BaseGeometry, wall: BaseGeometry, made: Carrier) -> float:
    """Least area that insert and wall share, however the insert is pushed within its clearance, mm²."""
    from shapely.affinity import translate  # noqa: PLC0415

    c = made.clearance
    return float(min(translate(plate, c * i, c * j).intersection(wall).area for i in TRIES for j in TRIES))
