"""TOML from a file that somebody else may have written: bounded before it is parsed.

The parser of the standard library takes time and memory that grow with the square of a key's depth (64 KB of
``a.a.a=1`` take gigabytes), and calls itself for every nested bracket. What holders reads is flat, so depth, length and
number of keys are bounded here in one pass over the text, in time that grows with its length alone.
"""

from __future__ import annotations

import re
import tomllib
from typing import Any

MOST_DOTS = 8  # in one key
MOST_DEPTH = 8  # of brackets
MOST_WORD = 512  # characters of a bare key or a number
MOST_KEYS = 2000

# strings and comments, whole; a string that never ends reaches to the end of its line or of the text
_TEXT = re.compile(
    r'"""(?:[^"\\]|\\.|"(?!""))*+(?:"""|\Z)'
    r"|'''(?:[^']|'(?!''))*+(?:'''|\Z)"
    r'|"(?:[^"\\\n]|\\[^\n])*+"?'
    r"|'[^'\n]*+'?"
    r"|#[^\n]*+",
    re.DOTALL,
)
_DOTTED = re.compile(r"[\w-]++(?:[ \t]*+\.[ \t]*+[\w-]++)*+")
_WORD = re.compile(rf"[^\s=\[\]{{}},.]{{{MOST_WORD + 1}}}")


class TooDeep(ValueError):
    """A TOML text that is not parsed: what is too much of it, in words."""


def parsed(text: str, most_keys: int = MOST_KEYS) -> dict[str, Any]:
    """The document in a TOML text.

    Raises
    ------
    TooDeep
        When keys are too deep, too long or too many, or brackets nest too deeply.
    tomllib.TOMLDecodeError
        When it is no TOML.
    ValueError
        For a number with more digits than Python reads.
    """
    bound(text, most_keys)
    return tomllib.loads(text)


def quoted(text: str) -> str:
    """A text as a basic string, in which every sign that does not print is escaped."""
    plain = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in plain) + '"'


def bound(text: str, most_keys: int = MOST_KEYS) -> None:
    """Raise ``TooDeep`` for a text that is not worth parsing; see :func:`parsed`."""
    bare = _TEXT.sub(lambda found: "" if found[0].startswith("#") else "s", text)
    if any(found[0].count(".") > MOST_DOTS for found in _DOTTED.finditer(bare)):
        raise TooDeep(f"a key of more than {MOST_DOTS} dots")
    if _WORD.search(bare):
        raise TooDeep(f"a key or number of more than {MOST_WORD} characters")
    if bare.count("=") + bare.count("[") > most_keys:
        raise TooDeep(f"more than {most_keys} keys")
    depth = 0
    for bracket in re.findall(r"[\[\]{}]", bare):
        depth = depth + 1 if bracket in "[{" else max(0, depth - 1)
        if depth > MOST_DEPTH:
            raise TooDeep(f"brackets nested more than {MOST_DEPTH} deep")
