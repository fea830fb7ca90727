"""One drawing sheet: plan, section, the parts pulled apart, and the numbers that the drawing cannot show."""

from __future__ import annotations

from holders.core.lengths import measure
from holders.design.model import Design
from holders.geometry.outline import bounds
from holders.output.draw import apart, section
from holders.output.draw.canvas import AXIS as FILM
from holders.output.draw.canvas import EDGE, FINE, GHOST, HIDDEN, Picture, text_width
from holders.output.draw.plan import MARGIN_BOTTOM, MARGIN_LEFT, MARGIN_RIGHT, MARGIN_TOP, plan

WIDTH, HEIGHT = 420.0, 297.0  # A3, ISO 216
EDGE_MM, HEAD_MM = 10.0, 16.0
SCALES = (2.0, 1.0, 0.5, 0.2, 0.1)  # ISO 5455's usual reductions, from memory
PLAN_WIDTH, PLAN_HEIGHT = 196.0, 255.0
LINE_MM = 4.8
LIST_SIZE, LIST_SHARE = 2.6, 0.4  # text, and the share of the width that a list beside the parts takes


def drawing(design: Design) -> bytes:
    """The whole sheet as SVG, A3 across, mm."""
    picture = Picture(WIDTH, HEIGHT)
    picture.polygon([[(5, 5), (WIDTH - 5, 5), (WIDTH - 5, HEIGHT - 5), (5, HEIGHT - 5)]], EDGE)
    scale = plan_scale(design)
    _head(picture, design, scale)
    main = plan(design, scale)
    picture.place(main, EDGE_MM, HEAD_MM + 4)
    lines = _lines(design)
    below = HEAD_MM + 4 + main.height + 6
    beside = below + 8 + (len(lines) + 1) * LINE_MM > HEIGHT - 22
    _legend(picture, EDGE_MM + 4, HEIGHT - 16)
    left = EDGE_MM + main.width + 8
    width = WIDTH - EDGE_MM - left
    y = HEAD_MM + 6
    picture.text((left, y + 1), "Section across a window, heights enlarged (mm)", 3, bold=True)
    detail = section.edge(design, width)
    picture.place(detail, left, y + 2)
    y += detail.height + 5
    picture.text((left, y), "The same across the whole holder", 3, bold=True)
    across = section.whole(design, width - 4)
    picture.place(across, left, y + 2)
    y += across.height + 9
    room = HEIGHT - 10 - y
    if beside:  # a plan so high that the list has no room below it
        _table(picture, lines, (left, y), width * LIST_SHARE)
        _apart(picture, design, (left + width * LIST_SHARE, y), (width * (1 - LIST_SHARE), room))
    else:
        _table(picture, lines, (EDGE_MM + 4, below), main.width - 4)
        picture.text((left, y), "Seen from the home corner, parts pulled apart", 3, bold=True)
        _apart(picture, design, (left, y + 2), (width, room - 2))
    return picture.svg(f"{design.title}: plan and section")


def plan_scale(design: Design) -> float:
    """The largest usual scale at which the plan has room on the sheet."""
    wide = max(design.glass.width, design.outer.width)
    high = max(design.glass.height, design.outer.height)
    room_x, room_y = PLAN_WIDTH - MARGIN_LEFT - MARGIN_RIGHT, PLAN_HEIGHT - MARGIN_TOP - MARGIN_BOTTOM
    return next((s for s in SCALES if wide * s <= room_x and high * s <= room_y), SCALES[-1])


def ratio(scale: float) -> str:
    """A scale as it is written on drawings."""
    return f"{measure(scale)} : 1" if scale >= 1 else f"1 : {measure(1 / scale)}"


def _head(picture: Picture, design: Design, scale: float) -> None:
    picture.text((EDGE_MM, 14), fitted(design.title, 250, 5), 5, bold=True)
    words = f"plan {ratio(scale)}; all lengths in mm; do not measure from this sheet"
    picture.text((WIDTH - EDGE_MM, 14), words, 2.8, "end")
    picture.line((5, HEAD_MM + 2), (WIDTH - 5, HEAD_MM + 2), FINE)


def fitted(words: str, width: float, size: float) -> str:
    """A text cut short with an ellipsis so that it stays within ``width`` mm."""
    if text_width(words, size) <= width:
        return words
    return words[: max(1, int(width / text_width("x", size)) - 1)] + "…"


def _legend(picture: Picture, x: float, y: float) -> None:
    kinds = (
        (EDGE, "edge of the holder"),
        (HIDDEN, "lamp area; feet, below or behind"),
        (FILM, "film as cut"),
        (GHOST, "glass; hatched: calibration zone"),
    )
    for k, (pen, words) in enumerate(kinds):
        at_x, at_y = x + (k % 2) * 78, y + (k // 2) * LINE_MM
        picture.line((at_x, at_y - 0.9), (at_x + 14, at_y - 0.9), pen)
        picture.text((at_x + 16, at_y), words, 2.4)


def _table(picture: Picture, lines: list[str], at: tuple[float, float], width: float) -> None:
    x, y = at
    picture.text(at, "Parts, in the order from the glass up", 3, bold=True)
    for k, words in enumerate(lines, 1):
        if y + k * LINE_MM < HEIGHT - 8:
            picture.text((x, y + k * LINE_MM + 1), fitted(words, width, LIST_SIZE), LIST_SIZE)


def _apart(picture: Picture, design: Design, at: tuple[float, float], room: tuple[float, float]) -> None:
    """The parts pulled apart, as large as the room takes them, in its middle."""
    view = apart.pulled_apart(design, room[0])
    if view.height > room[1]:
        view = apart.pulled_apart(design, room[0] * room[1] / view.height)
    picture.place(view, at[0] + (room[0] - view.width) / 2, at[1] + (room[1] - view.height) / 2)


def _lines(design: Design) -> list[str]:
    found = []
    for part in design.parts:
        x0, y0, x1, y1 = bounds(part.slabs[0].region.outer)
        size = f"{measure(x1 - x0)} x {measure(y1 - y0)} x {measure(part.z1 - part.z0)}"
        found.append(f"{part.quantity} {part.title}: {size}")
    for plate in (plate for made in design.fitted for plate in made.plates):
        rect = plate.places[0]
        size = f"{measure(rect.width)} x {measure(rect.height)} x {measure(plate.z1 - plate.z0)}"
        found.append(f"{len(plate.places)} {plate.name}, bought: {size}")
    found.append(
        f"material: {', '.join(sorted({part.material for part in design.parts}))}; route: {design.route}"
    )
    found.append(f"height of all above the glass: {measure(design.total_height)}")
    if design.feet:
        o = design.outer
        found.append(f"{len(design.feet)} feet, diameter {measure(design.feet[0].diameter_mm)},")
        deep = sorted(set(design.foot_depths))
        each = len(deep) > 1
        found.append(
            f"  {measure(design.foot_thickness)} thick, {'' if each else measure(deep[0]) + ' '}recessed; middles at"
        )
        found += [
            f"  {measure(f.x - o.x)} , {measure(f.y - o.y)} from the home corner"
            + (f", {measure(depth)} deep" if each else "")
            for f, depth in zip(design.feet, design.foot_depths, strict=True)
        ]
    return found
