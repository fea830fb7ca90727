"""A small SVG canvas in mm: black on white, few line kinds with fixed meanings, the same input the same bytes.

Elements are written as text at once, which is quicker than a tree of elements: the page draws at every change.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal
from xml.etree import ElementTree as ET
from xml.sax.saxutils import escape

from holders.geometry.outline import Outline, Point, arc_of
from holders.output import typeface

SVG = "http://www.w3.org/2000/svg"
FONT = f"{typeface.FAMILY}, sans-serif"
EVEN_ODD = ' fill-rule="evenodd"'

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Pen:
    """A kind of line: width in mm, grey from 0 black to 1 white, dashes in mm."""

    width: float
    grey: float = 0.0
    dash: tuple[float, ...] = ()


# Line widths in the steps of ISO 128-2, wide to narrow 2 : 1; dashes and gaps in line widths as there (12 d and 3 d;
# 24 d, 3 d and a dot of half a width).
EDGE = Pen(0.35)  # edges that one sees
FINE = Pen(0.18)  # lesser edges, lettering
HIDDEN = Pen(0.18, 0.0, (2.16, 0.54))  # edges behind or below
AXIS = Pen(0.18, 0.0, (4.32, 0.54, 0.09, 0.54))  # reference lines: the film's edge, the focus
GHOST = Pen(0.18, 0.35, (4.32, 0.54, 0.09, 0.54, 0.09, 0.54))  # what is not the holder: glass, lamp area
DIMENSION = Pen(0.18)


def number(value: float) -> str:
    """A coordinate with at most three decimals, without a negative zero."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide a text comes out in the drawings' own typeface, mm."""
    return typeface.width(text, size, bold)


@dataclass(frozen=True, slots=True)
class View:
    """How bed coordinates come to the paper: (left, bottom) of the paper is (x0, y0) of the bed; y turns upward."""

    left: float
    bottom: float
    x0: float
    y0: float
    scale_x: float
    scale_y: float

    def at(self, x: float, y: float) -> Point:
        """A point on the paper."""
        return self.left + (x - self.x0) * self.scale_x, self.bottom - (y - self.y0) * self.scale_y


class Picture:
    """A drawing of a given size in mm; y runs down from the top.

    With ``exact`` every text states its length, so that it takes the same room in any viewer's letters.
    """

    def __init__(self, width: float, height: float, exact: bool = False) -> None:
        self.width, self.height = width, height
        self.exact = exact
        self._elements: list[str] = []
        self._letters: dict[bool, set[str]] = {False: set(), True: set()}  # bold or not

    def _add(
        self, tag: str, attributes: str, pen: Pen | None, fill: str = "none", more: str = "", words: str = ""
    ) -> None:
        head = f'<{tag}{attributes} fill="{fill}"{"" if pen is None else _stroke(pen)}{more}'
        self._elements.append(f"{head}>{escape(words)}</{tag}>" if words else f"{head} />")

    def line(self, a: Point, b: Point, pen: Pen = FINE) -> None:
        """A straight line."""
        self._add("path", f' d="M{number(a[0])} {number(a[1])}L{number(b[0])} {number(b[1])}"', pen)

    def strokes(self, lines: Iterable[Sequence[Point]], pen: Pen = FINE) -> None:
        """Open polylines as one element."""
        self._add("path", f' d="{"".join(_polyline(points) for points in lines)}"', pen)

    def polygon(
        self,
        rings: Iterable[Sequence[Point]],
        pen: Pen | None = EDGE,
        fill: str = "none",
        opacity: float = 1.0,
    ) -> None:
        """Closed rings; those inside another are holes. ``opacity`` is the filling's."""
        data = "".join(_polyline(ring) + "Z" for ring in rings)
        more = EVEN_ODD if opacity >= 1.0 else f'{EVEN_ODD} fill-opacity="{number(opacity)}"'
        self._add("path", f' d="{data}"', pen, fill, more)

    def outlines(
        self, outlines: Iterable[Outline], view: View, pen: Pen | None = EDGE, fill: str = "none"
    ) -> None:
        """Closed outlines with true arcs; those inside another are holes. The view's scales must be equal."""
        self._add("path", f' d="{"".join(_outline(o, view) for o in outlines)}"', pen, fill, EVEN_ODD)

    def circle(self, centre: Point, radius: float, pen: Pen | None = FINE, fill: str = "none") -> None:
        """A circle."""
        x, y = number(centre[0]), number(centre[1])
        self._add("circle", f' cx="{x}" cy="{y}" r="{number(radius)}"', pen, fill)

    def text(
        self,
        at: Point,
        words: str,
        size: float = 2.5,
        anchor: Anchor = "start",
        turned: bool = False,
        bold: bool = False,
        halo: bool = False,
    ) -> None:
        """Words with their baseline at ``at``; ``turned`` reads from below; ``halo`` clears the ground behind them."""
        x, y = number(at[0]), number(at[1])
        more = [f' font-size="{number(size)}" font-family="{FONT}" text-anchor="{anchor}"']
        self._letters[bold].update(words)
        if bold:
            more.append(' font-weight="bold"')
        if self.exact and words:
            long = number(text_width(words, size, bold))
            more.append(f' textLength="{long}" lengthAdjust="spacingAndGlyphs"')
        if turned:
            more.append(f' transform="rotate(-90 {x} {y})"')
        if halo:
            more.append(
                f' stroke="#fff" stroke-width="{number(size * 0.35)}" stroke-linejoin="round" paint-order="stroke"'
            )
        self._add("text", f' x="{x}" y="{y}"', None, "#000", "".join(more), words)

    def place(self, other: Picture, x: float, y: float) -> None:
        """Put another picture in, its top left corner at (x, y)."""
        self._elements.append(_group(f' transform="translate({number(x)} {number(y)})"', other._elements))
        for bold, letters in other._letters.items():
            self._letters[bold] |= letters

    def svg(self, title: str, embed: bool = False) -> bytes:
        """The whole picture as an SVG file, its size on paper its size in mm; ``embed`` brings its letters along."""
        style = f"<style>{self.face_rules()}</style>" if embed else ""
        width, height = number(self.width), number(self.height)
        size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
        return (
            '<?xml version="1.0" encoding="UTF-8"?>\n'
            f'<svg xmlns="{SVG}" {size}><title>{escape(title)}</title>{style}{_hatches_text()}'
            f'<rect width="{width}" height="{height}" fill="#fff" />{_group("", self._elements)}</svg>\n'
        ).encode()

    def face_rules(self) -> str:
        """CSS with the letters of the typeface that the picture uses."""
        regular, bold = ("".join(sorted(self._letters[kind])) for kind in (False, True))
        return typeface.face_rules(regular, bold)


