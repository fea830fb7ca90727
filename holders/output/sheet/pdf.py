"""The job sheet as PDF, for any paper wide enough; no dates, so the same sheet gives the same bytes.

Page 1, making, runs over the whole width; loading and scanning, and the annex, are set in two columns.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from itertools import product
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepInFrame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Spacer,
)

from holders.facts.models import Paper
from holders.facts.tables import paper as named_paper
from holders.output.formats import letters
from holders.output.sheet.blocks import Section, Sheet, Verbatim
from holders.output.sheet.flow import (
    NOTE,
    SMALL,
    SUB,
    TIGHT,
    TITLE,
    Look,
    Rule,
    aside,
    beside,
    plain,
    section_flow,
    words_of,
)
from holders.output.sheet.pictures import CODE
from holders.output.sheet.replay import MM

MARGIN_MM, GUTTER_MM, FOOT_MM = 10.5, 7.0, 5.0
LEAST_MM = 205.0, 270.0  # smaller paper takes the sheet on A4
ENDLESS = 1e6  # points, higher than any page
LEAST_SHARE = 0.93  # of its size that a page may shrink to, rather than leave a few lines to another
TWO_PAGES = 1.6  # pages that parts and steps fill at most for the code to find room below them on the second
WHOLE, COLUMNS = "whole", "columns"
ENOUGH_PAGES = 3  # more of them, and another order of the annex is tried
LATER = ("care", "cautions")
Story = Callable[[float, float, float], list[Flowable]]
ROOM_MM = 25.0  # a section begins on a new column where less is left


def usable(paper: Paper) -> Paper:
    """The paper itself, or A4 where it is too small for the drawings."""
    return paper if paper.width_mm >= LEAST_MM[0] and paper.height_mm >= LEAST_MM[1] else named_paper("a4")


def pdf_bytes(content: Sheet, paper: Paper) -> bytes:
    """The sheet on ``paper`` (A4 if that is too small).

    Where it takes more than three pages, another order of the annex and slightly smaller letters in it are tried, and
    what takes the fewest pages is kept.
    """
    letters.load_fonts()
    best, least = b"", 0
    for look, shown in product((SMALL, TIGHT), (content, _film_first(content))):
        made, pages = _built(content.title, partial(_story, shown, look), paper)
        if not best or pages < least:
            best, least = made, pages
        if least <= ENOUGH_PAGES:
            break
    return best


def _film_first(content: Sheet) -> Sheet:
    """The film, whose picture may leave a gap at a column's foot, before care and cautions."""
    late = [section for section in content.sections if section.key in LATER]
    rest = [section for section in content.sections if section.key not in LATER]
    film = next((k for k, section in enumerate(rest, 1) if section.key == "film"), len(rest))
    return replace(content, sections=(*rest[:film], *late, *rest[film:]))


def _built(title: str, story: Story, paper: Paper) -> tuple[bytes, int]:
    """The pages and their number; ``story`` is given the whole width, a column's, and the height, in points."""
    page = usable(paper)
    size = (page.width_mm * MM, page.height_mm * MM)
    out = io.BytesIO()
    document = BaseDocTemplate(
        out,
        initialFontName=letters.SANS,
        pagesize=size,
        invariant=1,
        title=title,
        creator="holders",
        author="",
    )
    margin, foot, gutter = MARGIN_MM * MM, FOOT_MM * MM, GUTTER_MM * MM
    wide, high = size[0] - 2 * margin, size[1] - 2 * margin - foot
    column = (wide - gutter) / 2

    def frame(x: float, width: float) -> Frame:
        return Frame(x, margin + foot, width, high, 0, 0, 0, 0)

    def mark(canvas: Any, _: Any) -> None:
        canvas.saveState()
        letters.draw(canvas, margin, margin, title[:90], letters.SANS, 7.5)
        number = f"page {canvas.getPageNumber()}"
        left = size[0] - margin - letters.width(number, letters.SANS, 7.5)
        letters.draw(canvas, left, margin, number, letters.SANS, 7.5)
        canvas.restoreState()

    document.addPageTemplates(
        [
            PageTemplate(WHOLE, [frame(margin, wide)], onPage=mark),
            PageTemplate(
                COLUMNS, [frame(margin, column), frame(margin + column + gutter, column)], onPage=mark
            ),
        ]
    )
    document.build(story(wide, column, high))
    return out.getvalue(), int(document.page)


def _story(content: Sheet, annex: Look, wide: float, column: float, high: float) -> list[Flowable]:
    story: list[Flowable] = [words_of(content.title, TITLE), words_of(content.subtitle, SUB)]
    lost = letters.words_on(_text_of(content), "job-sheet.html shows them")
    story += [words_of(lost, NOTE)] if lost else []
    story += _whole([s for s in content.sections if s.leaf == 1], wide, high)
    code = next((s for s in content.sections if s.key == CODE), None)
    foot = None if code is None else aside(code, wide)
    needed = _height(story, wide)
    room = high / LEAST_SHARE if needed <= high / LEAST_SHARE else TWO_PAGES * high
    done = foot is not None and needed + _height([foot], wide) <= room
    story = _on_one([*story, foot] if done and foot is not None else story, wide, high)
    for leaf in (2, 3):
        mine = [s for s in content.sections if s.leaf == leaf and not (done and s is code)]
        if not mine:
            continue
        if leaf == 2 or not any(section.leaf == 2 for section in content.sections):
            story += (
                [NextPageTemplate(COLUMNS), PageBreak()]
                if any(s.leaf < leaf for s in content.sections)
                else []
            )
        else:  # the annex goes on below
            story += [CondPageBreak(ROOM_MM * MM), Rule(column), words_of("Annex", SMALL.head)]
        for section in mine:
            look = SMALL if leaf == 2 else annex
            story += [CondPageBreak(ROOM_MM * MM), *section_flow(section, column, high, look)]
    return story


def _on_one(flow: list[Flowable], wide: float, high: float) -> list[Flowable]:
    """What fits on a page, or nearly: a little smaller where it would run over by a few lines, else as it is."""
    whole, needed = plain(flow), _height(flow, wide)
    if not high < needed <= high / LEAST_SHARE:
        return flow
    return [KeepInFrame(wide, high - 1.0, whole, mode="shrink")]


def _height(flow: list[Flowable], wide: float) -> float:
    """How high a flow comes out, points."""
    _, needed = KeepInFrame(wide, ENDLESS, plain(flow), mode="overflow").wrapOn(
        Canvas(io.BytesIO()), wide, ENDLESS
    )
    return float(needed)


def _whole(sections: list[Section], wide: float, high: float) -> list[Flowable]:
    """Sections over the whole width, halves side by side."""
    story: list[Flowable] = []
    waiting: Section | None = None
    for section in sections:
        if section.half and waiting is None:
            waiting = section
        elif section.half and waiting is not None:
            story += [beside(waiting, section, wide, high, GUTTER_MM * MM), Spacer(1, 4)]
            waiting = None
        else:
            story += section_flow(section, wide, high)
    return story + (section_flow(waiting, wide, high) if waiting is not None else [])


def _text_of(content: Sheet) -> str:
    """All letters of the sheet that a person may have chosen."""
    blocks = [block for section in content.sections for block in section.blocks]
    verbatim = [block.printed for block in blocks if isinstance(block, Verbatim)]
    return "".join([content.title, content.subtitle, *verbatim])
