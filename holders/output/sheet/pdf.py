"""The job sheet as PDF, for any paper wide enough; no dates, so the same sheet gives the same bytes."""

from __future__ import annotations

import io
from typing import Any

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, KeepTogether, Paragraph, SimpleDocTemplate, Spacer
from reportlab.platypus import Table as Grid

from holders.facts.models import Paper
from holders.facts.tables import paper as named_paper
from holders.output.formats import letters
from holders.output.sheet.blocks import Block, Drawing, Items, Section, Sheet, Table, Verbatim, Words
from holders.output.sheet.replay import MM, replay

MARGIN_MM = 14.0
LEAST_MM = 205.0, 270.0  # smaller paper takes the sheet on A4
TEXT = ParagraphStyle("text", fontName="Helvetica", fontSize=9.5, leading=12.5, spaceAfter=4)
HEAD = ParagraphStyle(
    "head", TEXT, fontName="Helvetica-Bold", fontSize=13, leading=16, spaceBefore=10, keepWithNext=1
)
TITLE = ParagraphStyle("title", TEXT, fontName="Helvetica-Bold", fontSize=18, leading=22)
NOTE = ParagraphStyle("note", TEXT, fontName="Helvetica-Oblique", fontSize=9, leading=11.5, keepWithNext=1)
CELL = ParagraphStyle("cell", TEXT, fontSize=8.5, leading=10.5, spaceAfter=0)
CELL_HEAD = ParagraphStyle("cell-head", CELL, fontName="Helvetica-Bold")
CODE_SIZE, CODE_LEADING, GUTTER = 8.0, 10.0, 12.0
COURIER_WIDTH = 0.6  # every letter of the font, as a share of its size
GOES_ON = "\u00bb"
CELL_PAD, LONG_CELL = 6.0, 34


def usable(paper: Paper) -> Paper:
    """The paper itself, or A4 where it is too small for the drawings."""
    return paper if paper.width_mm >= LEAST_MM[0] and paper.height_mm >= LEAST_MM[1] else named_paper("a4")


def pdf_bytes(content: Sheet, paper: Paper) -> bytes:
    """The sheet on ``paper`` (A4 if that is too small), black and grey only."""
    page = usable(paper)
    out = io.BytesIO()
    size = (page.width_mm * MM, page.height_mm * MM)
    margin = MARGIN_MM * MM
    document = SimpleDocTemplate(
        out,
        pagesize=size,
        leftMargin=margin,
        rightMargin=margin,
        topMargin=margin,
        bottomMargin=margin + 4 * MM,
        invariant=1,
        title=content.title,
        creator="holders",
        author="",
    )
    wide = size[0] - 2 * margin - 12  # the frame's own padding
    high = size[1] - 2 * margin - 4 * MM - 12
    story: list[Flowable] = [_words(content.title, TITLE), _words(content.subtitle, TEXT)]
    lost = letters.words_on(_text_of(content), "job-sheet.html shows them")
    story += [_words(lost, NOTE)] if lost else []
    for section in content.sections:
        story += _section(section, wide, high)

    def foot(canvas: Any, _: Any) -> None:
        canvas.saveState()
        letters.draw(canvas, margin + 6, margin, content.title[:90], "Helvetica", 8)
        canvas.setFont("Helvetica", 8)
        canvas.drawRightString(size[0] - margin - 6, margin, f"page {canvas.getPageNumber()}")
        canvas.restoreState()

    document.build(story, onFirstPage=foot, onLaterPages=foot)
    return out.getvalue()


def _text_of(content: Sheet) -> str:
    """All letters of the sheet that a person may have chosen."""
    blocks = [block for section in content.sections for block in section.blocks]
    verbatim = [block.brief or block.text for block in blocks if isinstance(block, Verbatim)]
    return "".join([content.title, content.subtitle, *verbatim])


