"""A carrier as large as the bed with a pocket for inserts: small frames that change with the film.

The insert lies on the carrier's ledge, so that

    height of the film's ledge = feet + carrier's floor + insert's own ledge.

One corner of the insert is hollowed out, and its pocket reaches into the hollow: it goes in one way only. Everything
that decides whether an insert fits a carrier makes up its fit code, which is lettered on both.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import ClassVar

from holders.core.errors import InputError
from holders.design.draft.bed import SLACK, Span, keep_open, lamp_rect, outer_rect, wall_mm
from holders.design.draft.levels import Levels
from holders.design.draft.places import Layout, Place
from holders.design.height.heights import LEAST_LAYERS
from holders.design.height.printed import least_height, printed_height
from holders.design.model import Design, Fitted, Rect
from holders.facts.models import Process
from holders.facts.tables import process
from holders.fittings.carrier.table import CarrierTable
from holders.geometry.outline import Outline, walled
from holders.preset.resolve import Job

LEAST_SEAT_MM = 2.0
SLANT = 2.0 - math.sqrt(2.0)  # how much a slanted corner's leg grows when its outline is set off by one


@dataclass(frozen=True, slots=True)
class Carrier(Fitted):
    """A bed-sized carrier and the insert in its pocket, in bed coordinates, mm."""

    insert: Rect
    pocket: Rect
    floor: float  # height above the glass that the insert rests at
    ledge: float  # how far the carrier reaches under the insert, each side
    clearance: float  # between insert and pocket, each side
    key: float  # radius of the insert's hollowed corner, or leg of a slanted one
    fit: str  # alike on every carrier and insert that fit each other
    hollow: bool = True  # the corner's form

    is_frame: ClassVar[bool] = True

    def spots(self) -> tuple[tuple[str, Rect], ...]:
        """The pocket that the insert lies in."""
        return (("insert pocket", self.pocket),)

    def notes(self) -> tuple[str, ...]:
        """What goes with what."""
        r = self.insert
        return (
            f"carrier and insert {self.fit}: any insert of that code ({r.width:g} x {r.height:g} mm) fits this "
            "carrier, and any carrier of that code takes this insert, at the same height; print the carrier once",
        )

    def loading(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """The insert, with its film, into the carrier."""
        return (
            f"Lower the insert into the carrier, {self.corner} corner to {self.corner} corner; both must bear the code "
            f"{self.fit}. It must lie flat on the carrier's ledge, without dust below, and not be pressed.",
        )

    @property
    def corner(self) -> str:
        """The form of the corner that lets it in one way only, in words."""
        return "hollowed" if self.hollow else "slanted"

    def printed_heights(self) -> tuple[str, ...]:
        """The carrier's floor."""
        return ("printer's height of the carrier",)

    def record(self, design: Design) -> Mapping[str, object]:  # noqa: ARG002
        """The code."""
        return {"carrier_fit": self.fit}


def insert_rect(job: Job, table: CarrierTable) -> Rect:
    """The insert of a carrier on the bed: over the middle of the lamp area, as far as the carrier leaves walls.

    Raises ``InputError`` when the carrier has no room for its pocket. It depends on bed and carrier only, never on
    the film, so that every insert lies at one place.
    """
    outer, lamp, zone = outer_rect(job.bed, job.preset), lamp_rect(job.bed), keep_open(job.bed, job.preset)
    around = wall_mm(job.preset) + table.clearance_mm
    lowest = outer.y if zone is None else max(outer.y, zone.top)
    spans = (
        Span(outer.x + around, outer.right - around, lamp.x + lamp.width / 2),
        Span(lowest + around, outer.top - around, lamp.y + lamp.height / 2),
    )
    sizes = (table.insert_width_mm, table.insert_length_mm)
    for span, size, name in zip(spans, sizes, ("insert_width_mm", "insert_length_mm"), strict=True):
        if size > span.high - span.low + SLACK:
            most = max(0.0, span.high - span.low)
            raise InputError(f"carrier.{name}", size, f"the carrier on this bed takes at most {most:.1f} mm")
    return Rect(spans[0].start(sizes[0]), spans[1].start(sizes[1]), *sizes)


