"""Letters of any title on paper: the PDF's own fonts where they have them, an embedded font where they lack one.

The built-in fonts of PDF have the letters of one code page (1252). The others are taken from the DejaVu fonts, which
the package matplotlib brings as files: Latin, Greek, Cyrillic, Armenian, Georgian and signs. What they lack too, and
scripts whose letters join or run from right to left (which need shaping that is not done here), stand as an empty box,
and :func:`not_shown` says which they are.
"""

from __future__ import annotations

import importlib.util
import unicodedata
from collections.abc import Iterator
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

BOX = "\u25a1"
FILES = {
    "Helvetica": "DejaVuSans",
    "Helvetica-Bold": "DejaVuSans-Bold",
    "Helvetica-Oblique": "DejaVuSans-Oblique",
    "Courier": "DejaVuSansMono",
}
SHAPED = ("R", "AL", "AN")  # Unicode's bidirectional classes of what runs from right to left


def runs(text: str, font: str) -> Iterator[tuple[str, str]]:
    """The text in pieces, each with the font that has its letters: ``font`` (a built-in one) or its stand-in."""
    for other, letters in groupby(text, lambda char: not _built_in(char)):
        words = "".join(letters)
        yield (_stand_in(font), "".join(map(_shown, words))) if other else (font, words)


def markup(text: str, font: str) -> str:
    """The text as a paragraph of reportlab takes it."""
    return "".join(
        escape(words) if name == font else f'<font name="{name}">{escape(words)}</font>'
        for name, words in runs(text, font)
    )


def width(text: str, font: str, size: float) -> float:
    """How wide it is, points."""
    from reportlab.pdfbase.pdfmetrics import stringWidth  # noqa: PLC0415 - only where paper is drawn

    return float(sum(stringWidth(words, name, size) for name, words in runs(text, font)))


def draw(canvas: Any, x: float, y: float, text: str, font: str, size: float, mode: int | None = None) -> None:
    """Write one line on a canvas of reportlab; places in points."""
    for name, words in runs(text, font):
        canvas.setFont(name, size)
        canvas.drawString(x, y, words, mode=mode)
        x += width(words, name, size) if name == font else canvas.stringWidth(words, name, size)


def not_shown(text: str) -> str:
    """The letters of a text that stand as boxes on paper, each once, in their order."""
    return "".join(
        dict.fromkeys(char for char in text if not _built_in(char) and _shown(char) == BOX != char)
    )


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


def _built_in(char: str) -> bool:
    if "\x20" <= char < "\x7f" or char in "\n\t":
        return True
    try:
        return char.encode("cp1252") >= b"\xa0" or char in "€‚ƒ„…†‡ˆ‰Š‹ŒŽ‘’“”•–—˜™š›œžŸ"
    except UnicodeEncodeError:
        return False


def _shown(char: str) -> str:
    joins = unicodedata.bidirectional(char) in SHAPED or unicodedata.category(char) in ("Mn", "Mc", "Cf")
    return char if not joins and ord(char) in _glyphs() else BOX


@cache
def _glyphs() -> frozenset[int]:
    return frozenset(_font(FILES["Helvetica"]).face.charToGlyph) & frozenset(
        _font(FILES["Courier"]).face.charToGlyph
    )


def _stand_in(font: str) -> str:
    name = FILES[font]
    _font(name)
    return name


@cache
def _font(name: str) -> Any:
    """A DejaVu font, known to reportlab from now on under its own name."""
    from reportlab.pdfbase import pdfmetrics  # noqa: PLC0415 - only where paper is drawn
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415

    found = TTFont(name, str(_folder() / f"{name}.ttf"))
    pdfmetrics.registerFont(found)
    return found


@cache
def _folder() -> Path:
    """Where the package keeps its fonts; nothing of it is imported, which would take a second."""
    spec = importlib.util.find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("matplotlib, whose fonts are needed, is not installed")
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
