"""Lettering of the workshop drawing: its sizes by ISO 3098-1, words in lines, places in a row that do not touch."""

from __future__ import annotations

import re
from collections.abc import Sequence

from holders.output.draw.canvas import text_width
from holders.output.typeface import BELOW, CAPITAL, body_mm

SMALL, MIDDLE, LARGE = 2.5, 3.5, 5.0  # heights of capitals, mm: steps of ISO 3098-1
TEXT, HEAD, TITLE = body_mm(SMALL), body_mm(MIDDLE), body_mm(LARGE)
LINE = 4.9  # from line to line of small lettering
PITCH = TEXT * (CAPITAL + BELOW) + 0.6  # from one line of running dimensions to the next

WORD = re.compile(r"[(]?[\d.]+ (?:mm²?|%|°C|[ghN])(?![\w²])\S*|\S+")


def wrapped(words: str, width: float, size: float, bold: bool = False) -> list[str]:
    """Words as lines no wider than ``width``; a word that is wider by itself is cut short with an ellipsis.

    A number and its unit stay together.
    """
    lines: list[str] = []
    line = ""
    for word in WORD.findall(words):
        longer = f"{line} {word}".strip()
        if line and text_width(longer, size, bold) > width:
            lines.append(line)
            line = fitted(word, width, size, bold)
        else:
            line = fitted(longer, width, size, bold)
    return [*lines, line] if line else lines


def fitted(words: str, width: float, size: float, bold: bool = False) -> str:
    """A text cut short with an ellipsis so that it stays within ``width``."""
    if text_width(words, size, bold) <= width:
        return words
    room = width - text_width("…", size, bold)
    keep = len(words)
    while keep > 1 and text_width(words[:keep], size, bold) > room:
        keep -= 1
    return words[:keep].rstrip() + "…"


def spread(wanted: Sequence[float], pitch: float, low: float, high: float) -> list[float]:
    """Places as near as can be to the wanted ones (ascending), ``pitch`` apart and within [low, high].

    Blocks of touching places are moved together to the mean of what their members want (pooling adjacent violators).
    Where the row is too short for all of them they stand closer than ``pitch``, evenly over it.
    """
    count = len(wanted)
    if count and pitch * (count - 1) > high - low:
        return [low + (high - low) * k / max(count - 1, 1) for k in range(count)]
    blocks: list[tuple[float, int]] = []  # mean of (wanted - k pitch), members
    for k, place in enumerate(wanted):
        mean, size = place - k * pitch, 1
        while blocks and blocks[-1][0] > mean:
            other, many = blocks.pop()
            mean, size = (mean * size + other * many) / (size + many), size + many
        blocks.append((mean, size))
    last = high - (count - 1) * pitch
    flat = [min(max(mean, low), last) for mean, size in blocks for _ in range(size)]
    return [place + k * pitch for k, place in enumerate(flat)]