def _group(attributes: str, elements: Sequence[str]) -> str:
    return f"<g{attributes}>{''.join(elements)}</g>" if elements else f"<g{attributes} />"


@lru_cache(maxsize=64)
def _stroke(pen: Pen) -> str:
    dash = f' stroke-dasharray="{" ".join(number(d) for d in pen.dash)}"' if pen.dash else ""
    return f' stroke="{shade(pen.grey)}" stroke-width="{number(pen.width)}" stroke-linejoin="round"{dash}'


HATCH_MATERIAL = "url(#material)"
HATCH_OTHER = "url(#other)"
HATCH_BAND = "url(#band)"
HATCH_KEEP = "url(#keep)"


def hatches() -> ET.Element:
    """Fillings: cut material, the focus band, and zones to keep clear."""
    found = ET.Element("defs")
    for name, step, angle, width in (
        ("material", 1.4, 45, 0.16),
        ("other", 1.4, -45, 0.16),
        ("band", 0.9, 0, 0.1),
        ("keep", 2.2, -45, 0.12),
    ):
        pattern = ET.SubElement(
            found,
            "pattern",
            {
                "id": name,
                "width": number(step),
                "height": number(step),
                "patternUnits": "userSpaceOnUse",
                "patternTransform": f"rotate({angle})",
            },
        )
        ET.SubElement(
            pattern, "path", {"d": f"M0 0H{number(step)}", "stroke": "#000", "stroke-width": number(width)}
        )
    return found


@cache
def _hatches_text() -> str:
    return ET.tostring(hatches(), encoding="unicode")


def shade(grey: float) -> str:
    """A grey as a colour: 0 black, 1 white."""
    level = round(255 * grey)
    return f"#{level:02x}{level:02x}{level:02x}"


def _polyline(points: Sequence[Point]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def _outline(outline: Outline, view: View) -> str:
    first = view.at(outline.vertices[0].x, outline.vertices[0].y)
    parts = [f"M{number(first[0])} {number(first[1])}"]
    for a, b in outline.segments():
        x, y = view.at(b.x, b.y)
        if a.bulge:
            arc = arc_of(a, b)
            r = number(arc.radius * view.scale_x)
            large, sweep = int(abs(a.bulge) > 1), int(a.bulge < 0)
            parts.append(f"A{r} {r} 0 {large} {sweep} {number(x)} {number(y)}")
        else:
            parts.append(f"L{number(x)} {number(y)}")
    return "".join(parts) + "Z"
