"""The drawings of the sheet: the numbered parts, the film, and the preset as a code."""

from __future__ import annotations

from holders.design.held.model import Filmed
from holders.design.model import Design
from holders.output.draw import section
from holders.output.draw.canvas import Picture
from holders.output.draw.drafting.balloons import numbered
from holders.output.draw.drafting.items import items
from holders.output.draw.film import film_relief
from holders.output.sheet.blocks import Block, Drawing, Section, Words
from holders.preset.code import dots
from holders.preset.tables.plain import PlainPreset

PARTS_MM = 92.0, 77.0
COLUMN_MM = 87.0  # of the annex
RELIEF_MM = 118.0  # drawn larger than the column, so that its lettering comes out like the text
DOT_MM = 0.5
CODE = "code"  # the key of its section
QUIET_DOTS = 4  # of bare paper around a code, ISO/IEC 18004


def section_of_parts(design: Design, hand: str) -> Section:
    """The parts pulled apart, with their numbers; ``hand`` says what else lies ready at the bench."""
    view = numbered(design, items(design), *PARTS_MM)
    words = "Seen from the home corner; heights drawn three times too large. drawing.pdf has every dimension."
    return Section(
        "parts", "The parts", (_drawn(view, "Parts pulled apart", words), Words(hand)), leaf=1, half=True
    )


def section_of_film(design: Design, film: Filmed) -> Section:
    """The film's relief, its section and the sentence on both, of each kind of film."""
    if design.kinds:
        blocks: list[Block] = []
        for one in design.each:
            blocks.append(Words(f"{one.mine[0].film_key}, {_numbers(one)}:"))
            blocks += _film_blocks(one, film.of(one.kind))
        return Section("film", "The films in the holder", tuple(blocks))
    return Section("film", "The film in the holder", _film_blocks(design, film))


def _numbers(design: Design) -> str:
    """The numbers of the windows of the kind of film that is looked at."""
    each = [number for number, _ in design.numbered]
    return f"window {each[0]}" if len(each) == 1 else f"windows {each[0]} to {each[-1]}"


def _film_blocks(design: Design, film: Filmed) -> tuple[Block, ...]:
    if film.grid is None or film.sag is None:
        why = design.no_sag_because or film.why_not or "it was not asked for"
        across = section.whole(design, COLUMN_MM)
        return (
            Words(f"No film surface is drawn: {why}."),
            _drawn(across, "Across the holder", "Lined: the focus band; heights enlarged."),
        )
    words = (
        "Heights over the picture, mm above the glass, and beside the colours a line along this film's; where hatched, "
        "soft. film.svg has it large, with a section."
    )
    return (_drawn(film_relief(design, film, RELIEF_MM), "How the film lies", words),)


def section_of_code(preset: PlainPreset) -> tuple[Section, ...]:
    """The preset as a code, on paper at the foot of page 1 where there is room; nothing for one that is too long."""
    code = code_of(preset)
    return () if code is None else (Section(CODE, "The preset as a code", (code,)),)


def code_of(preset: PlainPreset) -> Drawing | None:
    """The preset as a code that the page reads back from a photo; None where it is too long for one."""
    rows = dots(preset)
    if rows is None:
        return None
    side = (len(rows) + 2 * QUIET_DOTS) * DOT_MM
    picture = Picture(side, side)
    for j, row in enumerate(rows):
        k = 0
        while k < len(row):
            end = k
            while end < len(row) and row[end]:
                end += 1
            if end > k:
                x0, x1, y = ((n + QUIET_DOTS) * DOT_MM for n in (k, end, j))
                picture.polygon([[(x0, y), (x1, y), (x1, y + DOT_MM), (x0, y + DOT_MM)]], None, "#000")
            k = max(end, k + 1)
    words = "A photo of this code, dropped on the page, opens the preset."
    return _drawn(picture, "The preset as a code", words)


def _drawn(picture: Picture, title: str, caption: str) -> Drawing:
    return Drawing(caption, picture.svg(title), picture.width, picture.height)
