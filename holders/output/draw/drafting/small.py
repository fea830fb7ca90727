"""Small pictures for the steps of making: one glance says what the words beside it are about."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np

from holders.design.model import Design, Role
from holders.design.parts.sections import area_of
from holders.geometry.outline import Point
from holders.output.draw.canvas import EDGE, FINE, HATCH_MATERIAL, HATCH_OTHER, Pen, Picture, View
from holders.output.draw.drafting.shapes import frame_slabs
from holders.output.draw.plan import plain

WIDE, HIGH = 22.0, 15.0
BOLD = Pen(0.5)
GREY, PALE, BLACK = "#b4b4b4", "#e6e6e6", "#000"
ARROW_MM = 1.6
TIP_MM = 0.2  # of a catch's nose
LETTERS_MM = 2.8

Box = tuple[float, float, float, float]


def small(kind: str, design: Design) -> Picture:
    """The picture of one kind of step; every kind that the steps use is here.

    Raises ``KeyError`` for a kind that is not.
    """
    picture = Picture(WIDE, HIGH)
    PICTURES[kind](picture, design)
    return picture


def _box(picture: Picture, box: Box, pen: Pen | None = FINE, fill: str = "none") -> None:
    x0, y0, x1, y1 = box
    picture.polygon([[(x0, y0), (x1, y0), (x1, y1), (x0, y1)]], pen, fill)


def _arrow(picture: Picture, a: Point, b: Point, pen: Pen = FINE) -> None:
    """An arrow along x or y."""
    picture.line(a, b, pen)
    dx, dy = b[0] - a[0], b[1] - a[1]
    long = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / long, dy / long
    back = (b[0] - ARROW_MM * ux, b[1] - ARROW_MM * uy)
    side = ARROW_MM * 0.3
    wings = [(back[0] - uy * side, back[1] + ux * side), (back[0] + uy * side, back[1] - ux * side)]
    picture.polygon([[b, *wings]], None, BLACK)


def _frame(picture: Picture, design: Design, box: Box, fill: str = "#fff") -> View:
    """The holder from above as large as a box takes it."""
    x0, y0, x1, y1 = box
    o = design.outer
    scale = min((x1 - x0) / o.width, (y1 - y0) / o.height)
    left, bottom = (x0 + x1 - o.width * scale) / 2, (y0 + y1 + o.height * scale) / 2
    view = View(left, bottom, o.x, o.y, scale, scale)
    outer = [slab.region.outer for slab in frame_slabs(design)[:1]] if not design.seams else [plain(o)]
    picture.outlines([*outer, *(plain(w.opening) for w in design.windows)], view, FINE, fill)
    return view


def _plate(picture: Picture, design: Design) -> None:
    _box(picture, (3, 0.5, 19, 14.5), FINE, PALE)
    for k in range(1, 4):
        picture.line((3 + 4 * k, 0.5), (3 + 4 * k, 14.5), Pen(0.1, 0.6))
        picture.line((3, 0.5 + 3.5 * k), (19, 0.5 + 3.5 * k), Pen(0.1, 0.6))
    _frame(picture, design, (4.5, 1.5, 17.5, 13.5))


def _layers(picture: Picture, _: Design) -> None:
    picture.line((1, 13.5), (21, 13.5), BOLD)
    for k in range(4):
        high = 2.4 if k == 0 else 1.8
        y = 13.2 - (0 if k == 0 else 2.4 + 1.8 * (k - 1))
        _box(picture, (4, y - high, 14 - 2 * (k == 3), y), FINE, GREY if k == 0 else PALE)
    picture.polygon([[(11, 1), (15, 1), (13.4, 4.6), (12.6, 4.6)]], FINE, "#fff")
    _arrow(picture, (18, 13.2), (18, 10.8))


def _cool(picture: Picture, _: Design) -> None:
    _box(picture, (2, 12, 20, 13.5), FINE, GREY)
    _box(picture, (4, 9.5, 18, 12), EDGE, "#fff")
    for x in (7.0, 11.0, 15.0):
        wave = [(x + (0.7 if k % 2 else -0.7), 8.5 - 1.5 * k) for k in range(5)]
        picture.strokes([wave], FINE)


def _join(picture: Picture, _: Design) -> None:
    _box(picture, (1, 12.5, 21, 13.5), FINE, GREY)
    picture.polygon([[(2, 9.5), (10, 9.5), (10, 8.3), (12.5, 8.3), (12.5, 12.2), (2, 12.2)]], EDGE, "#fff")
    picture.polygon([[(10.5, 2), (20, 2), (20, 4.7), (13, 4.7), (13, 3.4), (10.5, 3.4)]], EDGE, PALE)
    _arrow(picture, (16, 5.4), (16, 9.4))


def _weigh(picture: Picture, _: Design) -> None:
    _box(picture, (1, 13, 21, 14), FINE, GREY)
    for k in range(3):
        _box(picture, (4, 11.3 - 1.7 * k, 18, 13 - 1.7 * k), FINE, "#fff")
    _box(picture, (7, 3.5, 15, 7.9), EDGE, BLACK)
    picture.polygon([[(9.5, 3.5), (9.9, 1.6), (12.1, 1.6), (12.5, 3.5)]], EDGE, "#fff")


def _stack(picture: Picture, _: Design) -> None:
    for k, fill in enumerate((PALE, "#fff", GREY)):
        y = 13.0 - 4.0 * k
        picture.polygon([[(3, y), (13, y), (18, y - 2.6), (8, y - 2.6)]], FINE, fill)
        picture.polygon([[(5.6, y - 0.7), (11.6, y - 0.7), (15.2, y - 1.9), (9.2, y - 1.9)]], FINE, "#fff")
    _arrow(picture, (20, 2.5), (20, 12.5))


def _feet(picture: Picture, design: Design) -> None:
    view = _frame(picture, design, (3, 0.5, 19, 14.5), PALE)
    for foot in design.feet:
        across, along = (max(0.8, half * view.scale_x) for half in foot.half)
        x, y = view.at(foot.x, foot.y)
        if foot.length_mm:
            picture.polygon(
                [[(x + i * across, y + j * along) for i, j in ((-1, -1), (1, -1), (1, 1), (-1, 1))]],
                None,
                BLACK,
            )
        else:
            picture.circle((x, y), across, None, BLACK)


def _magnet(picture: Picture, design: Design) -> None:
    if not any(cut.magnet for part in design.parts for cut in part.cuts):
        _grip(picture)
        return
    for y, fill in ((2.0, GREY), (9.0, PALE)):
        _box(picture, (7, y, 15, y + 3.6), EDGE, fill)
        picture.line((7, y + 1.8), (15, y + 1.8), FINE)
    _arrow(picture, (4, 3.8), (4, 7.2))
    _arrow(picture, (18, 10.8), (18, 7.2))


def _grip(picture: Picture) -> None:
    """A grip that is glued onto a lid's tab."""
    _box(picture, (1, 9.5, 16, 12.5), FINE, PALE)
    _box(picture, (10, 6.5, 16, 9.5), EDGE, GREY)
    _arrow(picture, (13, 1.5), (13, 6.2))


