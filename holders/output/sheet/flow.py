"""The blocks of a sheet as what reportlab sets: paragraphs, ruled tables, steps with pictures, drawings, plain text."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Paragraph, Spacer
from reportlab.platypus import Table as Grid

from holders.output.formats import letters
from holders.output.sheet.blocks import (
    Block,
    Boxes,
    Drawing,
    Items,
    Section,
    Steps,
    Table,
    Verbatim,
    Words,
)
from holders.output.sheet.replay import MM, replay

TEXT = ParagraphStyle("text", fontName=letters.SANS, fontSize=9.2, leading=11, spaceAfter=3)
HEAD = ParagraphStyle(
    "head",
    TEXT,
    fontName=letters.BOLD,
    fontSize=12,
    leading=14,
    spaceBefore=4,
    spaceAfter=2,
    keepWithNext=1,
)
TITLE = ParagraphStyle("title", TEXT, fontName=letters.BOLD, fontSize=17.5, leading=20, spaceAfter=1)
SUB = ParagraphStyle("sub", TEXT, spaceAfter=2)
NOTE = ParagraphStyle("note", TEXT, fontName=letters.ITALIC, fontSize=8.5, leading=10.2, spaceAfter=2)
CELL = ParagraphStyle("cell", TEXT, fontSize=8.3, leading=9.7, spaceAfter=0)
CODE_SIZE, CODE_LEADING, GUTTER = 6.3, 7.5, 9.0
GOES_ON = "\u00bb"
CELL_PAD, LONG_CELL = 5.0, 20  # of a body size: a longer line is rather folded
BOX_MM, STEP_MM, SIDES_MM = 9.0, 19.0, 14.0
LONG_ROWS, BEGUN_MM = (
    5,
    30.0,
)  # a table of so many rows may be broken, where that much of it stands above the break
PAD_ALL = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]


@dataclass(frozen=True, slots=True)
class Look:
    """Styles of running text and of tables; columns take smaller ones than the whole width."""

    text: ParagraphStyle
    cell: ParagraphStyle
    head: ParagraphStyle


LARGE = Look(TEXT, CELL, HEAD)
SMALL = Look(
    ParagraphStyle("small", TEXT, fontSize=8.2, leading=9.3, spaceAfter=2.2),
    ParagraphStyle("small-cell", CELL, fontSize=7.5, leading=8.6),
    HEAD,
)

TIGHT = Look(  # for an annex that runs over by a few lines
    ParagraphStyle("tight", TEXT, fontSize=8.0, leading=8.9, spaceAfter=1.8),
    ParagraphStyle("tight-cell", CELL, fontSize=7.3, leading=8.2),
    HEAD,
)


def words_of(text: str, style: ParagraphStyle) -> Paragraph:
    """A paragraph of plain text."""
    return Paragraph(letters.markup(text, style.fontName), style)


def section_flow(section: Section, wide: float, high: float, look: Look = LARGE) -> list[Flowable]:
    """A section with its heading; the heading stays with what follows."""
    flow: list[Flowable] = []
    for block in section.blocks:
        flow += _block(block, wide, high, look)
    head = words_of(section.title, look.head)
    return [KeepTogether([head, *plain(flow[:1])]), *flow[1:]] if flow else [head]


def beside(left: Section, right: Section, wide: float, high: float, gutter: float) -> Flowable:
    """Two sections side by side, as high as the higher one."""
    half = (wide - gutter) / 2
    cells = [[plain(section_flow(one, half, high, SMALL)) for one in (left, right)]]
    style = [*PAD_ALL, ("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (1, 0), (1, 0), gutter)]
    return Grid(cells, colWidths=[half, half + gutter], style=style, hAlign="LEFT")


def aside(section: Section, wide: float) -> Flowable:
    """A section's drawing with its heading and words beside it."""
    (drawing,) = (block for block in section.blocks if isinstance(block, Drawing))
    drawn = Drawn(drawing, wide, wide)
    words = [words_of(section.title, HEAD), words_of(drawing.caption, SMALL.text)]
    style = [*PAD_ALL, ("VALIGN", (0, 0), (-1, -1), "TOP")]
    return Grid([[drawn, words]], colWidths=[drawn.width, wide - drawn.width], style=style, hAlign="LEFT")


