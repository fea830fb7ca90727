"""What a finished scan said, in words: the same for command line, page and picture.

A side is named as the scan is shown: its first row is the top.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from holders.measure.finished.rings.regions import regions
from holders.measure.finished.sharpness import IN_BAND

if TYPE_CHECKING:
    from holders.measure.finished.look import InspectResult
    from holders.measure.finished.rings.rings import RingPlace, RingsResult

SIDES = {"left": "left", "right": "right", "head": "top", "foot": "bottom"}
LEDGE = ("raise the ledge", "lower the ledge")
ANOTHER_MM = 5.0  # a window that differs by more from the designed one was cropped, or is another holder's
LEAST_TURN = 0.005  # degrees: less is written as nought
PATTERNS = {
    "even": "evenly sharp all over",
    "sag": "softest in the middle, as in film that sags",
    "tilt": "softer toward one side, as in film that lies aslant",
    "curl": "softer toward opposite edges or corners, as in film that curls",
    "edge": "one edge soft, the rest even",
    "unclear": "soft in no simple pattern",
}
BY = {
    "colour": "by the colours' own fringes; 1 is found",
    "grey": "one channel only: the weaker evidence; scan in colour to be surer",
}
ALIKE = (
    "the three channels show the same, so they were taken as one: the weaker evidence; "
    "scan with the scanner's own colours to be surer"
)


def sharp(found: InspectResult) -> str:
    """How much of the frame is sharp."""
    if not judged(found):
        return "nothing to judge sharpness by: no fine detail in the scan"
    s = found.sharpness
    return f"{100 * s.in_band_fraction:.0f} ± {max(1.0, 100 * s.in_band_sigma):.0f} % of what the picture lets judge"


def judged(found: InspectResult) -> bool:
    """Whether any place shows enough detail to judge its sharpness."""
    return found.sharpness.in_band_sigma < 1.0


def pattern(found: InspectResult) -> str:
    """The shape of the blur."""
    return PATTERNS[found.sharpness.pattern] if judged(found) else "none seen"


def turned(found: InspectResult) -> str:
    """How far the film lies turned."""
    skew = found.placement.skew_deg
    if skew is None:
        return "unknown: no edge was seen"
    if abs(skew) < LEAST_TURN:
        return "0.00°"
    return f"{abs(skew):.2f}° {'clockwise' if skew > 0 else 'against the clock'}"


def edges(found: InspectResult) -> str:
    """Where the lit area ends on each side, mm from the scan's left or top."""
    told = [f"{SIDES[e.name]} {e.at_mm:.2f}" for e in found.placement.edges]
    return f"{', '.join(told)} mm from the scan's left or top" if told else "not seen"


def rows(found: InspectResult) -> tuple[tuple[str, str], ...]:
    """Names and values."""
    rings, p = found.rings, found.placement
    told = [
        ("rings", f"{'found' if rings.found else 'none found'} (score {rings.score:.2f}, {_by(rings)})"),
        ("sharp", sharp(found)),
        ("pattern", pattern(found)),
        ("turned by", turned(found)),
        ("light ends at", edges(found)),
    ]
    if p.window_error_mm is not None:
        across, along = p.window_error_mm
        told.append(
            ("window", f"{across:+.2f} mm across and {along:+.2f} mm along, against what was designed")
        )
    if p.seen_fraction is not None:
        told.append(("picture shown", f"{100 * p.seen_fraction:.1f} % of its area, as designed"))
    if p.rebate_seen is not None:
        told.append(("clear border", f"{p.rebate_mm or 0:.1f} mm" if p.rebate_seen else "not seen"))
    return tuple(told)


def places(found: InspectResult) -> tuple[str, ...]:
    """Where rings are, and patterns that might be some; one line for each area."""
    told = _areas("rings", found.rings.where)
    if found.rings.note:
        told += (found.rings.note, *_areas("such a pattern", found.rings.strong))
    return told


def doubts(found: InspectResult) -> tuple[str, ...]:
    """Why the comparison with the design may say nothing."""
    error = found.placement.window_error_mm
    if error is None or max(map(abs, error)) <= ANOTHER_MM:
        return ()
    across, along = error
    return (
        f"the window in the scan differs from the designed one by {across:+.0f} mm across and {along:+.0f} mm along: "
        "a cropped scan, or made in another holder; what is said against the design does not hold then",
    )


def advice(found: InspectResult) -> tuple[str, ...]:
    """What to change, each with its amount where that is known."""
    told = []
    for one in found.advice:
        if one.height_mm is None:
            told.append(one.what)
            continue
        amount = f"{abs(one.height_mm):.2f} ± {one.sigma_mm or 0:.2f} mm"
        told.append(f"{one.what} by {amount}" if one.what in LEDGE else f"{one.what} (out by about {amount})")
    return tuple(told)


def headline(found: InspectResult) -> str:
    """All of it in one line."""
    count = len(regions(found.rings.where))
    rings = "no rings found" if not count else f"rings in {count} place{'s' if count > 1 else ''}"
    share = f"{100 * found.sharpness.in_band_fraction:.0f} % sharp" if judged(found) else "sharpness unknown"
    lies = found.placement.skew_deg
    skew = "" if lies is None or abs(lies) < LEAST_TURN else f", turned by {turned(found)}"
    return f"{share}, {rings}{skew}"


def limit_words() -> str:
    """What counts as sharp."""
    return f"keeps {100 * IN_BAND:.0f} % or more of the finest detail"


def _areas(what: str, found: Sequence[RingPlace]) -> tuple[str, ...]:
    return tuple(
        f"{what} within about {r.radius_mm:.0f} mm of a point {r.x_mm:.0f} mm from the left and {r.y_mm:.0f} mm from "
        f"the top; contrast up to {100 * r.contrast:.1f} %"
        for r in regions(found)
    )


def _by(rings: RingsResult) -> str:
    """What the answer rests on."""
    return ALIKE if rings.alike else BY[rings.evidence]
