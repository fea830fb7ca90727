"""The slope of a target from what a user gives: a ramp's file, or rise and run."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from holders.core.errors import InputError


def geometry_of(
    ramp: Path | None, rise: float | None, run: float | None, start_height: float, reverse: bool
) -> Any:
    """The slope from a ramp's file or from the plain numbers; exactly one of the two ways.

    Raises ``InputError`` when both or neither are given.
    """
    from holders.measure.slope.geometry import SlopeGeometry

    if ramp is not None:
        if rise is not None or run is not None:
            raise InputError("--ramp", str(ramp), "give either the ramp's file or --rise and --run, not both")
        from holders.measure.ramp import load_ramp

        return load_ramp(ramp)
    if rise is None or run is None:
        missing = "--rise" if rise is None else "--run"
        raise InputError(
            missing, "(missing)", "give --rise MM and --run MM, or --ramp FILE from `holders ramp`"
        )
    return SlopeGeometry(rise_mm=rise, run_mm=run, start_height_mm=start_height, reverse=reverse)
