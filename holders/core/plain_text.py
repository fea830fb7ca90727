"""Text from a file that somebody else may have written: which characters it may hold.

A control character drives a terminal, a newline in a title forges lines of output, and an override of the writing
direction shows a text as another. Letters of every script, joiners and soft hyphens stay.
"""

from __future__ import annotations

import unicodedata

from pydantic import AfterValidator

# Unicode 16, Bidi_Control (PropList.txt): marks, embeddings, overrides, isolates
BIDI = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
NEVER = ("Cc", "Cs", "Zl", "Zp")  # controls, lone surrogates, separators of lines and paragraphs
BYTE_ORDER = "\ufeff"
LINES = "\n\t"


def forbidden(text: str, *, lines: bool = False) -> str | None:
    """The first character that may not stand in a text; None where all may.

    Parameters
    ----------
    text:
        Any text.
    lines:
        Whether it may have several lines, and tabs.
    """
    for char in text:
        if lines and char in LINES:
            continue
        if unicodedata.category(char) in NEVER or char in BIDI or char == BYTE_ORDER or _never_text(char):
            return char
    return None


def escaped(text: str) -> str:
    """The text with every character that could drive a terminal as its escape; line ends stay."""
    return "".join(c if c.isprintable() or c == "\n" else repr(c)[1:-1] for c in text)


def _never_text(char: str) -> bool:
    """Whether it is an invisible tag character, or a code that Unicode keeps from being a character (no XML has it)."""
    code = ord(char)
    return 0xE0000 <= code <= 0xE007F or 0xFDD0 <= code <= 0xFDEF or code & 0xFFFE == 0xFFFE


def _one_line(text: str) -> str:
    return _checked(text, lines=False)


def _prose(text: str) -> str:
    return _checked(text, lines=True)


def _checked(text: str, *, lines: bool) -> str:
    found = forbidden(text, lines=lines)
    if found is not None:
        what = (
            "a line end"
            if found in "\r\n\u2028\u2029"
            else "an invisible character that turns the writing direction"
            if found in BIDI
            else "a control character"
        )
        raise ValueError(
            f"{what} (U+{ord(found):04X}) may not stand in it: remove it, and write plain text"
            + ("" if lines else " on one line")
        )
    return text


# to stand behind the bounds of a pydantic field, which then speak first
ONE_LINE = AfterValidator(_one_line)
PROSE = AfterValidator(_prose)
