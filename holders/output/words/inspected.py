"""What a finished scan said, in words: the same for command line, page and picture.

A side is named as the scan is shown: its first row is the top.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from holders.measure.finished.blur.judge import IN_BAND
from holders.measure.finished.clipping import CLIPPED_SHARE
from holders.measure.finished.rings.regions import regions

if TYPE_CHECKING:
    from holders.measure.finished.look import InspectResult
    from holders.measure.finished.rings.rings import RingPlace, RingsResult
    from holders.measure.finished.sharpness import SharpnessMap

SIDES = {"left": "left", "right": "right", "head": "top", "foot": "bottom"}
LEDGE = ("raise the ledge", "lower the ledge")
ANOTHER_MM = 5.0  # a window that differs by more from the designed one was cropped, or is another holder's
COARSE_LP_MM = 12.0
MOST_SAID = 0.2  # sigma up to which a share between two others still says something
LEAST_TURN = 0.005  # degrees: less is written as nought
PATTERNS = {
    "even": "evenly sharp all over",
    "soft": "soft all over",
    "sag": "the middle differs from the edges, as in film that sags or bows",
    "tilt": "softer toward one side, as in film that leans",
    "curl": "softer toward opposite edges or corners, as in film that curls",
    "ends": "softer toward opposite edges, as in film that leans or curls",
    "edge": "one edge soft, the rest even",
    "unclear": "soft in no simple pattern",
}
BY = {
    "colour": "by their coloured fringes; they are found from 1 on",
    "channel": "in one colour alone, which rings of a narrow lamp do, and now and then a coloured pattern; "
    "found from 1 on",
    "grey": "one channel only: most rings look like picture there; scan in colour to know",
}
ALIKE = (
    "the three channels show the same, so they were taken as one: most rings look like picture there; "
    "scan with the scanner's own colours to know"
)


def sharp(found: InspectResult) -> str:
    """How much of the frame is sharp, and how much of it the scan lets judge."""
    s = found.sharpness
    if s.in_band_fraction is None:
        about = _about(s)
        return f"cannot tell{'' if about is None else f' closely, {about}'}: {why_not(found)}"
    return (
        f"{100 * s.in_band_fraction:.0f} ± {max(2.0, 100 * s.in_band_sigma):.0f} % of the film (judged at "
        f"{s.lp_mm:.0f} line pairs a millimetre (lp/mm), {100 * s.judged_fraction:.0f} % of the area"
        + (f", {100 * s.by_geometry:.0f} % by its measured height)" if s.by_geometry else ")")
    )


def _about(s: SharpnessMap) -> str | None:
    """Between which shares of the film the sharp one lies, where that says something."""
    if s.roughly is None or s.in_band_sigma > MOST_SAID:
        return None
    low, high = (max(0.0, min(1.0, s.roughly + k * 2 * s.in_band_sigma)) for k in (-1, 1))
    return f"between {100 * low:.0f} and {100 * high:.0f} % of the film"


def why_not(found: InspectResult) -> str:
    """Why nothing is said about sharpness, and what decides it."""
    s = found.sharpness
    if s.packed:
        return (
            "the picture was once packed as JPEG, which takes film's grain away or makes some of its own; scan again "
            "and save as TIFF"
        )
    if s.odd_lens:
        return (
            "it is soft all over, or the lens is: one scan shows no difference; scan again with a strip of paper under "
            "the holder's feet and compare (--before)"
        )
    if s.judged_fraction == 0.0:
        return "too little film in the scan, or nothing on it but noise"
    if s.lp_mm < COARSE_LP_MM:
        return f"a scan this coarse holds no more than {s.lp_mm:.0f} line pairs a millimetre; scan at 1200 dpi or more"
    return (
        "grain is too weak beside picture and noise to say whether the scan or the picture is soft; scan again with a "
        "strip of paper under the holder's feet and compare (--before), or finer"
    )


def pattern(found: InspectResult) -> str:
    """The shape of the blur."""
    return PATTERNS[found.sharpness.pattern] if found.sharpness.shaped else "cannot tell"


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
        ("rings", f"{_found(rings)} (score {rings.score:.2f}, {_by(rings)})"),
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
    told.append(("clipped", clipped(found)))
    if found.border_mm is not None:
        told.append(("clear border", border(found)))
    return tuple(told)


def clipped(found: InspectResult) -> str:
    """The share of each channel at full scale and at zero."""
    c = found.clipping
    of = "the whole scan, holder and all" if c.area == "scan" else f"the {c.area}"
    shares = ", ".join(
        f"{name} {_share(high)} and {_share(low)}"
        for name, high, low in zip(c.channels, c.high, c.low, strict=True)
    )
    return f"{shares} of {of} (at full scale and at zero; more than {100 * CLIPPED_SHARE:g} % loses detail)"


def _share(share: float) -> str:
    """Per cent, never nought where something is clipped."""
    if 0 < share < 0.0005:
        return "below 0.1 %"
    return f"{100 * share:.1f} %"


def border(found: InspectResult) -> str:
    """Whether the clear border of a known holder is there and keeps below full scale."""
    p, c = found.placement, found.clipping
    if found.border_mm == 0:
        return "this holder leaves none, so a scan cannot show whether it is mirrored or turned"
    if p.rebate_seen is None:
        return "cannot tell: its side of the lit area was not found"
    if not p.rebate_seen:
        return "not seen"
    if c.border is None:
        return f"{p.rebate_mm or 0:.1f} mm"
    if c.border_over:
        return f"{p.rebate_mm or 0:.1f} mm, clipped{_in(c.border_over)}"
    return f"{p.rebate_mm or 0:.1f} mm, below full scale{_in(c.channels)}"


def _in(channels: Sequence[str]) -> str:
    """Such as " in red and blue"; nothing for a scan without colour."""
    if list(channels) == ["grey"]:
        return ""
    *first, last = channels
    return f" in {', '.join(first)} and {last}" if first else f" in {last}"


def _clipping_doubts(found: InspectResult) -> tuple[str, ...]:
    """What is lost at the ends of the scale, and what to set before the next scan."""
    c = found.clipping
    told: list[str] = []
    if c.over:
        told.append(
            f"the {c.area} is clipped at full scale{_in([n for n, _ in c.over])}: no detail is left there; "
            "lower the exposure, or set the scanning program's levels wider, and scan again"
        )
    if c.under:
        told.append(
            f"the {c.area} is clipped at zero{_in([n for n, _ in c.under])}: no detail is left there; set the "
            "scanning program's black point lower, or raise the exposure, and scan again"
        )
    if c.border_over:
        told.append(
            f"the clear border is clipped{_in(c.border_over)}: lower the exposure; colour inversion needs it"
        )
    return tuple(told)


def places(found: InspectResult) -> tuple[str, ...]:
    """Where rings are, and patterns that might be some; one line for each area."""
    told = _areas("rings", found.rings.where)
    if found.rings.note:
        told += (found.rings.note, *_areas("such a pattern", found.rings.strong))
    return told


def doubts(found: InspectResult) -> tuple[str, ...]:
    """What was not found or is clipped, and why the comparison with the design may say nothing."""
    error = found.placement.window_error_mm
    told = (*found.placement.doubts, *_clipping_doubts(found))
    if error is not None and max(map(abs, error)) > ANOTHER_MM:
        across, along = error
        return (
            *told,
            f"the window in the scan differs from the designed one by {across:+.0f} mm across and {along:+.0f} mm "
            "along: a cropped scan, or made in another holder; what is said against the design does not hold then",
        )
    if found.placement.rebate_seen is False and found.placement.rebate_at is None:
        told = (
            *told,
            f"the clear border of {found.border_mm or 0:g} mm that this holder leaves is not seen: colour inversion "
            "finds no clear film there; look how the film lies in its pocket",
        )
    return told


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
    rings = f"rings in {count} place{'s' if count > 1 else ''}"
    if found.rings.channel:
        rings += f" in {found.rings.channel} alone"
    if found.rings.evidence != "colour" and count:
        rings = f"a pattern like {rings}"
    if not count:
        rings = "no rings found" if found.rings.told else "rings cannot be judged without colour"
    part = found.sharpness.in_band_fraction
    about = _about(found.sharpness)
    unsaid = "cannot tell how sharp" if about is None else f"{about} sharp"
    share = unsaid if part is None else f"{100 * part:.0f} % sharp"
    lies = found.placement.skew_deg
    skew = "" if lies is None or abs(lies) < LEAST_TURN else f", turned by {turned(found)}"
    lost = tuple(dict.fromkeys(name for name, _ in (*found.clipping.over, *found.clipping.under)))
    burnt = f", clipped{_in(lost)}" if lost else ""
    if not lost and found.clipping.border_over:
        burnt = f", clear border clipped{_in(found.clipping.border_over)}"
    return f"{share}, {rings}{skew}{burnt}"


def limit_words() -> str:
    """What counts as sharp."""
    return f"keeps {100 * IN_BAND:.0f} % or more of the contrast the lens gives at its best"


def _areas(what: str, found: Sequence[RingPlace]) -> tuple[str, ...]:
    return tuple(
        f"{what} within about {r.radius_mm:.0f} mm of a point {r.x_mm:.0f} mm from the left and {r.y_mm:.0f} mm from "
        f"the top; contrast up to {100 * r.contrast:.1f} %"
        for r in regions(found)
    )


def _found(rings: RingsResult) -> str:
    if rings.found:
        return "found"
    return "none found" if rings.told else "cannot tell"


def _by(rings: RingsResult) -> str:
    """What the answer rests on."""
    return ALIKE if rings.alike else BY[rings.evidence]
