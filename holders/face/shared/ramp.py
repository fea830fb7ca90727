"""The focus ramp's files, for command line and page alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from holders.core.errors import InputError
from holders.design.ramp_parts import frame_top_mm
from holders.face.shared.ramp_steps import KERF_MM, ramp_steps
from holders.facts import tables
from holders.facts.models import Bed
from holders.measure.ramp import FAR_ABOVE_MM, LEAST_FRAME_MM, RampGeometry, make_ramp
from holders.output.bundle.ramp_files import ramp_files

if TYPE_CHECKING:
    from holders.output.formats.export import Producer

RAMP_FOLDER = "focus-ramp"


TARGET_MM = 2.0  # of a ruler between slope and frame; common practice, no source
STEP_MM, LEAST_HIGH_MM = 0.5, 2.0  # heights that are tried instead; a lower ramp shows hardly any bed's focus
# beds are sharpest at 2.5 to 3 mm (beds.toml), and a top shows with a flank on either side of it
USUAL_HIGH_MM = 4.5


@dataclass(frozen=True)
class RampWish:
    """What may be wished of a ramp, mm; ``frame``: how thick the frame is that holds the target down."""

    high: float = 6.0
    frame: float = 8.0
    target_width: float = 35.0
    length: float = 166.0
    layer: float = 0.1

    def geometry(self) -> RampGeometry:
        """The ramp; a thin frame lies lower, and so does the raised row of marks that bands are led over.

        Raises
        ------
        InputError
            It cannot be built.
        """
        thin = self.frame < RampWish.frame
        return make_ramp(
            high_mm=self.high, target_width_mm=self.target_width, length_mm=self.length, layer_mm=self.layer,
            slope_end_mm=self.length - 7.0, frame_mm=self.frame, **({"far_mm": FAR_ABOVE_MM} if thin else {}),
        )  # fmt: skip


@dataclass(frozen=True)
class Asked:
    """Where the room below the lid was asked for, and how to ask for another height and another frame."""

    field: str
    high: Callable[[float], str]
    frame: Callable[[float], str]


ON_COMMAND_LINE = Asked("--lid-room", "--high {:g}".format, "--frame {:g}".format)
ON_PAGE = Asked("ramp.lid_room", "a slope that climbs to {:g} mm".format, "a frame of {:g} mm".format)


def refuse_too_high(
    wish: RampWish, sheet_mm: float | None, room_mm: float, asked: Asked = ON_COMMAND_LINE
) -> None:
    """Nothing where ramp, target and frame fit below a lid that leaves ``room_mm``.

    Raises
    ------
    InputError
        They do not fit; it says how high they stand, and which lower ramp, tried here, does fit.
    """
    top = _top(wish.geometry(), sheet_mm)
    if top <= room_mm:
        return
    cure = "hold the lid open as its maker allows, and leave this out"
    lower = lower_ramp(wish, sheet_mm, room_mm)
    if lower is not None:
        ways = [asked.high(lower.high)] if lower.high != wish.high else []
        ways += [asked.frame(lower.frame)] if lower.frame != wish.frame else []
        cure = f"make it with {' and '.join(ways)}, which fits and shows heights up to {lower.high:g} mm, or {cure}"
    raise InputError(
        asked.field, room_mm, f"ramp, frame and a target of {TARGET_MM:g} mm stand {top:.1f} mm high: {cure}"
    )


def room_words(wish: RampWish, sheet_mm: float | None) -> str:
    """How thick a target may be under the least and the usual lid, and which ramp takes a ruler; "" if one fits both.

    Nobody measured a lid yet: the rooms are those that the rows of beds suppose.
    """
    bare = _top(wish.geometry(), sheet_mm) - TARGET_MM
    tight = [room for room in sorted({row.lid_room_mm for row in _beds()}) if bare + TARGET_MM > room]
    if not tight:
        return ""
    each = []
    for room in tight:
        over = f"over {room - bare:.1f} mm thick" if room > bare else "of any thickness"
        lower = lower_ramp(wish, sheet_mm, room)
        ways = (
            []
            if lower is None
            else [
                *([ON_COMMAND_LINE.high(lower.high)] if lower.high != wish.high else []),
                *([ON_COMMAND_LINE.frame(lower.frame)] if lower.frame != wish.frame else []),
            ]
        )
        way = f" (a ruler of {TARGET_MM:g} mm fits with {' '.join(ways)})" if ways else ""
        each.append(f"{room:g} mm of room will not close over a target {over}{way}")
    return f"Measure the room under your lid first: a lid with {'; one with '.join(each)}."


def _beds() -> tuple[Bed, ...]:
    return tuple(row for row in tables.table("beds") if isinstance(row, Bed))


def lower_ramp(wish: RampWish, sheet_mm: float | None, room_mm: float) -> RampWish | None:
    """The ramp nearest to a wish that fits below a lid that leaves ``room_mm``; None where none does.

    The slope may end lower as long as most beds' focus still lies well below its top; then the frame is thinner, which
    holds film less flat; then the slope ends lower still.
    """
    for other in _lower(wish):
        try:
            fits = _top(other.geometry(), sheet_mm) <= room_mm
        except InputError:
            continue
        if fits:
            return other
    return None


def _lower(wish: RampWish) -> Iterator[RampWish]:
    high = wish.high - STEP_MM
    while high >= USUAL_HIGH_MM:
        yield _like(wish, high, wish.frame)
        high -= STEP_MM
    high = wish.high
    while high >= LEAST_HIGH_MM:
        yield _like(wish, high, LEAST_FRAME_MM)
        high -= STEP_MM


def _like(wish: RampWish, high: float, frame: float) -> RampWish:
    return RampWish(high, frame, wish.target_width, wish.length, wish.layer)


def _top(geometry: RampGeometry, sheet_mm: float | None) -> float:
    cut = 0.0 if sheet_mm is None else frame_top_mm(geometry.from_sheet(sheet_mm), sheet_mm)
    return max(frame_top_mm(geometry), cut) + TARGET_MM


def ramp_bundle(geometry: RampGeometry, sheet_mm: float | None) -> dict[str, Producer]:
    """File names, each with what makes it: the ramp, its geometry, its sheets where a thickness is given, its steps."""
    found: dict[str, Producer] = {
        **ramp_files(geometry, sheet_mm, KERF_MM),
        "ramp.json": partial(_geometry, geometry),
        "steps.txt": partial(_steps, geometry, sheet_mm),
    }
    if sheet_mm is not None:
        found["ramp-from-sheet.json"] = partial(_geometry, geometry.from_sheet(sheet_mm))
    return found


def _geometry(geometry: RampGeometry) -> bytes:
    return bytes(geometry.model_dump_json(indent=1) + "\n", "utf-8")


def _steps(geometry: RampGeometry, sheet_mm: float | None) -> bytes:
    return bytes("\n\n".join(ramp_steps(geometry, sheet_mm, Path())) + "\n", "utf-8")
