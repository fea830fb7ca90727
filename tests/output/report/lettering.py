"""Reads a drawing back from its SVG: the room that each text takes, every line, and what crosses what."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import shapely
from fontTools.ttLib import TTFont
from shapely import STRtree

from holders.output.typeface import BOLD, REGULAR, SPARE, font_file

NS = "{http://www.w3.org/2000/svg}"
SLACK_MM = 0.02  # rounding of coordinates
DARK = 0x99


@dataclass(frozen=True)
class Lettered:
    """A text, the room that its ink takes, and the height of its capitals, mm."""

    words: str
    room: shapely.Polygon
    capitals_mm: float


@dataclass(frozen=True)
class Drawn:
    """All texts, and all else: (shape, half the width of its line)."""

    texts: tuple[Lettered, ...]
    lines: tuple[tuple[shapely.Geometry, float], ...]


@cache
def font(name: str) -> tuple[TTFont, dict[int, str]]:
    """A font's own tables, read by another library than the one that measured for the drawing."""
    face = TTFont(io.BytesIO(font_file(name).read_bytes()))
    return face, face.getBestCmap()


@cache
def ink(words: str, bold: bool) -> tuple[float, float, float]:
    """Width, highest and lowest ink of a text, as shares of the body; what the typeface lacks is the spare font's."""
    wide, high, low = 0.0, 0.0, 0.0
    for char in words:
        own = BOLD if bold else REGULAR
        face, names = next(found for name in (own, SPARE[own]) if ord(char) in (found := font(name))[1])
        unit, name = face["head"].unitsPerEm, names[ord(char)]
        wide += face["hmtx"][name][0] / unit
        box = face["glyf"][name]
        if box.numberOfContours:
            high, low = max(high, box.yMax / unit), min(low, box.yMin / unit)
    return wide, high, low


def capital_share(bold: bool) -> float:
    """Height of a flat capital as a share of the body, by the font's own outlines."""
    face, _ = font(BOLD if bold else REGULAR)
    return float(face["glyf"]["H"].yMax) / face["head"].unitsPerEm


def read(svg: bytes) -> Drawn:
    """A drawing taken apart."""
    texts: list[Lettered] = []
    lines: list[tuple[shapely.Geometry, float]] = []
    for element, dx, dy in _elements(ET.fromstring(svg)):
        tag = element.tag.removeprefix(NS)
        if tag == "text":
            texts.append(_text(element, dx, dy))
        elif tag in ("path", "circle"):
            lines += _lines(element, dx, dy)
    return Drawn(tuple(texts), tuple(lines))


def _elements(
    root: ET.Element, dx: float = 0.0, dy: float = 0.0
) -> Iterator[tuple[ET.Element, float, float]]:
    for element in root:
        if element.tag == f"{NS}defs":
            continue
        shift = re.match(r"translate\(([-\d.]+) ([-\d.]+)\)", element.get("transform", ""))
        x, y = (dx + float(shift[1]), dy + float(shift[2])) if shift else (dx, dy)
        yield element, x, y
        yield from _elements(element, x, y)


def _text(element: ET.Element, dx: float, dy: float) -> Lettered:
    words, size = element.text or "", float(element.get("font-size", 0))
    bold = element.get("font-weight") == "bold"
    wide, top, low = ink(words, bold)
    x, y = float(element.get("x", 0)), float(element.get("y", 0))
    start = {"middle": -wide / 2, "end": -wide}.get(element.get("text-anchor", "start"), 0.0) * size
    room = shapely.box(x + start, y - top * size, x + start + wide * size, y - low * size)
    if "rotate(-90" in element.get("transform", ""):
        room = shapely.affinity.rotate(room, -90, origin=(x, y))
    return Lettered(words, shapely.affinity.translate(room, dx, dy), size * capital_share(bold))


