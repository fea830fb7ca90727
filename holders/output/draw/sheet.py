"""The workshop drawing: two sheets of A4 or Letter across, lettering by ISO 3098 and nothing smaller than 2.5 mm.

Sheet 1 shows the parts pulled apart with their numbers and the list of parts; sheet 2 the plan with every dimension
from the home corner, a detail of the lip, and notes.
"""

from __future__ import annotations

from collections.abc import Sequence

from holders.core.lengths import measure
from holders.design.model import Design
from holders.facts.models import Paper
from holders.facts.tables import material
from holders.facts.tables import paper as named_paper
from holders.output.draw.canvas import AXIS, EDGE, FINE, HATCH_KEEP, HIDDEN, Pen, Picture, text_width
from holders.output.draw.drafting.balloons import numbered
from holders.output.draw.drafting.detail import detail
from holders.output.draw.drafting.further import further
from holders.output.draw.drafting.items import Item, items
from holders.output.draw.drafting.lettering import HEAD, LINE, TEXT, fitted, wrapped
from holders.output.draw.drafting.notes import notes
from holders.output.draw.drafting.workplan import workplan
from holders.workshop.cost import plain_name

FRAME = Pen(0.5)  # the drawing space's border, ISO 5457
BORDER, STRIP, PAD = 7.0, 12.5, 3.0
LIST_MM = 106.0
MADE = {"print": "printed", "laser": "cut by laser", "knife": "cut with a knife"}
LEAST_MM = (270.0, 205.0)  # smaller paper takes the drawing on A4
NOTE_GAP = 1.6
KEY_MM = 12.0  # of a line, or a hatched field, in the key
KEEP = "keep clear"


def drawing(design: Design, paper: Paper | None = None) -> tuple[bytes, ...]:
    """Both sheets as SVG, mm, with their letters in them."""
    sheets = sheets_of(design, paper)
    names = ("parts", "plan and detail")
    return tuple(
        sheet.svg(f"{design.title}: {name}", embed=True) for sheet, name in zip(sheets, names, strict=True)
    )


def sheets_of(design: Design, paper: Paper | None = None) -> tuple[Picture, Picture]:
    """Both sheets as pictures."""
    wide, high = size_of(paper)
    return _parts_sheet(design, wide, high), _plan_sheet(design, wide, high)


def size_of(paper: Paper | None) -> tuple[float, float]:
    """Width and height of the sheet, lying across: A4 or the given paper where that is large enough."""
    chosen = paper or named_paper("a4")
    sides = sorted((chosen.width_mm, chosen.height_mm), reverse=True)
    if sides[0] < LEAST_MM[0] or sides[1] < LEAST_MM[1]:
        chosen = named_paper("a4")
    return max(chosen.width_mm, chosen.height_mm), min(chosen.width_mm, chosen.height_mm)


def ratio(scale: float) -> str:
    """A scale as it is written on drawings."""
    return f"{measure(scale)} : 1" if scale >= 1 else f"1 : {measure(1 / scale)}"


def _parts_sheet(design: Design, wide: float, high: float) -> Picture:
    picture = Picture(wide, high, exact=True)
    rows = items(design)
    _strip(picture, design, "parts pulled apart, heights drawn three times too large", 1)
    room = wide - 2 * BORDER - LIST_MM - 3 * PAD
    tall = high - 2 * BORDER - STRIP - 2 * PAD
    view = numbered(design, rows, room, tall)
    picture.place(view, BORDER + PAD + (room - view.width) / 2, BORDER + PAD + (tall - view.height) / 2)
    left = wide - BORDER - PAD - LIST_MM
    below = _list(picture, design, rows, (left, BORDER + PAD)) + PAD
    picture.place(further(design, LIST_MM, high - BORDER - STRIP - PAD - below), left, below)
    return picture


def _plan_sheet(design: Design, wide: float, high: float) -> Picture:
    picture = Picture(wide, high, exact=True)
    top, tall = BORDER + PAD, high - 2 * BORDER - STRIP - 2 * PAD
    drawn = workplan(design, (wide - 2 * BORDER) * 0.6, tall)
    plan = drawn.picture
    picture.place(plan, BORDER + PAD, top + (tall - plan.height) / 2)
    left = BORDER + PAD + plan.width + PAD
    room = wide - BORDER - PAD - left
    words = [wrapped(text, room, TEXT) for text in notes(design, drawn.dropped)]
    below = sum(len(lines) * LINE + NOTE_GAP for lines in words) + 3 * LINE
    lip = detail(design, room, max(tall - below - 10.0, 60.0))
    head = f"Section at the left edge of {_first(design)}, {ratio(lip.scale)}"
    picture.text((left, top + 3.5), head, TEXT, bold=True)
    picture.place(lip.picture, left, top + 7.0)
    y = top + 7.0 + lip.picture.height + 8.0
    picture.text((left, y), "Notes", TEXT, bold=True)
    y += LINE
    _noted(picture, words, left, y, high - BORDER - STRIP - 2 * LINE - 3.0, room)
    _key(picture, design, left, high - BORDER - STRIP - LINE - 1.5, room)
    _strip(picture, design, f"plan {ratio(drawn.scale)}", 2)
    return picture


