"""The slope of a target from what a user gives (a ramp's file, or rise and run), and how sure its measure is."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from holders.core.errors import InputError

if TYPE_CHECKING:
    from holders.measure.slope.result import FocusResult, ResolutionResult


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


def resolution_words(seen: ResolutionResult) -> str:
    """A resolution at best focus."""
    finer = "" if seen.useful_dpi is None else f"; pixels finer than {seen.useful_dpi:.0f} dpi gain nothing"
    return (
        f"at least {seen.mtf50_lp_mm:.1f} ± {seen.sigma:.1f} line pairs a millimetre (lp/mm) keep half of their "
        f"contrast, if the scan is not sharpened{finer}"
    )


def known_words(found: FocusResult) -> tuple[str, ...]:
    """How near the true height is, and the resolution there; nothing of what was not seen."""
    told = []
    if not found.at_edge:
        told.append(
            f"The true height lies within 0.1 mm of it with a chance of {100 * found.confidence:.0f} of 100."
        )
    if found.resolution is not None:
        told.append(f"Resolution: {resolution_words(found.resolution)}.")
    return tuple(told)
