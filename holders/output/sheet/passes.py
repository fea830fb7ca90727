"""The plan of passes of a holder that moves: what to do before each, and how to join them afterwards."""

from __future__ import annotations

from holders.design.model import Design
from holders.output.crop_boxes import INCH_MM, ScanSetting
from holders.output.draw.passes import passes_drawn
from holders.output.sheet.blocks import Block, Drawing, Items, Section, Words

DRAWN_MM = 110.0


def sections(design: Design, setting: ScanSetting) -> tuple[Section, ...]:
    """The passes in order, a drawing of them, and the notes on joining; nothing for a holder that stays."""
    if len(design.stands) == 1:
        return ()
    steps = []
    for number in range(len(design.stands)):
        words = next(said for made in design.fitted if (said := made.scanning(number)))
        steps.append(f"Pass {number + 1}: {words}. Close the lid, scan crop box {number + 1}.")
    picture = passes_drawn(design, DRAWN_MM)
    caption = (
        "The bed in each pass, home end below. Yellow: what is scanned; dark grey: step blocks; short dashes: lamp "
        "area; hatched: the calibration zone, which stays open."
    )
    told: tuple[Block, ...] = (
        Items(tuple(steps), numbered=True),
        Drawing(caption, picture.svg("Passes"), picture.width, picture.height),
        Words(
            "One exposure for all passes. Preview every pass and note what the scanning program sets inside its "
            "exposure box; take the setting that clips in none of them, and lock it. No automatic exposure, levels, "
            "colour, sharpening or dust removal; the same resolution, depth and profile throughout. Scan the passes "
            "one right after the other, so that lamp and film stay as warm as they are."
        ),
        Words(_joining(design, setting)),
    )
    return (Section("passes", "Passes, and how to join them", told, leaf=2),)


def _joining(design: Design, setting: ScanSetting) -> str:
    w = design.windows[0].opening
    across, along = (f"{round(side / INCH_MM * setting.ppi)}" for side in (w.width, w.height))
    return (
        "Join the passes before you invert or correct anything. They need a shift and at most a turn of a fraction of "
        "a degree: no scaling, no correction of perspective or lens. Lay them by the table of crop boxes, match the "
        "grain in the overlap, and put the seam in the middle of it, away from where the lamp area ends. Do not let "
        "the program even out their brightness: with one exposure they agree, and a step at the seam shows that "
        f"something was automatic. Joined, the window has {across} x {along} pixels at {setting.words} ppi; holders "
        "inspect takes the joined picture."
    )
