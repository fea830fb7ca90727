"""The readings off a test piece, as a preset gives them, turned into the numbers that its design goes by.

What the preset states itself always wins; a note then says what the test piece would have given. Every number that
comes from the test piece is a note too, with its standard uncertainty.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from pydantic import BaseModel

from holders.core.errors import InputError
from holders.facts.habits import habit
from holders.fittings.registry import fitted_in
from holders.preset.resolve import Job, PrintedHeights
from holders.preset.tables.making import Coupon as Readings
from holders.workshop.coupon.coupon import Coupon, coupon, coupon_for
from holders.workshop.coupon.limits import MOST_STAIR_MM
from holders.workshop.coupon.readback import (
    Clearance,
    Measured,
    clearance_from,
    glue_line_from,
    height_correction_from,
    joint_clearance_from,
    kerf_from,
)

T = TypeVar("T")
MOST_JOINT_MM = 0.5  # the widest that a preset takes
SIGMAS = 2.0  # a spread given as a limit
LEDGE_READINGS = 4


@dataclass
class _Desk:
    """The job as far as the readings have changed it, and the notes about it."""

    job: Job
    notes: list[str] = field(default_factory=list)

    def say(self, words: str) -> None:
        self.notes.append(f"test piece: {words}")

    def stated(self, table: BaseModel | None, key: str) -> bool:
        """Whether the preset itself gives the key a value."""
        return table is not None and key in table.model_fields_set and getattr(table, key) is not None

    def put(self, name: str, value: Measured | Clearance, words: str = "") -> bool:
        """Note where ``name`` (table.key) comes from; False when the preset states it itself."""
        number = value.value if isinstance(value, Measured) else value.per_side_mm
        sigma = value.sigma if isinstance(value, Measured) else value.sigma_mm
        told = f"{number:.2f} ± {sigma:.2f} mm{words}"
        table, _, key = name.partition(".")
        mine = getattr(self.job.preset, table)
        if self.stated(mine, key):
            self.say(f"{name} = {getattr(mine, key):g} as the preset states; the readings say {told}")
            return False
        self.say(f"{name} = {told}")
        return True

    def change_preset(self, table: str, **values: Any) -> None:
        made = getattr(self.job.preset, table).model_copy(update=values)
        self.job = replace(self.job, preset=self.job.preset.model_copy(update={table: made}))

    def change_material(self, **values: float) -> None:
        self.job = replace(self.job, material=self.job.material.model_copy(update=values))


def with_readings(job: Job) -> tuple[Job, tuple[str, ...]]:
    """The job with the numbers that its test piece told, and a note on each.

    Raises
    ------
    InputError
        When readings contradict each other or the drawn sizes; it names the key under ``coupon``.
    """
    readings = job.preset.coupon
    if not readings.model_fields_set or readings == Readings():
        return job, ()
    desk, piece = _Desk(job), _drawn(job)
    kerf = _kerf(desk, readings, piece)
    _pocket(desk, readings, kerf)
    _slot(desk, readings, piece, kerf)
    _heights(desk, readings, piece)
    _ledge(desk, readings)
    _glue(desk, readings)
    return desk.job, tuple(desk.notes)


def _drawn(job: Job) -> Coupon:
    """The test piece as it was drawn: of the thickness engraved on it, else of this job."""
    thick = job.preset.coupon.thickness_mm
    if thick is None:
        return coupon_for(job)
    route, material, printer = job.preset.route, job.material.key, job.printer
    layers = () if printer is None else (printer.layer_mm, printer.first_layer_mm)
    return _asked("thickness_mm", lambda: coupon(route, material, thick, *layers))


def _asked(key: str, work: Callable[[], T]) -> T:
    """The work's answer; a refusal names the reading that it stands on."""
    try:
        return work()
    except InputError as error:
        raise InputError(f"coupon.{key}", error.value, error.way_out) from None


def _kerf(desk: _Desk, readings: Readings, piece: Coupon) -> Measured | None:
    """The kerf to reckon with: measured, or what the preset states; None where nothing burns away."""
    job = desk.job
    sides = bool(readings.holes_mm or readings.plugs_mm)
    if job.preset.route != "laser":
        if sides:
            desk.say("sides of hole and plug tell a laser's kerf only; they are not used on this route")
        return None
    if not sides:
        return Measured(job.material.kerf_mm, 0.0, 0)
    found = _asked(
        "holes_mm" if readings.holes_mm else "plugs_mm",
        lambda: kerf_from(
            [(piece.square_mm, side) for side in readings.holes_mm],
            [(piece.plug_mm, side) for side in readings.plugs_mm],
        ),
    )
    many = f" ({found.count} readings)"
    if not desk.put("material.kerf_mm", found, many):
        return Measured(desk.job.material.kerf_mm, 0.0, 0)
    desk.change_material(kerf_mm=round(found.value, 4))
    return found


def _pocket(desk: _Desk, readings: Readings, kerf: Measured | None) -> None:
    if readings.pocket is None:
        return
    found = clearance_from(readings.pocket / 100, kerf)
    words = _reserve(found)
    if desk.put("layout.clearance_mm", found, words):
        desk.change_preset("layout", clearance_mm=round(found.per_side_mm, 3))
    for kind in fitted_in(desk.job.preset):
        if kind.pocket_key and desk.put(f"{kind.key}.{kind.pocket_key}", found, words):
            desk.change_preset(kind.key, **{kind.pocket_key: round(found.per_side_mm, 3)})