def _catch(picture: Picture, design: Design) -> None:
    """A catch from above, its nose up, with the names that the step uses."""
    part = next(part for part in design.parts if part.role is Role.CATCH)
    body = area_of(part.slabs[0].region)
    rings = [list(ring.coords) for ring in (body.exterior, *body.interiors)]
    if np.ptp(np.array(rings[0])[:, 1]) > np.ptp(np.array(rings[0])[:, 0]):
        rings = [[(y, x) for x, y in ring] for ring in rings]
    pins = np.mean([point for ring in rings[1:] for point in ring], axis=0)
    (x0, y0), (x1, y1) = np.min(rings[0], axis=0), np.max(rings[0], axis=0)
    up = bool(pins[1] < (y0 + y1) / 2)
    scale = min(20.0 / (x1 - x0), 6.0 / (y1 - y0))

    def at(x: float, y: float) -> Point:
        return 1.0 + (x - x0) * scale, 4.5 + ((y1 - y) if up else (y - y0)) * scale

    picture.polygon([[at(x, y) for x, y in ring] for ring in rings], FINE, PALE)
    tip = [x for x, y in rings[0] if abs(y - (y1 if up else y0)) < TIP_MM]
    ends = (x1 + pins[0]) / 2 if pins[0] < (x0 + x1) / 2 else (x0 + pins[0]) / 2
    below = 4.5 + (y1 - y0) * scale + 3.0
    picture.text((at(sum(tip) / len(tip), y0)[0], 3.4), "nose", LETTERS_MM, anchor="middle")
    for words, x in (("pad", pins[0]), ("legs", ends)):
        picture.text((at(x, y0)[0], below), words, LETTERS_MM, anchor="middle")


def _caliper(picture: Picture, _: Design) -> None:
    _box(picture, (8, 5.5, 21, 9.5), EDGE, HATCH_MATERIAL)
    picture.polygon(
        [[(1, 1), (3, 1), (3, 2.4), (14, 2.4), (14, 5.3), (12.6, 5.3), (11.4, 3.9), (3, 3.9)]], FINE, PALE
    )
    picture.polygon([[(1, 1), (3, 1), (3, 11.2), (12.6, 11.2), (14, 9.7), (14, 12.6), (1, 12.6)]], FINE, PALE)


