"""Letters on paper: every word of a PDF is set in fonts that the file carries.

They are those of the typeface (:mod:`holders.output.typeface`) and, for what it lacks, the DejaVu fonts: Latin, Greek,
Cyrillic, Armenian, Georgian and signs. What both lack, and scripts whose letters join or run from right to left (which
need shaping that is not done here), stand as an empty box, and :func:`not_shown` says which they are.
"""

from __future__ import annotations

import unicodedata
from functools import cache
from typing import IO, Any
from xml.sax.saxutils import escape

from holders.output import typeface
from holders.output.typeface import SPARE, font_file, letters_of, runs

BOX = "\u25a1"
SANS, BOLD, ITALIC, MONO = typeface.REGULAR, typeface.BOLD, typeface.ITALIC, typeface.MONO
MONO_WIDTH = 0.602  # every letter of the last, as a share of its size
SHAPED = ("R", "AL", "AN")  # Unicode's bidirectional classes of what runs from right to left


def canvas_for(out: IO[bytes]) -> Any:
    """A canvas of reportlab whose every font is embedded and whose bytes are the same each time."""
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415 - only where paper is drawn

    load_fonts()
    canvas = Canvas(out, invariant=1, pageCompression=1, initialFontName=SANS)
    canvas.setCreator("holders")
    return canvas


def load_fonts() -> None:
    """Make all fonts known to reportlab, under their own names."""
    from reportlab.pdfbase.pdfmetrics import registerFontFamily  # noqa: PLC0415

    for name in (*SPARE, *SPARE.values(), MONO):
        _font(name)
    registerFontFamily(SANS, normal=SANS, bold=BOLD, italic=ITALIC, boldItalic=BOLD)


def shown(text: str) -> str:
    """The text with a box for each letter that is not shown."""
    return "".join(map(_shown, text))


def markup(text: str, font: str = SANS) -> str:
    """The text as a paragraph of reportlab in that font takes it."""
    return "".join(
        escape(part) if name == font else f'<font name="{name}">{escape(part)}</font>'
        for name, part in runs(shown(text), font)
    )


def width(text: str, font: str, size: float) -> float:
    """How wide it is, points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth  # noqa: PLC0415 - only where paper is drawn

    return sum(float(stringWidth(part, _font(name).fontName, size)) for name, part in runs(shown(text), font))


def draw(canvas: Any, x: float, y: float, text: str, font: str, size: float, mode: int | None = None) -> None:
    """Write one line on a canvas of reportlab; places in points."""
    line = canvas.beginText(x, y)
    if mode is not None:
        line.setTextRenderMode(mode)
    for name, part in runs(shown(text), font):
        line.setFont(_font(name).fontName, size)
        line.textOut(part)
    if mode is not None:
        line.setTextRenderMode(0)
    canvas.drawText(line)


def not_shown(text: str) -> str:
    """The letters of a text that stand as boxes on paper, each once, in their order."""
    return "".join(dict.fromkeys(char for char in text if _shown(char) == BOX != char))


def words_on(text: str, where: str) -> str:
    """What paper says of letters that it cannot show; "" where it shows all."""
    lost = not_shown(text)
    if not lost:
        return ""
    names = sorted({unicodedata.name(char, "").split(" ")[0].capitalize() for char in lost} - {""})
    kinds = f" ({', '.join(names[:4])})" if names else ""
    many = "1 letter" if len(lost) == 1 else f"{len(lost)} different letters"
    return (
        f"{many}{kinds} in no font that comes with holders: an empty box {BOX} stands for each here; {where}."
    )


def _shown(char: str) -> str:
    joins = unicodedata.bidirectional(char) in SHAPED or unicodedata.category(char) in ("Mn", "Mc", "Cf")
    return char if char in "\n\t" or (not joins and ord(char) in _glyphs()) else BOX


@cache
def _glyphs() -> frozenset[int]:
    return (letters_of(SANS) | letters_of(SPARE[SANS])) & letters_of(MONO)


@cache
def _font(name: str) -> Any:
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - only where paper is drawn
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415

    found = TTFont(name, str(font_file(name)))
    pdfmetrics.registerFont(found)
    return found
