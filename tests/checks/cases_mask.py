"""Ways in which the check on the mask of card, and others for its sake, warn, stop, pass or do not apply."""

from __future__ import annotations

from dataclasses import replace

from holders.checks.frame.mask import BARE, CLEAR, HIGH, ROOM, SHADE
from holders.design.model import Rect
from holders.design.resolve import design
from holders.geometry.outline import Region, moved, rectangle
from tests.checks.case import Case, Made
from tests.checks.make_design import job as plain_job
from tests.checks.make_design import make
from tests.presets_made import job

SMALL = {"outer_width_mm": 130.0, "outer_length_mm": 160.0, "mask_card_mm": 0.4}


def masked(across_mm: float = 0.0, pieces: int = 2, **layout: object) -> Made:
    """A holder over the middle of the glass, so many pieces of its mask kept and moved across the bed."""
    wanted = job(film={"format": "4x5"}, layout={**SMALL, **layout})
    made = design(wanted)
    cards = []
    for card in made.cards[:pieces]:
        (slab,) = card.slabs
        region = Region(moved(slab.region.outer, across_mm, 0.0))
        cards.append(replace(card, slabs=(replace(slab, region=region),)))
    return wanted, replace(made, cards=tuple(cards))


def only(rect: Rect) -> Made:
    """A mask of one rectangle."""
    wanted, made = masked(pieces=1)
    (card,) = made.cards
    outline = rectangle(rect.x, rect.y, rect.width, rect.height)
    slabs = (replace(card.slabs[0], region=Region(outline)),)
    return wanted, replace(made, cards=(replace(card, slabs=slabs),))


def beside_window(off_mm: float) -> Made:
    """Card along the right of the window."""
    opening = masked()[1].windows[0].opening
    return only(Rect(opening.right + off_mm, 100.0, 60.0, 90.0))


def raised(top_mm: float) -> Made:
    """A mask so high beside a holder, as a thick sheet is."""
    wanted, made = masked()
    cards = tuple(replace(card, slabs=(replace(card.slabs[0], z1=top_mm),)) for card in made.cards)
    return wanted, replace(made, cards=cards)


def of_sheet(**material: object) -> Made:
    """A mask of the sheet that a holder is cut from."""
    layout = SMALL | {"mask_card_mm": None, "mask_from": "sheet"}
    wanted = job(route="laser", film={"format": "4x5"}, material={"name": "mdf", **material}, layout=layout)
    return wanted, design(wanted)


MASK = (
    Case("mask", "pass", masked, HIGH),
    Case("mask", "warn", lambda: raised(20.0), HIGH, "layout.mask_card_mm"),
    Case("mask", "pass", of_sheet, ROOM),
    Case(
        "mask",
        "warn",
        lambda: of_sheet(sheet_width_mm=320.0, sheet_height_mm=240.0),
        ROOM,
        "layout.mask_from",
    ),
    Case("mask", "pass", masked, BARE),
    Case("mask", "warn", lambda: masked(pieces=1), BARE, "layout.slide_gap_mm"),
    Case("mask", "pass", masked, CLEAR),
    Case("mask", "warn", lambda: masked(0.25, pieces=1), CLEAR, "layout.slide_gap_mm"),
    Case("mask", "stop", lambda: masked(0.6), CLEAR, "layout.slide_gap_mm"),
    Case("mask", "pass", lambda: beside_window(1.2), SHADE),
    Case("mask", "warn", lambda: beside_window(1.1), SHADE, "layout.wall_mm"),
    Case("mask", "skip", lambda: (plain_job(), make())),
    Case("calibration", "pass", masked),
    Case("calibration", "stop", lambda: masked(2.0)),
    Case("overlap", "pass", masked, "parts"),
    Case("overlap", "stop", lambda: masked(1.0), "parts"),
)
