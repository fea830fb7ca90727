"""The drawings of the sheet: the same components as in the other files, at the sheet's width."""

from __future__ import annotations

from holders.design.held.model import Filmed
from holders.design.model import Design
from holders.output.draw import apart, section
from holders.output.draw.canvas import Picture
from holders.output.draw.film import PAGE_WIDTH, film_sheet
from holders.output.draw.plan import MARGIN_BOTTOM, MARGIN_LEFT, MARGIN_RIGHT, MARGIN_TOP, plan
from holders.output.draw.sheet import SCALES, ratio
from holders.output.sheet.blocks import Drawing, Section, Words
from holders.output.sheet.replay import sized

WIDE_MM, HIGH_MM = 180.0, 220.0  # what both A4 and Letter leave


def section_of_plan(design: Design) -> Section:
    """Plan with dimensions."""
    wide = max(design.glass.width, design.outer.width)
    high = max(design.glass.height, design.outer.height)
    room_x, room_y = WIDE_MM - MARGIN_LEFT - MARGIN_RIGHT, HIGH_MM - MARGIN_TOP - MARGIN_BOTTOM
    scale = next((s for s in SCALES if wide * s <= room_x and high * s <= room_y), SCALES[-1])
    words = f"From above, home end below; {ratio(scale)}; lengths in mm. Do not measure from this sheet."
    return Section("plan", "Plan", (_drawn(plan(design, scale), "Plan", words),))


def section_of_parts(design: Design) -> Section:
    """The parts pulled apart, and the edge of a window in section."""
    view = apart.pulled_apart(design, 150.0)
    if view.height > HIGH_MM * 0.8:
        view = apart.pulled_apart(design, 150.0 * HIGH_MM * 0.8 / view.height)
    return Section(
        "exploded",
        "How the parts go together",
        (
            _drawn(
                view, "Parts pulled apart", "Seen from the home corner; heights drawn larger than lengths."
            ),
            _drawn(
                section.edge(design, WIDE_MM),
                "Edge of a window",
                "Cut across a window; heights enlarged; mm.",
            ),
        ),
    )


def section_of_film(design: Design, film: Filmed) -> Section:
    """The film's cross-section with the focus band."""
    if film.grid is None or film.sag is None:
        why = design.no_sag_because or film.why_not or "it was not asked for"
        return Section(
            "film",
            "The film in the holder",
            (
                Words(f"No film surface is drawn: {why}."),
                _drawn(
                    section.whole(design, WIDE_MM),
                    "Across the holder",
                    "Lined: the focus band; heights enlarged.",
                ),
            ),
        )
    data = film_sheet(design, film, PAGE_WIDTH)
    wide, high = sized(data)
    caption = "The film in section with the focus band (lined), and its heights over the picture."
    return Section("film", "The film in the holder", (Drawing(caption, data, wide, high),))


def _drawn(picture: Picture, title: str, caption: str) -> Drawing:
    return Drawing(caption, picture.svg(title), picture.width, picture.height)
