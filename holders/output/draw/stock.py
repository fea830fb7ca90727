"""Stock sheets from above with every piece where it lies, small: which piece is which, and what stays as an offcut."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from holders.geometry.outline import bounds, points
from holders.output.draw.canvas import EDGE, FINE, Pen, Picture, View, text_width
from holders.workshop.nest.nest_job import CutSheet

SPARE = Pen(0.15, 0.55, (1.5, 1.0))  # the offcut's rim
PIECE = "#e4e4e4"
BETWEEN_MM, TITLE_MM, RIM_MM = 8.0, 5.0, 1.0
ACROSS = 2  # sheets beside one another
HIGH_MM = 44.0
MUCH_LESS = 0.6  # of a sheet; above that one may as well take a whole one
WORDS_MM = 2.4
PLACES = (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.15, 0.9, 0.94, 0.1)  # of a piece's height, from its foot


def sheets_picture(sheets: Sequence[CutSheet], width_mm: float, high_mm: float = HIGH_MM) -> Picture:
    """All sheets at one scale, two beside one another, ``width_mm`` wide in all, a row at most ``high_mm`` high."""
    across = ACROSS
    room = (width_mm - 2 * RIM_MM - (across - 1) * BETWEEN_MM) / across
    sizes = [shown_mm(s) for s in sheets]
    scale = min(room / max(w for w, _ in sizes), high_mm / max(h for _, h in sizes), 0.25)
    rows = [sheets[k : k + across] for k in range(0, len(sheets), across)]
    heights = [max(shown_mm(s)[1] for s in row) * scale + TITLE_MM + RIM_MM for row in rows]
    picture = Picture(width_mm, sum(heights) + BETWEEN_MM * (len(rows) - 1))
    top = 0.0
    for row, height in zip(rows, heights, strict=True):
        for column, sheet in enumerate(row):
            picture.place(one_sheet(sheet, scale), column * (room + BETWEEN_MM), top)
        top += height + BETWEEN_MM
    return picture


def needed_mm(sheet: CutSheet) -> tuple[float, float]:
    """Width and height of the corner of the sheet that the pieces take, with the same rim on all sides."""
    boxes = [bounds(cut.outline) for cut in sheet.cuts.cuts if cut.outline is not None]
    rim = min(min(box[0], box[1]) for box in boxes)
    return max(box[2] for box in boxes) + rim, max(box[3] for box in boxes) + rim


def offcut_does(sheet: CutSheet) -> bool:
    """Whether so much less than the whole sheet is needed that an offcut is worth looking for."""
    wide, high = needed_mm(sheet)
    return wide * high <= MUCH_LESS * sheet.use.width_mm * sheet.use.height_mm


def shown_mm(sheet: CutSheet) -> tuple[float, float]:
    """The size that is drawn: the whole sheet, or the offcut that will do."""
    return needed_mm(sheet) if offcut_does(sheet) else (sheet.use.width_mm, sheet.use.height_mm)


def one_sheet(sheet: CutSheet, scale: float) -> Picture:
    """One sheet with its pieces, named; of a sheet that is mostly left over only the offcut that will do."""
    use = sheet.use
    shown = shown_mm(sheet)
    wide, high = shown[0] * scale, shown[1] * scale
    whole = shown == (use.width_mm, use.height_mm)
    picture = Picture(wide + 2 * RIM_MM, high + TITLE_MM + RIM_MM)
    view = View(RIM_MM, TITLE_MM + high, 0.0, 0.0, scale, scale)
    words = f"{sheet.number}: {sheet.thickness_mm:g} mm, {use.width_mm:g} x {use.height_mm:g} mm"
    picture.text((RIM_MM, TITLE_MM - 1.5), words, 2.8, bold=True)
    picture.polygon([_box(view, 0.0, 0.0, *shown)], EDGE if whole else SPARE)
    lines = shapely.union_all(
        [shapely.LinearRing(points(cut.outline)) for cut in sheet.cuts.cuts if cut.outline is not None]
    )
    names: list[tuple[str, tuple[float, float]]] = []
    pieces: dict[tuple[str, int], list[int]] = {}
    for index, cut in enumerate(sheet.cuts.cuts):
        if cut.kind != "mark":
            pieces.setdefault((cut.part, cut.copy), []).append(index)
    for (name, _), indices in sorted(pieces.items(), key=lambda item: -len(item[1])):
        outlines = [outline for k in indices if (outline := sheet.cuts.cuts[k].outline) is not None]
        picture.outlines(outlines, view, FINE, PIECE)
        x0, y0, x1, y1 = bounds(outlines[-1])  # the outer line comes last
        names.append((name, _free(name, (x0, y0, x1, y1), lines, view)))
    for name, place in names:  # over all outlines, so that none runs through a letter
        picture.text(place, name, WORDS_MM, anchor="middle", halo=True)
    if whole and use.offcut is not None:
        o = use.offcut
        picture.polygon([_box(view, o.x, o.y, o.right, o.top)], SPARE)
        x, y = view.at(o.x + o.width / 2, o.y + o.height / 2)
        picture.text((x, y), f"offcut {o.width:.0f} x {o.height:.0f}", WORDS_MM, anchor="middle", halo=True)
    return picture


def _free(
    name: str, box: tuple[float, float, float, float], lines: shapely.Geometry, view: View
) -> tuple[float, float]:
    """Where on the paper a piece's name stands: along its middle, the first place that no line runs through."""
    x0, y0, x1, y1 = box
    half = (text_width(name, WORDS_MM) / 2 + 0.5) / view.scale_x
    high = WORDS_MM / view.scale_y
    x, low = (x0 + x1) / 2, y0 + 2.0 / view.scale_y
    for y in (*((y0 + share * (y1 - y0)) for share in PLACES), low):
        if not lines.intersects(shapely.box(x - half, y - 0.3 * high, x + half, y + high)):
            return view.at(x, y)
    return view.at(x, low)


def _box(view: View, x0: float, y0: float, x1: float, y1: float) -> list[tuple[float, float]]:
    return [view.at(x0, y0), view.at(x1, y0), view.at(x1, y1), view.at(x0, y1)]
