"""Our own drawings replayed on a PDF canvas: the few SVG elements that ``draw.canvas.Picture`` writes, no others."""

from __future__ import annotations

import math
import re
from typing import Any
from xml.etree import ElementTree as ET

from holders.output.formats import letters

NAMESPACE = "{http://www.w3.org/2000/svg}"
MM = 72 / 25.4
TOKEN = re.compile(r"[MLAZ]|-?\d*\.?\d+(?:e-?\d+)?")
HATCHES = {
    "url(#material)": (1.4, 45.0, 0.16),
    "url(#other)": (1.4, -45.0, 0.16),
    "url(#band)": (0.9, 0.0, 0.1),
    "url(#keep)": (2.2, -45.0, 0.12),
}
EVEN_ODD = 0
ROUND_JOIN = 1
Point = tuple[float, float]


def body_of(svg: bytes) -> ET.Element:
    """The drawing's own group, without head, ground and namespace."""
    root = ET.fromstring(svg)
    for element in root.iter():
        element.tag = element.tag.removeprefix(NAMESPACE)
    return root.findall("g")[-1]


def sized(svg: bytes) -> tuple[float, float]:
    """Width and height of a drawing, mm."""
    _, _, width, height = (float(v) for v in ET.fromstring(svg).attrib["viewBox"].split())
    return width, height


def replay(canvas: Any, svg: bytes, left: float, top: float, scale: float) -> None:
    """Draw a picture with its top left corner at (left, top), in points; ``scale`` is paper mm per mm.

    Raises ``ValueError`` for an element that ``Picture`` does not write.
    """
    canvas.saveState()
    canvas.translate(left, top)
    canvas.scale(scale * MM, -scale * MM)
    canvas.setLineJoin(ROUND_JOIN)
    for element in body_of(svg):
        _element(canvas, element)
    canvas.restoreState()


def _element(canvas: Any, element: ET.Element) -> None:
    if element.tag == "g":
        x, y = (float(v) for v in re.findall(r"-?[\d.]+", element.get("transform", "translate(0 0)")))
        canvas.saveState()
        canvas.translate(x, y)
        for child in element:
            _element(canvas, child)
        canvas.restoreState()
    elif element.tag == "path":
        _paint(canvas, element, _path(canvas, element.attrib["d"]), _corners(element.attrib["d"]))
    elif element.tag == "circle":
        cx, cy, r = (float(element.attrib[k]) for k in ("cx", "cy", "r"))
        path = canvas.beginPath()
        path.circle(cx, cy, r)
        _paint(canvas, element, path, [(cx - r, cy - r), (cx + r, cy + r)])
    elif element.tag == "text":
        _text(canvas, element)
    else:
        raise ValueError(f"a drawing with <{element.tag}> cannot be put into a PDF")


def _paint(canvas: Any, element: ET.Element, path: Any, corners: list[Point]) -> None:
    fill, stroke = element.get("fill", "none"), element.get("stroke")
    canvas.saveState()
    if fill in HATCHES:
        canvas.saveState()
        canvas.clipPath(path, stroke=0, fill=0, fillMode=EVEN_ODD)
        _hatch(canvas, corners, *HATCHES[fill])
        canvas.restoreState()
    elif fill != "none":
        canvas.setFillColorRGB(*_colour(fill), alpha=float(element.get("fill-opacity", "1")))
    if stroke is not None:
        canvas.setStrokeColorRGB(*_colour(stroke))
        canvas.setLineWidth(float(element.get("stroke-width", "0.2")))
        dash = element.get("stroke-dasharray")
        if dash:
            canvas.setDash([float(v) for v in dash.split()])
    solid = fill not in HATCHES and fill != "none"
    if solid or stroke is not None:
        canvas.drawPath(path, stroke=int(stroke is not None), fill=int(solid), fillMode=EVEN_ODD)
    canvas.restoreState()


def _hatch(canvas: Any, corners: list[Point], step: float, angle: float, width: float) -> None:
    """Parallel lines over the box of the corners, ``angle`` degrees turned."""
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    box = [(x, y) for x in (min(xs), max(xs)) for y in (min(ys), max(ys))]
    across = [-x * sin + y * cos for x, y in box]
    along = [x * cos + y * sin for x, y in box]
    canvas.setStrokeGray(0)
    canvas.setLineWidth(width)
    for k in range(math.floor(min(across) / step), math.ceil(max(across) / step) + 1):
        v = k * step
        a, b = min(along), max(along)
        canvas.line(a * cos - v * sin, a * sin + v * cos, b * cos - v * sin, b * sin + v * cos)


