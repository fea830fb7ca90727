"""Lettering in single strokes: what a laser engraves, a printer grooves and a template shows."""

from __future__ import annotations

from functools import cache, lru_cache
from itertools import pairwise
from typing import Any

from holders.design.model import Rect
from holders.geometry.outline import Point

ASCII = {"×": "x", "–": "-", "—": "-", "°": " deg", "±": "+/-", "µ": "u", "é": "e", "½": "1/2"}
UNIT_HEIGHT = 100.0
CAPITAL = 75.0  # height of this font's capitals when the whole is 100 high
THIN = 1.0  # an I has no width of its own, nor a dash any height
PAD_MM = 1.0


@cache
def _font() -> Any:
    from HersheyFonts import HersheyFonts  # noqa: PLC0415 - only designs with lettering need it

    font = HersheyFonts()
    font.load_default_font("futural")
    font.normalize_rendering(UNIT_HEIGHT)
    return font


def plain(text: str) -> str:
    """The text in the characters that the stroke font has; anything else becomes a question mark, never vanishes."""
    mapped = "".join(ASCII.get(c, c) for c in text)
    return "".join(c if " " <= c <= "~" else "?" for c in mapped)


@lru_cache(maxsize=256)
def _unit_strokes(text: str) -> tuple[tuple[Point, ...], ...]:
    strokes = [tuple((float(x), float(y)) for x, y in stroke) for stroke in _font().strokes_for_text(text)]
    return tuple(stroke for stroke in strokes if len(stroke) > 1)


@lru_cache(maxsize=256)
def _unit_box(text: str) -> tuple[float, float, float, float]:
    strokes = _unit_strokes(text)
    xs = [x for stroke in strokes for x, _ in stroke]
    ys = [y for stroke in strokes for _, y in stroke]
    return min(xs), min(ys), max(xs), max(ys)


@lru_cache(maxsize=256)  # most of a holder's lettering stays where it is when a number changes
def strokes_in(
    text: str, rect: Rect, height_mm: float, least_mm: float
) -> tuple[tuple[Point, ...], ...] | None:
    """The text's strokes centred in ``rect``, upright or turned a quarter left when the rectangle is tall.

    The height of capitals is ``height_mm`` or what fits, never under ``least_mm``: then None.
    """
    words = plain(text)
    unit = _unit_strokes(words)
    if not unit:
        return None
    x0, y0, x1, y1 = _unit_box(words)
    tall = rect.height > rect.width
    width, height = (rect.height, rect.width) if tall else (rect.width, rect.height)
    fits = min(
        (width - 2 * PAD_MM) / max(x1 - x0, THIN), (height - 2 * PAD_MM) / max(y1 - y0, THIN)
    ) * CAPITAL  # fmt: skip
    size = min(height_mm, fits)
    if size < least_mm:
        return None
    scale = size / CAPITAL
    cx, cy = rect.x + rect.width / 2, rect.y + rect.height / 2
    mx, my = (x0 + x1) / 2, (y0 + y1) / 2

    def put(point: Point) -> Point:
        dx, dy = (point[0] - mx) * scale, (point[1] - my) * scale
        return (cx - dy, cy + dx) if tall else (cx + dx, cy + dy)

    return tuple(_thinned([put(p) for p in stroke]) for stroke in unit)


def _thinned(stroke: list[Point]) -> tuple[Point, ...]:
    """Without repeated points, which a cutter would dwell on."""
    kept = [stroke[0]] + [b for a, b in pairwise(stroke) if abs(a[0] - b[0]) + abs(a[1] - b[1]) > 1e-6]
    return tuple(kept)
