"""1:1 templates as PDF: every sheet of the holder tiled on paper, with two proof bars on each page, along and across.

Lines are drawn at nominal size (a knife has no kerf). The viewer is asked not to scale; the proof bars show whether it
obeyed. Pages overlap and carry register crosses and a map.
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence
from typing import Any

from holders.design.pieces.cutting import CutPart
from holders.design.pieces.strokes import strokes
from holders.facts.models import Paper
from holders.geometry.outline import Outline, arc_of
from holders.output.formats import letters
from holders.output.formats.tiling import HEADER_MM, Page, Tile, Tiling, pages_in, tiling

MM = 72 / 25.4  # PDF's unit is 1/72 inch
PROOF_MM = 100.0
CUT_PEN, LETTER_PEN, FINE_PEN = 0.2, 0.1, 0.1  # mm
NUMBER_MM, NUMBER_OFF_MM = 2.4, 3.0
FONT, BOLD = letters.SANS, letters.BOLD

BLADES = (
    "Blades cut people too: a sharp blade, several light strokes, a steel rule, a cutting mat, fingers never in the "
    "blade's way. Follow the rules of your workshop.",
)


CUT = (
    "3. Tape the template to the board. Cut along a straightedge in the order of the numbers: openings first, the "
    "outer edge last. Let each cut run past its corners as far as the thin lines do: cuts that cross free a corner."
)
COMPARE = "3. Lay the cut pieces on it and compare: edges lie on the lines, but for the kerf that the files allow for."


def template_pdf(
    title: str, pieces: Sequence[CutPart], paper: Paper, cautions: Sequence[str] = (), *, by_hand: bool = True
) -> bytes:
    """The template of all pieces; the same pieces give the same bytes.

    Parameters
    ----------
    title:
        Printed on every page.
    pieces:
        One a sheet, at nominal size (kerf 0).
    paper:
        What the printer takes.
    cautions:
        Sentences for the first page; left out, the usual one about blades.
    by_hand:
        Whether the pieces are cut along it; if not, the cut pieces are laid on it to compare.
    """
    tilings = [tiling(piece, paper) for piece in pieces]
    out = io.BytesIO()
    canvas = letters.canvas_for(out)
    canvas.setTitle(title)
    canvas.setViewerPreference("PrintScaling", "None")
    total = pages_in(tilings) + 1
    _cover(canvas, title, tilings, paper, (CUT if by_hand else COMPARE, *(cautions or BLADES)))
    number = 1
    for spread in tilings:
        for tile in spread.tiles:
            number += 1
            _tile_page(canvas, title, spread, tile, f"page {number} of {total}", by_hand=by_hand)
    canvas.save()
    return out.getvalue()


def write(
    canvas: Any,
    x: float,
    y: float,
    words: str,
    size: float = 3.0,
    *,
    bold: bool = False,
    middle: bool = False,
) -> None:
    """One line on a canvas of reportlab that begins at a place or has its middle there; all in mm."""
    font = BOLD if bold else FONT
    left = x - letters.width(words, font, size) / 2 if middle else x
    letters.draw(canvas, left * MM, y * MM, words, font, size * MM)


def _line(canvas: Any, x0: float, y0: float, x1: float, y1: float) -> None:
    canvas.line(x0 * MM, y0 * MM, x1 * MM, y1 * MM)


def proof_bar(canvas: Any, x: float, y: float, upright: bool = False) -> None:
    """A proof bar from (x, y), mm: 100 mm between its outer ticks."""
    canvas.setLineWidth(FINE_PEN * MM)
    _line(canvas, x, y, x if upright else x + PROOF_MM, y + PROOF_MM if upright else y)
    for k in range(11):
        long = 3.0 if k % 5 == 0 else 1.8
        if upright:
            _line(canvas, x, y + 10 * k, x + long, y + 10 * k)
        else:
            _line(canvas, x + 10 * k, y, x + 10 * k, y + long)


def _cover(canvas: Any, title: str, tilings: Sequence[Tiling], paper: Paper, cautions: Sequence[str]) -> None:
    width, height, margin = paper.width_mm, paper.height_mm, paper.printer_margin_mm + 5
    canvas.setPageSize((width * MM, height * MM))
    y = height - margin - 6
    for line in wrapped(title, width - 2 * margin, 6.0, BOLD)[:2]:
        write(canvas, margin, y, line, 6.0, bold=True)
        y -= 8
    write(canvas, margin, y, "1:1 template. Print at 100 %, never fitted to the page.", 3.6)
    y -= 14
    proof_bar(canvas, margin, y)
    proof_bar(canvas, width - margin - 4, y - PROOF_MM, upright=True)
    width -= 8  # the words stay clear of the upright bar
    words = "Both bars, along and across, must measure 100 mm. If not, change the print settings."
    write(canvas, margin, y - 5, words, 3.2)
    y -= 14
    lost = letters.words_on(title, "the drawing (SVG) shows them")
    steps = (
        *([lost] if lost else []),
        "1. Trim each page along its dashed frame on the sides that meet another page, or lay the pages over a lamp.",
        "2. Join the pages so that the crosses of neighbours lie on each other; tape them.",
    )
    for words in (*steps, *cautions):
        for line in wrapped(words, width - 2 * margin, 3.2, FONT):
            write(canvas, margin, y, line, 3.2)
            y -= 4.6
        y -= 1.4
    _maps(canvas, tilings, margin, y - 4, width - 2 * margin)
    canvas.showPage()


def _maps(canvas: Any, tilings: Sequence[Tiling], x: float, y: float, room: float) -> None:
    """A small map for each piece, as many beside one another as fit."""
    left, cell = x, 56.0
    for spread in tilings:
        if left + cell > x + room + 1 and left > x:
            left, y = x, y - 62
        if y < 62:
            return  # every tile page carries its own map, so nothing is lost
        for k, line in enumerate(wrapped(spread.piece.title, cell - 4, 3.0, BOLD)[:2]):
            write(canvas, left, y - 3.6 * k, line, 3.0, bold=True)
        count = f"cut {spread.piece.quantity}, {spread.piece.thickness_mm:.2f} mm {spread.piece.material}"
        write(canvas, left, y - 8, count, 2.6)
        _map(canvas, spread, None, left, y - 10, cell - 8, 44.0)
        left += cell


def wrapped(words: str, width: float, size: float, font: str) -> list[str]:
    """Words as lines no wider than ``width`` mm in letters of ``size`` mm."""
    lines, line = [], ""
    for word in words.split():
        longer = f"{line} {word}".strip()
        if line and letters.width(longer, font, size * MM) > width * MM:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


def _map(
    canvas: Any, spread: Tiling, here: Tile | None, x: float, top: float, width: float, height: float
) -> None:
    """The pages of a piece and the piece on them, small; the page at hand is grey."""
    page = spread.page
    span_x = page.tile_width + (spread.columns - 1) * spread.step_x
    span_y = page.tile_height + (spread.rows - 1) * spread.step_y
    scale = min(width / span_x, height / span_y)
    bottom = top - span_y * scale
    canvas.setLineWidth(FINE_PEN * MM)
    for tile in spread.tiles:
        at_x, at_y = x + (tile.x - spread.x0) * scale, bottom + (tile.y - spread.y0) * scale
        canvas.setFillGray(0.8 if tile == here else 1.0)
        canvas.rect(
            at_x * MM,
            at_y * MM,
            page.tile_width * scale * MM,
            page.tile_height * scale * MM,
            fill=tile == here,
        )
        canvas.setFillGray(0.0)
        if here is None:
            write(canvas, at_x + 1.0, at_y + 1.0, tile.label, 2.8)
    canvas.saveState()
    canvas.translate((x - spread.x0 * scale) * MM, (bottom - spread.y0 * scale) * MM)
    canvas.scale(scale, scale)
    canvas.setLineWidth(FINE_PEN * MM / scale)
    for outline in (*spread.piece.inner, spread.piece.outer):
        _draw(canvas, outline)
    canvas.restoreState()


def _tile_page(canvas: Any, title: str, spread: Tiling, tile: Tile, count: str, *, by_hand: bool) -> None:
    page = spread.page
    canvas.setPageSize((page.width * MM, page.height * MM))
    _header(canvas, title, spread, tile, count)
    canvas.saveState()
    frame = canvas.beginPath()
    frame.rect(page.left * MM, page.margin * MM, page.tile_width * MM, page.tile_height * MM)
    canvas.clipPath(frame, stroke=0, fill=0)
    canvas.translate((page.left - tile.x) * MM, (page.margin - tile.y) * MM)
    canvas.setLineWidth(CUT_PEN * MM)
    for outline in (*spread.piece.inner, spread.piece.outer):
        _draw(canvas, outline)
    if by_hand:
        _strokes(canvas, spread)
    canvas.setLineWidth(LETTER_PEN * MM)
    for text in spread.piece.lettering:
        for stroke in text.strokes:
            path = canvas.beginPath()
            path.moveTo(stroke[0][0] * MM, stroke[0][1] * MM)
            for x, y in stroke[1:]:
                path.lineTo(x * MM, y * MM)
            canvas.drawPath(path)
    canvas.setLineWidth(FINE_PEN * MM)
    for x, y in spread.crosses(tile):
        _line(canvas, x - 3, y, x + 3, y)
        _line(canvas, x, y - 3, x, y + 3)
        canvas.circle(x * MM, y * MM, 1.5 * MM)
    canvas.restoreState()
    canvas.setLineWidth(FINE_PEN * MM)
    canvas.setDash([2 * MM, 2 * MM])
    canvas.rect(page.left * MM, page.margin * MM, page.tile_width * MM, page.tile_height * MM)
    canvas.setDash()
    canvas.showPage()


def _strokes(canvas: Any, spread: Tiling) -> None:
    """How far each cut runs past its corners, and its number in what falls out."""
    canvas.setLineWidth(FINE_PEN * MM)
    for stroke in strokes(spread.piece):
        for corner, turn in ((stroke.start, stroke.blade_from), (stroke.end, stroke.blade_to)):
            _line(canvas, *corner, *turn)
        x, y = ((m := (a + b) / 2) + NUMBER_OFF_MM * (beside - m) for a, b, beside in
                zip(stroke.start, stroke.end, stroke.beside, strict=True))  # fmt: skip
        write(canvas, x, y - NUMBER_MM / 3, str(stroke.number), NUMBER_MM, middle=True)


def _header(canvas: Any, title: str, spread: Tiling, tile: Tile, count: str) -> None:
    page: Page = spread.page
    x, top = page.margin, page.height - page.margin
    width = page.width - 2 * page.margin
    words = f"{title} - {spread.piece.title} - {tile.label}, {count}"
    write(canvas, x, top - 4, wrapped(words, width - 26, 3.0, BOLD)[0], 3.0, bold=True)
    many = "" if spread.piece.quantity == 1 else f" Cut {spread.piece.quantity}."
    note = f"Openings first, outer edge last, on the line.{many} Both bars must measure 100 mm."
    write(canvas, x, top - 8, wrapped(note, width - 26, 2.5, FONT)[0], 2.5)
    proof_bar(canvas, x + 0.5, top - 15)
    proof_bar(canvas, x + 0.5, page.margin + 1.0, upright=True)
    _map(canvas, spread, tile, x + width - 22, top - 0.5, 22, HEADER_MM - 2)


def _draw(canvas: Any, outline: Outline) -> None:
    path = canvas.beginPath()
    first = outline.vertices[0]
    path.moveTo(first.x * MM, first.y * MM)
    for a, b in outline.segments():
        if a.bulge:
            _arc(path, a, b)
        else:
            path.lineTo(b.x * MM, b.y * MM)
    path.close()
    canvas.drawPath(path)


def _arc(path: Any, a: Any, b: Any) -> None:
    """An arc in pieces of at most an eighth turn, each a cubic within 4e-6 of its radius."""
    arc = arc_of(a, b)
    pieces = max(1, math.ceil(abs(arc.sweep) / (math.pi / 4) - 1e-9))
    step = arc.sweep / pieces
    k = 4 / 3 * math.tan(step / 4) * arc.radius
    for n in range(pieces):
        t0, t1 = arc.start + n * step, arc.start + (n + 1) * step
        x0, y0 = arc.cx + arc.radius * math.cos(t0), arc.cy + arc.radius * math.sin(t0)
        x1, y1 = arc.cx + arc.radius * math.cos(t1), arc.cy + arc.radius * math.sin(t1)
        path.curveTo(
            (x0 - k * math.sin(t0)) * MM,
            (y0 + k * math.cos(t0)) * MM,
            (x1 + k * math.sin(t1)) * MM,
            (y1 - k * math.cos(t1)) * MM,
            x1 * MM,
            y1 * MM,
        )