def _words(text: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(letters.markup(text, style.fontName), style)


def _section(section: Section, wide: float, high: float) -> list[Flowable]:
    flow: list[Flowable] = []
    for block in section.blocks:
        flow += _block(block, wide, high)
    head = _words(section.title, HEAD)
    return [KeepTogether([head, flow[0]]), *flow[1:]] if flow else [head]


def _block(block: Block, wide: float, high: float) -> list[Flowable]:
    match block:
        case Words(text):
            return [_words(text, TEXT)]
        case Items(rows, numbered):
            return [_item(f"{k}." if numbered else "-", row) for k, row in enumerate(rows, 1)]
        case Table():
            return [KeepTogether([_words(block.caption, NOTE), _grid(block, wide), Spacer(1, 6)])]
        case Drawing():
            drawn = Drawn(block, wide, high - 50)
            return [KeepTogether([drawn, _words(block.caption, ParagraphStyle("c", NOTE, keepWithNext=0))])]
        case Verbatim():
            note = [_words(block.note, NOTE)] if block.note else []
            return [*note, *_code(block.brief or block.text, wide)]


def _item(mark: str, text: str) -> Paragraph:
    style = ParagraphStyle(
        "item", TEXT, leftIndent=16, bulletIndent=0, bulletFontName="Helvetica", bulletFontSize=9.5
    )
    return Paragraph(letters.markup(text, style.fontName), style, bulletText=mark)


def _code(text: str, wide: float) -> list[Flowable]:
    """Text as it stands, every letter in its column; a line too long for the page goes on below a mark."""
    columns = int((wide - GUTTER) / (CODE_SIZE * COURIER_WIDTH))
    rows: list[Flowable] = []
    broken = False
    for line in text.expandtabs(4).split("\n"):
        parts = [line[k : k + columns] for k in range(0, len(line), columns)] or [""]
        broken |= len(parts) > 1
        rows += [CodeRow(part, goes_on=k > 0) for k, part in enumerate(parts)]
    if broken:
        words = f"A row marked {GOES_ON} goes on from the one above: type both as one line."
        rows.insert(0, _words(words, NOTE))
    return rows


def _grid(table: Table, wide: float) -> Grid:
    """A ruled table whose columns share the width by how much they hold."""
    count = len(table.head)
    weights = []
    for k in range(count):
        cells = [row[k] for row in (table.head, *table.rows)]
        word = max((len(w) for cell in cells for w in cell.split()), default=1)
        weights.append(max(min(max(len(cell) for cell in cells), LONG_CELL), word * 1.15, 5))
    total = sum(weights)
    rows = [[_words(cell, CELL_HEAD) for cell in table.head]]
    rows += [[_words(cell, CELL) for cell in row] for row in table.rows]
    style = [
        ("GRID", (0, 0), (-1, -1), 0.4, "#000000"),
        ("LINEBELOW", (0, 0), (-1, 0), 1.2, "#000000"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
        ("LEFTPADDING", (0, 0), (-1, -1), CELL_PAD / 2),
        ("RIGHTPADDING", (0, 0), (-1, -1), CELL_PAD / 2),
    ]
    return Grid(rows, colWidths=[wide * w / total for w in weights], style=style, repeatRows=1)


class CodeRow(Flowable):  # type: ignore[misc] # reportlab has no types
    """One row of text in a font whose letters are all as wide; a mark in the gutter where it goes on from above."""

    def __init__(self, text: str, goes_on: bool) -> None:
        super().__init__()
        self.text, self.goes_on = text, goes_on

    def wrap(self, wide: float, _: float) -> tuple[float, float]:
        """Its size in points."""
        return wide, CODE_LEADING

    def draw(self) -> None:
        """The letters, each in its column."""
        self.canv.setFont("Courier", CODE_SIZE)
        if self.goes_on:
            self.canv.drawString(0, 2, GOES_ON)
        letters.draw(self.canv, GUTTER, 2, self.text, "Courier", CODE_SIZE)


class Drawn(Flowable):  # type: ignore[misc] # reportlab has no types
    """A drawing at its own size, or smaller where the page asks for it."""

    def __init__(self, drawing: Drawing, wide: float, high: float) -> None:
        super().__init__()
        self.drawing = drawing
        self.share = min(1.0, wide / (drawing.width_mm * MM), high / (drawing.height_mm * MM))
        self.width, self.height = drawing.width_mm * MM * self.share, drawing.height_mm * MM * self.share

    def wrap(self, *_: float) -> tuple[float, float]:
        """Its size in points."""
        return self.width, self.height

    def draw(self) -> None:
        """Replay the drawing."""
        replay(self.canv, self.drawing.svg, 0, self.height, self.share)