def _lines(element: ET.Element, dx: float, dy: float) -> list[tuple[shapely.Geometry, float]]:
    fill, pen = element.get("fill", "none"), element.get("stroke")
    shapes = _shapes(element, dx, dy)
    found: list[tuple[shapely.Geometry, float]] = []
    if pen is not None:
        found += [(shape, float(element.get("stroke-width", 0)) / 2) for shape in shapes]
    if fill.startswith("url(") or (
        re.fullmatch(r"#[0-9a-f]{3,6}", fill) and int(fill[1:3] * 2, 16) >> 8 < DARK
    ):
        found += [(shapely.Polygon(s.coords), 0.0) for s in shapes if len(s.coords) > 3]
    return found


def _shapes(element: ET.Element, dx: float, dy: float) -> list[shapely.LineString]:
    if element.tag == f"{NS}circle":
        cx, cy, r = (float(element.get(k, 0)) for k in ("cx", "cy", "r"))
        return [shapely.LineString(shapely.Point(cx + dx, cy + dy).buffer(r, quad_segs=16).exterior.coords)]
    found, run = [], []
    for name, numbers in re.findall(r"([MLAZ])([^MLAZ]*)", element.get("d", "")):
        values = [float(v) for v in re.findall(r"-?\d*\.?\d+", numbers)]
        if name == "M":
            if len(run) > 1:
                found.append(run)
            run = [(values[0] + dx, values[1] + dy)]
        elif name == "L":
            run.append((values[0] + dx, values[1] + dy))
        elif name == "A":  # small corner arcs: their chord, and their outermost point is within the radius
            run += _arc(
                run[-1], (values[5] + dx, values[6] + dy), values[0], bool(values[3]), bool(values[4])
            )
        elif run:
            run.append(run[0])
    if len(run) > 1:
        found.append(run)
    return [shapely.LineString(points) for points in found]


def _arc(a: tuple[float, float], b: tuple[float, float], r: float, large: bool, sweep: bool):  # type: ignore[no-untyped-def]
    chord = np.hypot(b[0] - a[0], b[1] - a[1])
    if chord < 1e-9:
        return [b]
    off = np.sqrt(max(0.0, r * r - chord * chord / 4)) * (-1 if large == sweep else 1)
    cx = (a[0] + b[0]) / 2 - off * (b[1] - a[1]) / chord
    cy = (a[1] + b[1]) / 2 + off * (b[0] - a[0]) / chord
    start, end = (np.arctan2(p[1] - cy, p[0] - cx) for p in (a, b))
    turn = (end - start) % (2 * np.pi) if sweep else -((start - end) % (2 * np.pi))
    return [
        (cx + r * np.cos(start + turn * k / 8), cy + r * np.sin(start + turn * k / 8)) for k in range(1, 9)
    ]


def crossings(drawn: Drawn) -> list[str]:
    """What lettering meets a line, a dark or hatched surface, or other lettering, in words."""
    rooms = [text.room.buffer(-SLACK_MM, join_style="mitre") for text in drawn.texts]
    found = []
    if not rooms:
        return found
    tree = STRtree(rooms)
    for a, b in zip(*tree.query(rooms, predicate="intersects"), strict=True):
        if a < b:
            found.append(f"{drawn.texts[a].words!r} meets {drawn.texts[b].words!r}")
    for shape, half in drawn.lines:
        for k in tree.query(shape.buffer(half) if half else shape, predicate="intersects"):
            found.append(f"{drawn.texts[k].words!r} is crossed at {shape.bounds}")
    return found


def smallest(drawn: Drawn) -> float:
    """The least height of capitals, mm."""
    return min(text.capitals_mm for text in drawn.texts)


def outside(drawn: Drawn, width: float, height: float, border: float) -> list[str]:
    """Lettering beyond the border of the sheet."""
    inner = shapely.box(border, border, width - border, height - border)
    return [text.words for text in drawn.texts if not inner.contains(text.room)]


def svg_of(path: Path) -> Drawn:
    """A drawing from a file."""
    return read(path.read_bytes())