def plain(flow: list[Flowable]) -> list[Flowable]:
    """Without wrappers that cells of a table do not take."""
    found: list[Flowable] = []
    for one in flow:
        if not isinstance(one, CondPageBreak):
            found += plain(one._content) if isinstance(one, KeepTogether) else [one]
    return found


def _block(block: Block, wide: float, high: float, look: Look) -> list[Flowable]:  # noqa: PLR0911 - one a kind
    match block:
        case Words(text):
            return [words_of(text, look.text)]
        case Steps():
            return _steps(block, wide)
        case Items(rows, numbered):
            indent = 17 if numbered and len(rows) > 9 else 14  # room for two digits
            return [
                _item(f"{k}." if numbered else "\u2013", row, look, indent) for k, row in enumerate(rows, 1)
            ]
        case Boxes():
            return [_boxes(block, wide, look)]
        case Table():
            return _table(block, wide, look)
        case Drawing():
            drawn = Drawn(block, wide, high - 40)
            return [KeepTogether([drawn, *([words_of(block.caption, NOTE)] if block.caption else [])])]
        case Verbatim():
            note = [words_of(block.note, NOTE)] if block.note else []
            return [*note, *(_code(block.printed, wide) if block.on_paper else [])]


def _table(table: Table, wide: float, look: Look) -> list[Flowable]:
    """A table with its caption; a long one may go on in the next column, its head repeated."""
    flow = [words_of(table.caption, NOTE), _grid(table, wide, look), Spacer(1, 5)]
    return [KeepTogether(flow)] if len(table.rows) < LONG_ROWS else [CondPageBreak(BEGUN_MM * MM), *flow]


def _item(mark: str, text: str, look: Look, indent: float) -> Paragraph:
    style = ParagraphStyle(
        "item",
        look.text,
        leftIndent=indent,
        bulletIndent=0,
        bulletFontName=letters.SANS,
        bulletFontSize=look.text.fontSize,
    )
    return Paragraph(letters.markup(text, style.fontName), style, bulletText=mark)


def _steps(steps: Steps, wide: float) -> list[Flowable]:
    """Two steps in a row, each with its picture and number; a last one without a neighbour over the whole width."""
    half, picture = wide / 2, STEP_MM * MM
    cells: list[list[object]] = []
    for number, (words, drawing) in enumerate(zip(steps.rows, steps.pictures, strict=True), 1):
        text = Paragraph(f"<b>{number}</b>&nbsp; {letters.markup(words)}", SMALL.text)
        cells.append([Drawn(drawing, picture, 14 * MM), text])
    if len(cells) % 2:
        cells.append(["", ""])
    rows = [[*one, *two] for one, two in zip(cells[::2], cells[1::2], strict=True)]
    style: list[tuple[object, ...]] = [
        *PAD_ALL,
        ("FONTNAME", (0, 0), (-1, -1), letters.SANS),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 4),
        ("RIGHTPADDING", (1, 0), (1, -1), 8),
    ]
    if len(steps.rows) % 2:
        style.append(("SPAN", (1, -1), (3, -1)))
    widths = [picture + 5, half - picture - 5]
    return [Grid(rows, colWidths=[*widths, *widths], style=style, hAlign="LEFT")]