def _slot(desk: _Desk, readings: Readings, piece: Coupon, kerf: Measured | None) -> None:
    if readings.slot is None:
        return
    tight = readings.slot / 100
    thick = readings.tongue_mm or piece.tongue_mm
    found = _asked("tongue_mm", lambda: joint_clearance_from(tight, piece.tongue_mm, thick, kerf))
    if desk.job.printer is None:
        desk.say(
            f"the tongue wants {found.per_side_mm:.2f} ± {found.sigma_mm:.2f} mm a side; nothing of a cut holder is "
            "slotted together, so this changes nothing"
        )
        return
    if not 0 <= found.per_side_mm <= MOST_JOINT_MM:
        raise InputError(
            "coupon.tongue_mm",
            thick,
            f"makes {found.per_side_mm:.2f} mm of play a side, which no joint has: measure the tongue again",
        )
    if desk.put("split.clearance_mm", found, _reserve(found)):
        desk.change_preset("split", clearance_mm=round(found.per_side_mm, 3))


def _reserve(found: Clearance) -> str:
    return " a side (the tightest step went in already, so it may be less)" if found.at_least else " a side"


def _heights(desk: _Desk, readings: Readings, piece: Coupon) -> None:
    if not readings.heights_mm:
        return
    if desk.job.printer is None:
        desk.say("a stair of heights is printed only; the heights are not used on this route")
        return
    if len(readings.heights_mm) != len(piece.heights):
        raise InputError(
            "coupon.heights_mm",
            readings.heights_mm,
            f"give all {len(piece.heights)} steps of the stair, the lowest first",
        )
    for step, (drawn, read) in enumerate(zip(piece.heights, readings.heights_mm, strict=True), 1):
        if abs(read - drawn) > MOST_STAIR_MM:
            raise InputError(
                "coupon.heights_mm",
                read,
                f"step {step} of the stair was drawn {drawn:g} mm high and cannot come out so far off: measure it "
                "again, from the plate's underside, the lowest step first",
            )
    found = _asked("heights_mm", lambda: height_correction_from(piece.heights, readings.heights_mm))
    desk.job = replace(
        desk.job,
        printed=PrintedHeights(
            found.offset_mm, found.scale, found.sigma_offset_mm, found.sigma_scale, found.covariance
        ),
    )
    desk.say(
        f"a printed height comes out at {found.offset_mm:+.3f} mm + {1 + found.scale:.4f} x drawn "
        f"(± {found.sigma_offset_mm:.3f} mm, ± {found.sigma_scale:.4f}); the ledge is drawn so that it comes out right"
    )


def _ledge(desk: _Desk, readings: Readings) -> None:
    """The last holder's own ledge, where no stair of heights says it better."""
    drawn, read = readings.ledge_drawn_mm, readings.ledge_mm
    if drawn is None and not read:
        return
    if drawn is None or len(read) != LEDGE_READINGS:
        raise InputError(
            "coupon.ledge_drawn_mm" if drawn is None else "coupon.ledge_mm",
            "(missing)" if drawn is None else read,
            "the next holder is corrected by four readings of the last one's ledge and the height it was drawn at: "
            "give both, as `holders measured` writes them",
        )
    if desk.job.printer is None:
        desk.say("the ledge of a cut holder follows from its sheets and glue; its readings are not used")
        return
    if readings.heights_mm:
        desk.say("the stair of heights corrects the ledge; the last holder's readings are not used")
        return
    off = sum(read) / len(read) - drawn
    if abs(off) > MOST_STAIR_MM:
        raise InputError(
            "coupon.ledge_mm", read,
            f"is {off:+.2f} mm off what was drawn, which no printer does: measure from the glass to the film's ledge",
        )  # fmt: skip
    sigma = habit("caliper") / SIGMAS
    desk.job = replace(desk.job, printed=PrintedHeights(off, 0.0, sigma, 0.0, 0.0))
    desk.say(
        f"the last holder's ledge came out {off:+.3f} ± {sigma:.3f} mm from its drawing; this one is drawn for that"
    )


def _glue(desk: _Desk, readings: Readings) -> None:
    if readings.glued_mm is None and not readings.glued_sheets_mm:
        return
    if readings.glued_mm is None or not readings.glued_sheets_mm:
        raise InputError(
            "coupon.glued_mm" if readings.glued_mm is None else "coupon.glued_sheets_mm",
            "(missing)",
            "the glue line is the stack's height less its sheets: give both",
        )
    if desk.job.printer is not None:
        desk.say("nothing of a printed holder is glued sheet on sheet; the glued stack is not used")
        return
    stack, sheets = readings.glued_mm, readings.glued_sheets_mm
    found = _asked("glued_mm", lambda: glue_line_from(stack, sheets))
    if desk.put("material.glue_line_mm", found, " a joint"):
        desk.change_material(
            glue_line_mm=round(found.value, 4), glue_spread_mm=round(SIGMAS * found.sigma, 4)
        )
