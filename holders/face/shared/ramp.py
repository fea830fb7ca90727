"""The focus ramp's files, for command line and page alike."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from holders.core.errors import InputError
from holders.design.ramp_parts import frame_top_mm
from holders.face.shared.ramp_steps import KERF_MM, ramp_steps
from holders.measure.ramp import RampGeometry
from holders.output.bundle.ramp_files import ramp_files

if TYPE_CHECKING:
    from holders.output.formats.export import Producer

RAMP_FOLDER = "focus-ramp"


TARGET_MM = 2.0  # of a ruler between slope and frame; common practice, no source
STEP_MM, LEAST_HIGH_MM = 0.5, 2.0  # heights that are tried instead; a lower ramp shows hardly any bed's focus


def refuse_too_high(
    geometry: RampGeometry, sheet_mm: float | None, room_mm: float, make: Callable[[float], RampGeometry]
) -> None:
    """Nothing where ramp, target and frame fit below a lid that leaves ``room_mm``.

    ``make`` gives the same ramp climbing to another height, which is tried as the cure.

    Raises
    ------
    InputError
        They do not fit; it says how high they stand, and to which height a ramp that fits climbs.
    """
    top = _top(geometry, sheet_mm)
    if top <= room_mm:
        return
    cure = "hold the lid open as its maker allows, and leave this option out"
    lower = geometry.high_mm - STEP_MM
    while lower >= LEAST_HIGH_MM:
        try:
            fits = _top(make(lower), sheet_mm) <= room_mm
        except InputError:
            break
        if fits:
            cure = f"make it with --high {lower:g}, which fits and shows heights up to that, or {cure}"
            break
        lower -= STEP_MM
    raise InputError(
        "--lid-room", room_mm, f"ramp, frame and a target of {TARGET_MM:g} mm stand {top:.1f} mm high: {cure}"
    )


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
