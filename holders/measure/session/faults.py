"""What on a scan of one sheet asks for another scan; only what the scan itself can show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

from holders.measure.finished.look import InspectResult
from holders.measure.session.clipping import Clipping
from holders.measure.session.record import Sheet

SHARP_SHARE = 0.5  # of what can be judged; below it a sheet is soft
CLIPPED_SHARE = 0.002  # of a channel at the upper end of its scale
OTHER_WINDOW_MM = 5.0
FEWEST = 4  # sheets, before one is compared with the others
SOFTER = 0.4  # of the others' finest detail
CHANNELS = ("red", "green", "blue")


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason to scan again: ``code`` for programs, ``words`` for people."""

    code: str
    words: str


def faults_of(found: InspectResult, clipping: Clipping) -> tuple[Fault, ...]:
    """The reasons to scan this sheet again, none where the scan shows no fault.

    A mirrored picture is not among them: without lettering or notches in the scan nothing shows it.
    """
    faults = []
    rings, sharpness, error = found.rings, found.sharpness, found.placement.window_error_mm
    if rings.found:
        faults.append(Fault("rings", f"Newton's rings in {len(rings.where)} places"))
    share = sharpness.in_band_fraction
    if share is not None and share < SHARP_SHARE and sharpness.in_band_sigma < 1.0:
        faults.append(Fault("soft", f"only {100 * share:.0f} % of what can be judged is sharp"))
    if error is not None and max(map(abs, error)) > OTHER_WINDOW_MM:
        faults.append(
            Fault(
                "window",
                f"the window differs by {error[0]:+.0f} x {error[1]:+.0f} mm: another holder, or cropped",
            )
        )
    over = [
        (name, share)
        for name, share in zip(_names(clipping), clipping.high, strict=True)
        if share > CLIPPED_SHARE
    ]
    if over:
        words = ", ".join(f"{100 * share:.1f} % of {name}" for name, share in over)
        faults.append(Fault("clipped", f"{words} at the end of the scale"))
    return tuple(faults)


def compared(sheets: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets, those far softer than the rest of their session marked so.

    Nothing is compared in a session of fewer than four sheets that show detail.
    """
    shown = [sheet.detail for sheet in sheets if sheet.detail > 0]
    if len(shown) < FEWEST:
        return tuple(sheets)
    usual = median(shown)
    return tuple(_softer(sheet, usual) if 0 < sheet.detail < SOFTER * usual else sheet for sheet in sheets)


def _softer(sheet: Sheet, usual: float) -> Sheet:
    words = f"far softer than the other sheets: {100 * sheet.detail / usual:.0f} % of their finest detail"
    line = f"{sheet.line}; {words}" if sheet.faults else words
    return replace(sheet, line=line, faults=(*(code for code in sheet.faults if code != "soft"), "soft"))


def _names(clipping: Clipping) -> tuple[str, ...]:
    count = len(clipping.high)
    return CHANNELS[:count] if count >= len(CHANNELS) else ("grey", "alpha")[:count]