def _noted(
    picture: Picture, words: Sequence[Sequence[str]], x: float, y: float, last: float, room: float
) -> None:
    """Notes down to the height ``last``; what has no room any more leaves an ellipsis."""
    placed: list[tuple[float, str]] = []
    for lines in words:
        for line in lines:
            placed.append((y, line))
            y += LINE
        y += NOTE_GAP
    shown = [(at, line) for at, line in placed if at <= last]
    for number, (at, line) in enumerate(shown, 1):
        cut = number == len(shown) < len(placed)
        picture.text((x, at), fitted(f"{line} …", room, TEXT) if cut else line, TEXT)


def _first(design: Design) -> str:
    """The window that the detail is cut at."""
    return f"window {design.numbered[0][0]}" if len(design.windows) > 1 else "the window"


def _strip(picture: Picture, design: Design, words: str, number: int) -> None:
    """Border and title block: the title, how it is made, what is shown and at which scale, units, sheet."""
    x0, y0, x1, y1 = BORDER, BORDER, picture.width - BORDER, picture.height - BORDER
    picture.polygon([[(x0, y0), (x1, y0), (x1, y1), (x0, y1)]], FRAME)
    top = y1 - STRIP
    picture.line((x0, top), (x1, top), FRAME)
    right = f"sheet {number} of 2"
    materials = sorted({plain_name(material(part.material)) for part in design.parts})
    made = f"{MADE[design.route]}; {', '.join(materials)}; {words}"
    units = "lengths in mm; do not measure from this sheet"
    room = x1 - x0 - 2 * PAD
    picture.text((x0 + PAD, top + 5.6), fitted(design.title, room - 60, HEAD, bold=True), HEAD, bold=True)
    picture.text((x1 - PAD, top + 5.2), right, TEXT, "end")
    picture.text((x0 + PAD, top + 10.8), fitted(made, room - 85, TEXT), TEXT)
    picture.text((x1 - PAD, top + 10.8), units, TEXT, "end")


COLUMNS = (0.0, 8.0, 60.0, 68.0)  # where number, title, count and size begin, of the list's width


def _list(picture: Picture, design: Design, rows: Sequence[Item], at: tuple[float, float]) -> float:
    """The list of parts: number, what, how many, size; where it ends."""
    x, y = at
    picture.text((x, y + HEAD * 0.73), "Parts, from the glass up", HEAD, bold=True)
    y += 10.0
    for column, words in zip(COLUMNS, ("No.", "part", "pcs", "size, mm"), strict=True):
        picture.text((x + column, y), words, TEXT, bold=True)
    picture.line((x, y + 1.8), (x + LIST_MM, y + 1.8), EDGE)
    y += LINE + 1.8
    bottom = picture.height - BORDER - STRIP - PAD
    for row in rows:
        lines = wrapped(row.title, COLUMNS[2] - COLUMNS[1] - 2, TEXT)
        if y + LINE * (len(lines) - 1) > bottom:
            break
        cells = (str(row.number), "", str(row.quantity), fitted(row.size, LIST_MM - COLUMNS[3], TEXT))
        for column, words in zip(COLUMNS, cells, strict=True):
            if words:
                picture.text((x + column, y), words, TEXT)
        for line in lines:
            picture.text((x + COLUMNS[1], y), line, TEXT)
            y += LINE
        picture.line((x, y - LINE + 1.8), (x + LIST_MM, y - LINE + 1.8), FINE)
        y += 1.2
    o = design.outer
    feet = " on its feet" if design.feet else ""
    words = f"Outside {measure(o.width)} x {measure(o.height)}; {measure(design.total_height)} high{feet}."
    for line in wrapped(words, LIST_MM, TEXT):
        y += LINE
        picture.text((x, y - 1.9), line, TEXT)
    return y


def _key(picture: Picture, design: Design, x: float, y: float, room: float) -> None:
    """What the kinds of line mean."""
    kinds: list[tuple[Pen, str]] = [(AXIS, f"{design.in_pocket.split()[-1]} as cut")]
    if design.feet:
        kinds.append((HIDDEN, "foot below"))
    at = x
    for pen, words in kinds:
        picture.line((at, y - 1.2), (at + KEY_MM, y - 1.2), pen)
        at = _keyed(picture, words, at, y)
    zone = design.calibration
    if (
        zone is not None
        and zone.overlaps(design.outer)
        and at + KEY_MM + 1.5 + text_width(KEEP, TEXT) < x + room
    ):
        box = [(at, y - 2.8), (at + KEY_MM, y - 2.8), (at + KEY_MM, y + 0.4), (at, y + 0.4)]
        picture.polygon([box], FINE, HATCH_KEEP)
        _keyed(picture, KEEP, at, y)


def _keyed(picture: Picture, words: str, at: float, y: float) -> float:
    """The words beside a kind of line that begins at ``at``; where the next may begin."""
    picture.text((at + KEY_MM + 1.5, y), words, TEXT)
    return at + KEY_MM + 1.5 + text_width(words, TEXT) + PAD