def _text(canvas: Any, element: ET.Element) -> None:
    words = element.text or ""
    size = float(element.attrib["font-size"])
    font = letters.BOLD if element.get("font-weight") == "bold" else letters.SANS
    canvas.saveState()
    canvas.translate(float(element.attrib["x"]), float(element.attrib["y"]))
    if element.get("transform"):
        canvas.rotate(-90)
    canvas.scale(1, -1)
    wide = letters.width(words, font, size)
    start = {"middle": -wide / 2, "end": -wide}.get(element.get("text-anchor", "start"), 0.0)
    if element.get("paint-order"):
        canvas.setStrokeGray(1)
        canvas.setLineWidth(float(element.attrib["stroke-width"]))
        letters.draw(canvas, start, 0, words, font, size, mode=1)
    canvas.setFillGray(0)
    letters.draw(canvas, start, 0, words, font, size, mode=0)
    canvas.restoreState()


def _colour(colour: str) -> tuple[float, float, float]:
    """``#rgb`` or ``#rrggbb`` as shares of red, green and blue."""
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(c * 2 for c in digits)
    red, green, blue = (int(digits[k : k + 2], 16) / 255 for k in (0, 2, 4))
    return red, green, blue


def commands(data: str) -> list[tuple[str, list[float]]]:
    """A path's commands with their numbers. Raises ``ValueError`` for commands that ``Picture`` does not write."""
    if re.search(r"[a-zBCDFGHIJKN-XQ]", data.replace("e-", "")):
        raise ValueError(f"unknown path command in {data[:40]!r}")
    found: list[tuple[str, list[float]]] = []
    for token in TOKEN.findall(data):
        if token in "MLAZ":
            found.append((token, []))
        else:
            found[-1][1].append(float(token))
    return found


def _corners(data: str) -> list[Point]:
    return [(n[-2], n[-1]) for name, n in commands(data) if name != "Z"]


def _path(canvas: Any, data: str) -> Any:
    path, at = canvas.beginPath(), (0.0, 0.0)
    for name, n in commands(data):
        if name == "Z":
            path.close()
            continue
        to = (n[-2], n[-1])
        if name == "M":
            path.moveTo(*to)
        elif name == "L":
            path.lineTo(*to)
        else:
            for c1, c2, end in arc_curves(at, to, n[0], bool(n[3]), bool(n[4])):
                path.curveTo(*c1, *c2, *end)
        at = to
    return path


def arc_curves(
    a: Point, b: Point, radius: float, large: bool, sweep: bool
) -> list[tuple[Point, Point, Point]]:
    """A circular arc as cubic curves of at most a quarter turn (SVG 1.1, appendix F.6, from memory)."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    chord = math.hypot(dx, dy)
    if chord < 1e-9:
        return []
    radius = max(radius, chord / 2)
    off = math.sqrt(max(0.0, radius**2 - chord**2 / 4)) * (-1 if large == sweep else 1)
    cx, cy = (a[0] + b[0]) / 2 - off * dy / chord, (a[1] + b[1]) / 2 + off * dx / chord
    start = math.atan2(a[1] - cy, a[0] - cx)
    turn = math.atan2(b[1] - cy, b[0] - cx) - start
    if sweep and turn < 0:
        turn += 2 * math.pi
    elif not sweep and turn > 0:
        turn -= 2 * math.pi
    pieces = max(1, math.ceil(abs(turn) / (math.pi / 2) - 1e-9))
    step = turn / pieces
    k = 4 / 3 * math.tan(step / 4) * radius
    found = []
    for i in range(pieces):
        t0, t1 = start + i * step, start + (i + 1) * step
        p0 = (cx + radius * math.cos(t0), cy + radius * math.sin(t0))
        p1 = (cx + radius * math.cos(t1), cy + radius * math.sin(t1))
        c1 = (p0[0] - k * math.sin(t0), p0[1] + k * math.cos(t0))
        c2 = (p1[0] + k * math.sin(t1), p1[1] - k * math.cos(t1))
        found.append((c1, c2, p1))
    return found
