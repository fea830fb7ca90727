"""Text that reaches every terminal and pipe, whatever characters its encoding lacks.

A redirected command on Windows writes in the system's code page (1252 in western Europe, 437 on an older console),
which has no "≥". Such a sign is written as its usual ASCII substitute, a letter without its accent, and what has
neither as its code in backslash notation, so that no output is lost and no command ends in a traceback.
"""

from __future__ import annotations

import codecs
import sys
import unicodedata
from contextlib import suppress
from io import TextIOWrapper

HANDLER = "holders.substitute"
SUBSTITUTES = {
    "≥": ">=", "≤": "<=", "≈": "~", "≠": "!=", "±": "+/-", "×": "x", "·": "*", "÷": "/", "−": "-", "–": "-",
    "—": "-", "‐": "-", "‑": "-", "…": "...", "→": "->", "←": "<-", "↔": "<->", "°": " deg ", "µ": "u", "μ": "u",
    "Δ": "delta ", "α": "alpha", "β": "beta", "κ": "kappa", "λ": "lambda", "ν": "nu", "ρ": "rho", "σ": "sigma",
    "“": '"', "”": '"', "„": '"', "‘": "'", "’": "'", "«": '"', "»": '"', "•": "*", "√": "sqrt", "∞": "inf",
    "²": "^2", "³": "^3", "⁴": "^4", "½": "1/2", "¼": "1/4", "¾": "3/4", "ß": "ss", "æ": "ae", "ø": "o",
    "\u00a0": " ", "\u2009": " ", "\u202f": " ", "\u00ad": "",
}  # fmt: skip


def substitute(char: str) -> str:
    """ASCII in place of a character that the encoding lacks."""
    if char in SUBSTITUTES:
        return SUBSTITUTES[char]
    if 0x2800 <= ord(char) < 0x2900:  # the dots of a progress sign
        return "*"
    if 0x2500 <= ord(char) < 0x2580:  # lines of a table
        return "|" if char in "│┃║" else "-"
    plain = "".join(c for c in unicodedata.normalize("NFKD", char) if c.isascii())
    return plain or char.encode("ascii", "backslashreplace").decode("ascii")


def _handler(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(substitute, error.object[error.start : error.end])), error.end


def safe_streams() -> None:
    """Standard output and error of this process write every text from now on."""
    codecs.register_error(HANDLER, _handler)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a test's or a window's own stream looks after itself
            with suppress(OSError, ValueError):  # closed
                stream.reconfigure(errors=HANDLER)