def _boxes(boxes: Boxes, wide: float, look: Look) -> Flowable:
    """A row of empty boxes with their names in them."""
    count = len(boxes.names)
    names = [[words_of(name, look.cell) for name in boxes.names]]
    style: list[tuple[object, ...]] = [("BOX", (k, 0), (k, 0), 0.7, "#000000") for k in range(count)]
    style += [("VALIGN", (0, 0), (-1, -1), "TOP"), ("TOPPADDING", (0, 0), (-1, -1), 1)]
    style += [("LEFTPADDING", (0, 0), (-1, -1), 3)]
    if boxes.picture is None:
        grid = Grid(
            names, colWidths=[wide / count] * count, rowHeights=[BOX_MM * MM], style=style, hAlign="LEFT"
        )
        return KeepTogether([words_of(boxes.text, look.text), grid, Spacer(1, 4)])
    drawn = Drawn(boxes.picture, STEP_MM * MM, SIDES_MM * MM)
    left = drawn.width + GUTTER
    rest = wide - left
    grid = Grid(names, colWidths=[rest / count] * count, rowHeights=[BOX_MM * MM], style=style, hAlign="LEFT")
    beside = Grid(
        [[drawn, [words_of(boxes.text, look.text), grid]]],
        colWidths=[left, rest],
        style=[*PAD_ALL, ("VALIGN", (0, 0), (-1, -1), "TOP")],
        hAlign="LEFT",
    )
    return KeepTogether([beside, Spacer(1, 4)])


def _code(text: str, wide: float) -> list[Flowable]:
    """Text as it stands, every letter in its column; a line too long for the page goes on below a mark."""
    columns = int((wide - GUTTER) / (CODE_SIZE * letters.MONO_WIDTH))
    rows: list[Flowable] = []
    broken = False
    for line in text.expandtabs(4).split("\n"):
        parts = [line[k : k + columns] for k in range(0, len(line), columns)] or [""]
        broken |= len(parts) > 1
        rows += [CodeRow(part, goes_on=k > 0) for k, part in enumerate(parts)]
    if broken:
        words = f"A row marked {GOES_ON} goes on from the one above: type both as one line."
        rows.insert(0, words_of(words, NOTE))
    return rows


def _grid(table: Table, wide: float, look: Look) -> Grid:
    """A ruled table whose columns share the width by how much they hold."""
    head_style = ParagraphStyle("cell-head", look.cell, fontName=letters.BOLD)
    widths = _shares(table, wide, look.cell.fontSize)
    rows = [[words_of(cell, head_style) for cell in table.head]]
    rows += [[words_of(cell, look.cell) for cell in row] for row in table.rows]
    style = [
        ("FONTNAME", (0, 0), (-1, -1), letters.SANS),
        ("LINEBELOW", (0, 0), (-1, -1), 0.3, "#808080"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.9, "#000000"),
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("TOPPADDING", (0, 0), (-1, -1), 1.2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), CELL_PAD),
    ]
    return Grid(rows, colWidths=widths, style=style, repeatRows=1)


def _shares(table: Table, wide: float, size: float) -> list[float]:
    """Widths of the columns: none less than its longest word, the rest shared by what their lines would take."""

    def long(text: str, bold: bool) -> float:
        return letters.width(text, letters.BOLD if bold else letters.SANS, size) * 1.02 + CELL_PAD

    least, most = [], []
    for k in range(len(table.head)):
        cells = [(table.head[k], True), *((row[k], False) for row in table.rows)]
        least.append(max((long(w, bold) for cell, bold in cells for w in cell.split(" ")), default=CELL_PAD))
        most.append(max(least[-1], min(max(long(cell, bold) for cell, bold in cells), LONG_CELL * size)))
    spare, wish = wide - sum(least), sum(most) - sum(least)
    if spare <= 0:
        return [wide * w / sum(least) for w in least]
    if wish <= spare:
        return [wide * w / sum(most) for w in most]
    return [a + spare * (b - a) / wish for a, b in zip(least, most, strict=True)]


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
        if self.goes_on:
            letters.draw(self.canv, 0, 2, GOES_ON, letters.MONO, CODE_SIZE)
        letters.draw(self.canv, GUTTER, 2, self.text, letters.MONO, CODE_SIZE)


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


class Rule(Flowable):  # type: ignore[misc] # reportlab has no types
    """A line across the column."""

    def __init__(self, wide: float) -> None:
        super().__init__()
        self.width, self.height = wide, 8.0

    def wrap(self, *_: float) -> tuple[float, float]:
        """Its size in points."""
        return self.width, self.height

    def draw(self) -> None:
        """The line."""
        self.canv.setLineWidth(1.2)
        self.canv.line(0, 3, self.width, 3)