def _square(picture: Picture, _: Design) -> None:
    _box(picture, (2, 2, 12, 12), EDGE, "#fff")
    _box(picture, (4.5, 4.5, 9.5, 9.5), FINE, PALE)
    _box(picture, (14.5, 4.7, 19.1, 9.3), EDGE, PALE)
    _arrow(picture, (14.3, 7), (10.3, 7))


def _beam(picture: Picture, design: Design) -> None:
    _frame(picture, design, (2, 3, 15, 14.5), PALE)
    picture.polygon([[(13, 0.5), (19, 0.5), (16.4, 5.5), (15.6, 5.5)]], FINE, GREY)
    picture.line((16, 5.5), (16, 9.5), BOLD)


def _sheet(picture: Picture, _: Design) -> None:
    _box(picture, (1, 1, 21, 14), EDGE, "#fff")
    for box in ((2, 2, 10, 13), (11, 2, 16, 8), (11, 9, 16, 13)):
        _box(picture, tuple(map(float, box)), FINE, PALE)  # type: ignore[arg-type]


def _template(picture: Picture, _: Design) -> None:
    _box(picture, (5, 0.5, 16, 14.5), FINE, "#fff")
    picture.strokes([[(7, 3), (14, 3)], [(7, 2), (7, 4)], [(14, 2), (14, 4)]], EDGE)
    picture.strokes([[(7.5, 5.5), (7.5, 12.5)], [(6.5, 5.5), (8.5, 5.5)], [(6.5, 12.5), (8.5, 12.5)]], EDGE)
    _box(picture, (10, 6.5, 14.5, 12.5), FINE, PALE)


def _knife(picture: Picture, _: Design) -> None:
    _box(picture, (1, 8.5, 21, 14), FINE, PALE)
    _box(picture, (1, 6, 21, 8.5), FINE, GREY)
    picture.line((3, 9), (12, 9), BOLD)
    picture.polygon([[(12, 9), (13.2, 5.5), (19.5, 0.8), (21, 2.4), (15, 7.2)]], EDGE, "#fff")


def _brush(picture: Picture, _: Design) -> None:
    picture.polygon([[(1, 14), (11, 14), (11, 10.5), (8, 10.5), (8, 6), (1, 6)]], FINE, HATCH_MATERIAL)
    picture.strokes([[(11.2, 13.8), (11.2, 10.3), (8.2, 10.3), (8.2, 6)]], Pen(1.0))
    picture.polygon([[(11.4, 9.6), (13.6, 6.6), (14.8, 7.6), (12.6, 10.2)]], None, BLACK)
    picture.polygon([[(13.6, 6.6), (18.6, 1), (20, 2.2), (14.8, 7.6)]], EDGE, "#fff")


def _proof(picture: Picture, _: Design) -> None:
    _box(picture, (1, 12, 21, 14), None, GREY)
    picture.line((1, 12), (21, 12), BOLD)
    picture.polygon([[(6, 11), (14, 11), (14, 7.5), (9.5, 7.5), (9.5, 3), (6, 3)]], EDGE, HATCH_OTHER)
    picture.line((9.5, 7.2), (19, 7.2), BOLD)
    _arrow(picture, (17, 9.6), (17, 11.9))
    _arrow(picture, (17, 9.6), (17, 7.5))


def _sides(picture: Picture, design: Design) -> None:
    """The holder from above, the middles of its sides numbered as they are read, and its home corner."""
    view = _frame(picture, design, (3, 2.8, 19, 12.2))
    o = design.outer
    (x0, y1), (x1, y0) = view.at(o.x, o.y), view.at(o.right, o.top)
    across, along = (x0 + x1) / 2, (y0 + y1) / 2
    for words, at in (
        ("1", (x0 - 1.4, along + 0.9)),
        ("2", (x1 + 1.4, along + 0.9)),
        ("3", (across, y0 - 0.5)),
        ("4", (across, y1 + 2.4)),
    ):
        picture.text(at, words, 2.5, anchor="middle", bold=True)
    picture.polygon([[(x0, y1), (x0 + 2.2, y1), (x0, y1 - 2.2)]], None, BLACK)


PICTURES: Mapping[str, Callable[[Picture, Design], None]] = {
    "plate": _plate,
    "layers": _layers,
    "cool": _cool,
    "join": _join,
    "weigh": _weigh,
    "stack": _stack,
    "feet": _feet,
    "magnet": _magnet,
    "catch": _catch,
    "caliper": _caliper,
    "square": _square,
    "beam": _beam,
    "sheet": _sheet,
    "template": _template,
    "knife": _knife,
    "brush": _brush,
    "proof": _proof,
    "sides": _sides,
}
