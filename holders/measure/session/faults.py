"""What on a scan of one sheet asks for another scan; only what the scan itself can show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

from holders.measure.finished.look import InspectResult
from holders.measure.finished.placement import SHOWN
from holders.measure.session.alike import same_picture
from holders.measure.session.record import Sheet

SHARP_SHARE = 0.5  # of what can be judged; below it a sheet is soft
OTHER_WINDOW_MM = 5.0
FEWEST = 4  # sheets, before one is compared with the others
SOFTER = 0.4  # of the others' finest detail
VEILED, VEIL_MORE = 2.5, 0.01  # times the others' stray light, and by how much more of clear film's light


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason to scan again: ``code`` for programs, ``words`` for people."""

    code: str
    words: str


def faults_of(found: InspectResult) -> tuple[Fault, ...]:
    """The reasons to scan this sheet again, none where the scan shows no fault.

    That it is mirrored shows by the clear border alone, where the holder leaves one: film laid the wrong way round in
    its pocket looks like another picture, and nothing in the scan says so.
    """
    faults = []
    rings, sharpness, error = found.rings, found.sharpness, found.placement.window_error_mm
    if rings.found:
        like = "" if rings.evidence == "colour" else "a pattern like "
        many = "one place" if len(rings.where) == 1 else f"{len(rings.where)} places"
        faults.append(Fault("rings", f"{like}Newton's rings in {many}"))
    share = sharpness.in_band_fraction
    if share is not None and share < SHARP_SHARE:
        faults.append(Fault("soft", f"only {100 * share:.0f} % of what can be judged is sharp"))
    elif share is None and (most := sharpness.most_in_band) is not None and most < SHARP_SHARE:
        faults.append(Fault("soft", f"at most {100 * most:.0f} % of it is sharp"))
    if error is not None and max(map(abs, error)) > OTHER_WINDOW_MM:
        faults.append(
            Fault(
                "window",
                f"the window is {error[0]:+.0f} x {error[1]:+.0f} mm off its size in this holder: another "
                f"holder, or the scan "
                "is cropped",
            )
        )
    border = found.placement.rebate_at
    if border is not None:
        faults.append(
            Fault(
                "mirrored", f"the clear border is on the {SHOWN[border]} side: the scan is mirrored or turned"
            )
        )
    if found.clipping.over:
        words = ", ".join(f"{100 * share:.1f} % of {name}" for name, share in found.clipping.over)
        faults.append(Fault("clipped", f"clipped, no detail left in {words}"))
    elif found.clipping.border_over:
        words = " and ".join(found.clipping.border_over)
        faults.append(Fault("clipped", f"the clear border is clipped in {words}"))
    return tuple(faults)


def line_of(found: InspectResult, faults: Sequence[Fault]) -> str:
    """The sheet's line in the list: its faults, or that none was seen and what this scan cannot show at all."""
    if faults:
        return "; ".join(fault.words for fault in faults)
    hidden = ["whether it is sharp"] if found.sharpness.in_band_fraction is None else []
    if not found.rings.told:
        hidden.append("most rings, as it has one channel only")
    return "; this scan does not show ".join(filter(None, ("nothing wrong seen", " nor ".join(hidden))))


def compared(sheets: Sequence[Sheet]) -> tuple[Sheet, ...]:
    """The sheets by number, those marked that are far softer than the rest of their session or show another's picture.

    Nothing is called softer, or veiled, in a session of fewer than four sheets that show it.
    """
    ordered = sorted(sheets, key=lambda sheet: sheet.number)
    found = [_twin(sheet, ordered[:place]) for place, sheet in enumerate(ordered)]
    return tuple(_veiled(_softened(found)))


def _softened(sheets: Sequence[Sheet]) -> list[Sheet]:
    """The sheets, those marked whose finest detail is far below the rest's."""
    shown = [sheet.detail for sheet in sheets if sheet.detail > 0]
    if len(shown) < FEWEST:
        return list(sheets)
    usual = median(shown)
    return [_softer(sheet, usual) if 0 < sheet.detail < SOFTER * usual else sheet for sheet in sheets]


def _veiled(sheets: Sequence[Sheet]) -> list[Sheet]:
    """The sheets, those marked whose holder shows far more light than on the rest of the session."""
    shown = [sheet.veil for sheet in sheets if sheet.veil is not None]
    if len(shown) < FEWEST:
        return list(sheets)
    usual = median(shown)
    least = max(VEILED * usual, usual + VEIL_MORE)
    found = []
    for sheet in sheets:
        if sheet.veil is not None and sheet.veil >= least:
            share, others = (100 * veil for veil in (sheet.veil, usual))
            words = (
                f"stray light: the holder comes out {share:.0f} % as bright as clear film; "
                f"{others:.0f} % "
                "on the other sheets"
            )
            found.append(_marked(sheet, "glare", words))
        else:
            found.append(sheet)
    return found


def _twin(sheet: Sheet, earlier: Sequence[Sheet]) -> Sheet:
    """The sheet, marked where it shows the picture of an earlier one."""
    for other in earlier:
        way = same_picture(other.look, sheet.look) if sheet.look and other.look else None
        if way is None:
            continue
        told = f"shows the picture of sheet {other.number:02d}"
        words = (
            f"{told}: another pocket was meant, or it is a second exposure"
            if way == "as it is"
            else f"{told} {way}: one of the two is the wrong way round"
        )
        return _marked(sheet, "twin", words)
    return sheet


def _marked(sheet: Sheet, code: str, words: str) -> Sheet:
    line = f"{sheet.line}; {words}" if sheet.faults else words
    return replace(sheet, line=line, faults=(*(one for one in sheet.faults if one != code), code))


def _softer(sheet: Sheet, usual: float) -> Sheet:
    share = 100 * sheet.detail / usual
    return _marked(sheet, "soft", f"far softer than the other sheets: {share:.0f} % of their finest detail")