def carrier(job: Job, table: CarrierTable, plain: Levels) -> Carrier:
    """Everything about the carrier that does not depend on the film.

    Raises
    ------
    InputError
        For a route that cannot make one, a floor that leaves no insert below the film, or an insert that does not
        fit the printer.
    """
    if job.printer is None:
        raise InputError(
            "carrier",
            "(set)",
            "is printed only: the carrier's floor and the insert's ledge share one height, which whole printer layers "
            'make up and two stacks of sheets rarely do; set route = "print", or leave the table out and cut a holder '
            "for each format",
        )
    least, margin = least_height(job.printer, LEAST_LAYERS), 2 * job.printer.margin_mm
    floor = printed_height(job.printer, table.floor_mm)
    if floor < least - 1e-9:
        raise InputError("carrier.floor_mm", table.floor_mm, f"needs at least {least:g} mm")
    if plain.ledge - plain.under - floor < least - 1e-9:
        most = plain.ledge - plain.under - least
        raise InputError(
            "carrier.floor_mm",
            table.floor_mm,
            f"leaves the insert nothing below the film; at most {max(0.0, most):.2f} mm, or thinner feet",
        )
    if table.ledge_mm - 2 * table.clearance_mm < LEAST_SEAT_MM:
        raise InputError(
            "carrier.ledge_mm",
            table.ledge_mm,
            f"an insert pushed to one side must still rest on {LEAST_SEAT_MM:g} mm: a wider ledge or less clearance",
        )
    insert = insert_rect(job, table)
    sizes, plate = (
        (insert.width, insert.height),
        (job.printer.build_x_mm - margin, job.printer.build_y_mm - margin),
    )
    if max(sizes) > max(plate) or min(sizes) > min(plate):
        raise InputError(
            "carrier.insert_length_mm" if max(sizes) > max(plate) else "carrier.insert_width_mm",
            max(sizes) if max(sizes) > max(plate) else min(sizes),
            f"an insert is printed in one piece and the plate takes {plate[0]:g} x {plate[1]:g} mm; make it smaller",
        )
    return Carrier(
        insert=insert,
        pocket=insert.grown(table.clearance_mm),
        floor=plain.under + floor,
        ledge=table.ledge_mm,
        clearance=table.clearance_mm,
        key=table.key_mm,
        fit=fit_code(
            insert,
            table.clearance_mm,
            table.key_mm,
            plain.under + floor,
            ledge=table.ledge_mm,
            radius=process(job.preset.route).pocket_radius_mm,
            hollow=table.corner == "hollow",
        ),
        hollow=table.corner == "hollow",
    )


def fit_code(
    insert: Rect,
    clearance: float,
    key: float,
    floor: float,
    *,
    ledge: float,
    radius: float,
    hollow: bool = False,
) -> str:
    """Six signs that are alike for every carrier and insert that fit each other, and differ where one does not.

    The ledge counts: an insert made for a narrower one may have its window over it. So does the pocket's corner
    ``radius``, from which the insert's own corners follow.
    """
    text = f"{insert.width:.2f} {insert.height:.2f} {clearance:.2f} {key:.2f} {floor:.2f} {ledge:.2f} {radius:.2f}"
    text += " hollow" if hollow else ""
    return hashlib.sha256(text.encode("ascii")).hexdigest()[:6].upper()


def insert_layout(layout: Layout, made: Carrier) -> Layout:
    """The layout as the insert sees it: its own outside, nothing of the bed to keep open.

    Raises ``InputError`` when a window looks onto the carrier's ledge, or a pocket meets the corner that is taken off.
    """
    inside = carrier_opening(made)
    for place in layout.places:
        if not inside.contains(place.opening, 1e-6):
            raise InputError(
                "carrier.ledge_mm",
                made.ledge,
                "the carrier's ledge reaches under the film's window; a narrower one, or a larger insert",
            )
        dx, dy = place.room.x - made.insert.x, place.room.y - made.insert.y
        most = math.hypot(dx, dy) - layout.wall if made.hollow else dx + dy - layout.wall * math.sqrt(2)
        if made.key > most + 1e-9:
            raise InputError(
                "carrier.key_mm",
                made.key,
                f"the {made.corner} corner meets the film's pocket; at most {max(0.0, most):.1f} mm, or a larger one",
            )
    return replace(layout, outer=made.insert, keep_open=None, calibration=None)


def carrier_opening(made: Carrier) -> Rect:
    """What of the pocket's floor is open."""
    return made.insert.inset(*(made.ledge,) * 4)


def carrier_layout(layout: Layout, made: Carrier) -> Layout:
    """The layout as the carrier sees it: its one film is the insert."""
    place = Place(
        film=made.insert,
        picture=carrier_opening(made),
        opening=carrier_opening(made),
        pocket=made.pocket,
        room=made.pocket,
    )
    return replace(layout, places=(place,), shoulder=0.0)


def insert_outline(made: Carrier, rules: Process) -> Outline:
    """The insert from above, its corner of least x and y hollowed out, or slanted off."""
    r = made.insert
    return walled(
        r.x,
        r.y,
        r.width,
        r.height,
        2 * rules.pocket_radius_mm,
        (),
        made.key,
        "hollow" if made.hollow else "slanted",
    )


def pocket_key(made: Carrier) -> float:
    """What the pocket's corner keeps: the insert's radius, or its leg set off by the clearance.

    Round two centres a clearance apart either way, equal radii leave the clearance at both ends of the arc
    and 1.4 times as much between.
    """
    return made.key if made.hollow else made.key + SLANT * made.clearance
