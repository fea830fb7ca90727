"""Loading the film: which side, which way round, and how the scan must be flipped."""

from __future__ import annotations

from typing import Literal

from holders.design.model import Design, Role
from holders.design.plan.anchor import placing_words, slide_words
from holders.output.sheet.blocks import Items, Section, Words
from holders.preset.resolve import Job

Emulsion = Literal["down", "up"]


def mirrored(emulsion: Emulsion) -> bool:
    """Whether the scan comes out as in a mirror.

    Film shows the scene the right way round when one looks at its base side. The scanner looks from below, through
    the glass: with the emulsion down it looks at the emulsion side.
    """
    return emulsion == "down"


def section(job: Job, design: Design) -> Section:
    """The section about loading."""
    rigid = job.film.kind == "plate" or job.base.rigid
    mount = job.film.kind == "mount"
    what = "plate" if rigid else "mount" if mount else "film"
    emulsion: Emulsion = job.preset.film.emulsion
    steps = [
        "Clean the scanner's glass and let it dry. Blow the holder off with a blower, outside the scanner.",
        f"Put on clean cotton or nitrile gloves; hold the {what} by its edges only.",
        *_side(emulsion, what, job.film.kind == "sheet", any(w.turned for w in design.windows)),
        f"Blow both sides of the {what} off; no cloth, no breath.",
        _on_board(design) if design.pocket_depth <= 0 else _placing(what, rigid),
        placing_words(design),
    ]
    fitted = sorted(design.fitted, key=lambda made: made.is_frame)
    steps[-1:-1] = [step for made in fitted for step in made.loading(what)]
    return Section(
        "loading",
        "Loading the film",
        (
            Items(tuple(steps), numbered=True),
            Words(_round(emulsion, any(w.turned for w in design.windows))),
            *(Words(words) for words in (slide_words(job.preset, design),) if words),
        ),
        leaf=2,
    )


def _side(emulsion: Emulsion, what: str, sheet: bool, turned: bool) -> list[str]:
    tell = (
        "How to tell the emulsion side: it is the duller one when light glances off it (a shiny back is the base), "
        "bare film tends to curl toward it in dry air, and lettering on the border reads backwards when the emulsion "
        "side faces you."
    )
    if sheet and what == "film":
        tell += (
            " Sheet film: hold it upright with the code notches in the top edge at the right, and the emulsion "
            "faces you."
        )
    if what == "plate":
        tell = (
            "How to tell the emulsion side of a plate: it is the duller one when light glances off it; "
            "bare glass shines."
        )
    toward = "toward the glass" if emulsion == "down" else "away from the glass"
    words = f"For this holder the emulsion side faces {emulsion}, {toward}."
    if sheet and what == "film" and not turned:
        words += (
            f" Seen from above, head away from you, the code notches lie at the top {notch_side(emulsion)}."
        )
    return [tell, words]


def notch_side(emulsion: Emulsion) -> str:
    """On which side of its top edge a sheet has its code notches, as seen from above in a holder.

    Right where the emulsion faces one (common practice, no source), so left where it faces down.
    """
    return "left" if emulsion == "down" else "right"


def _on_board(design: Design) -> str:
    """How film is laid on a board without a pocket."""
    stopped = any(part.role is Role.CORNER for part in design.parts)
    place = (
        "inside the four corner stops" if stopped else "over the window, the same border on all four sides"
    )
    return (
        f"Lay the film on the board, {place}, and lower it from one edge so that no air lifts it. Nothing presses it: "
        "look along the board that all four edges lie down; film that stands up goes under a glass cover or a lid. "
        "Close the scanner's lid slowly. To lift the film, slide a folded card under one edge."
    )


def _placing(what: str, rigid: bool) -> str:
    if rigid:
        return "Set one edge of the plate on the ledge and lower the other with a finger in the notch; never force it."
    return (
        f"Lower one edge of the {what} onto the ledge inside the pocket, then the rest; all four edges lie flat on "
        "the ledge and nothing is jammed. Lift it again by the finger notch."
    )


def _round(emulsion: Emulsion, turned: bool) -> str:
    way = (
        "The film lies with its long side across the bed. "
        if turned
        else "The picture's top goes to the edge away from home. "
    )
    if mirrored(emulsion):
        flip = (
            "Flip the scan: with the emulsion down the scanner sees the picture as in a mirror. Flip it once left to "
            "right, then turn it until it stands upright"
        )
        if not turned:
            flip += " (one flip top to bottom does both at once when the preview's top is the home end)"
        flip += ". "
    else:
        flip = (
            "Do not flip the scan: with the emulsion up the scanner sees it the right way round. "
            "Only turn it upright. "
        )
    check = (
        "Some scanning programs flip film by themselves. Proof: lettering in the picture or on the film's border must "
        "read the right way."
    )
    return way + flip + check
