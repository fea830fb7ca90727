"""The passes side by side: for each the bed from above with holder, stops, lamp area, film and what is scanned."""

from __future__ import annotations

from holders.design.draft.stands import lit_boxes
from holders.design.model import Design
from holders.geometry.outline import moved
from holders.output.draw.canvas import AXIS, EDGE, GHOST, HATCH_KEEP, HIDDEN, Picture, View
from holders.output.draw.plan import frame_parts, plain

GAP_MM, TITLE_MM, EDGE_MM = 4.0, 5.0, 1.0
MOST_SCALE = 0.16
STOP_GREY, LIT = "#c8c8c8", "#fdf3c4"


def passes_drawn(design: Design, width: float) -> Picture:
    """All passes in rows within ``width`` mm of paper."""
    count, glass = len(design.stands), design.glass
    in_row = min(count, 4)
    scale = min(MOST_SCALE, ((width - (in_row - 1) * GAP_MM) / in_row - 2 * EDGE_MM) / glass.width)
    wide, high = glass.width * scale + 2 * EDGE_MM, glass.height * scale + TITLE_MM + 2 * EDGE_MM
    rows = -(-count // in_row)
    picture = Picture(in_row * wide + (in_row - 1) * GAP_MM, rows * high + (rows - 1) * GAP_MM)
    for number in range(count):
        x = (number % in_row) * (wide + GAP_MM)
        y = (number // in_row) * (high + GAP_MM)
        picture.text((x + EDGE_MM, y + TITLE_MM - 1.5), f"Pass {number + 1}", 2.6, bold=True)
        view = View(x + EDGE_MM, y + high - EDGE_MM, glass.x, glass.y, scale, scale)
        _pass(picture, design, number, view)
    return picture


def _pass(picture: Picture, design: Design, number: int, view: View) -> None:
    across, along = design.stands[number]
    picture.outlines([plain(design.glass)], view, GHOST)
    for part in frame_parts(design):
        for slab in part.slabs:
            rings = [slab.region.outer, *slab.region.holes]
            picture.outlines([moved(ring, across, along) for ring in rings], view, EDGE, "#f2f2f2")
    for window in design.windows:
        box = lit_boxes(window.opening, design.lamp, design.stands)[number]
        if box is not None:
            picture.outlines([plain(box)], view, EDGE, LIT)
        picture.outlines([plain(window.film.moved(across, along))], view, AXIS)
    if design.calibration is not None:
        picture.outlines([plain(design.calibration)], view, GHOST, HATCH_KEEP)
    for made in design.fitted:
        for rect in made.beside(number):
            picture.outlines([plain(rect)], view, EDGE, STOP_GREY)
    picture.outlines([plain(design.lamp)], view, HIDDEN)
