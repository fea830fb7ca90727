"""The plan: the holder from above on its bed, with the dimensions that one checks with a ruler."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from holders.design.model import Design, Groove, Part, Rect, Role, Slab
from holders.design.parts.opened import opened
from holders.geometry.outline import Outline, moved, rectangle
from holders.output.draw import dimension
from holders.output.draw.canvas import AXIS, EDGE, FINE, GHOST, HATCH_KEEP, HIDDEN, Picture, View

MARGIN_LEFT, MARGIN_RIGHT, MARGIN_TOP, MARGIN_BOTTOM = 24.0, 10.0, 9.0, 24.0
TOP_MM = 1e-6  # slabs whose tops differ by less end at one height
MASK = "#c8c8c8"  # the mask on the glass
STEP_MM = 7.0  # from one row of dimensions to the next


def plan(design: Design, scale: float, dimensions: bool = True) -> Picture:
    """The plan at ``scale`` (paper mm per mm)."""
    box = _whole(design)
    left, right, top, bottom = (
        (MARGIN_LEFT, MARGIN_RIGHT, MARGIN_TOP, MARGIN_BOTTOM) if dimensions else (2.0, 2.0, 2.0, 2.0)
    )
    width, height = box.width * scale + left + right, box.height * scale + top + bottom
    picture = Picture(width, height)
    view = View(left, height - bottom, box.x, box.y, scale, scale)
    _bed(picture, design, view, dimensions)
    for region in (slab.region for card in design.mask for slab in card.slabs):
        picture.outlines([region.outer, *region.holes], view, FINE, MASK)
    _other_places(picture, design, view)
    _holder(picture, design, view)
    _marks(picture, design, view)
    if dimensions:
        _dimensions(picture, design, view, box)
    return picture


def frame_parts(design: Design) -> list[Part]:
    """The parts of the frame, from the glass up, without lids."""
    return [part for part in design.parts if part.in_frame]


def _whole(design: Design) -> Rect:
    x0, y0 = min(design.glass.x, design.outer.x), min(design.glass.y, design.outer.y)
    x1, y1 = max(design.glass.right, design.outer.right), max(design.glass.top, design.outer.top)
    return Rect(x0, y0, x1 - x0, y1 - y0)


def plain(rect: Rect) -> Outline:
    """A rectangle as an outline."""
    return rectangle(rect.x, rect.y, rect.width, rect.height)


def _bed(picture: Picture, design: Design, view: View, words: bool) -> None:
    picture.outlines([plain(design.glass)], view, GHOST)
    if design.calibration is not None and design.calibration.width > 0 and design.calibration.height > 0:
        picture.outlines([plain(design.calibration)], view, GHOST, HATCH_KEEP)
    if not words:
        return
    x, y = view.at(design.glass.x, design.glass.top)
    mask = "; grey: mask on the glass" if design.mask else ""
    picture.text((x, y - 1.5), f"glass (long dashes, grey); home end below{mask}", 2.2)


def _other_places(picture: Picture, design: Design, view: View) -> None:
    """Where a holder that is moved between passes lies in the others, below the one that is drawn."""
    for across, along in design.stands[1:]:
        outlines = [slab.region.outer for part in frame_parts(design) for slab in part.slabs[:1]]
        picture.outlines([moved(outline, across, along) for outline in outlines], view, GHOST)


def _holder(picture: Picture, design: Design, view: View) -> None:
    slabs: list[Slab] = [slab for part in frame_parts(design) for slab in opened(part)]
    slabs.sort(key=lambda slab: slab.z0)
    top = max(slab.z1 for slab in slabs)
    keep = [] if design.calibration is None else [plain(design.calibration)]
    for slab in slabs:
        fill = "#fff" if slab.z1 > top - TOP_MM else "#e4e4e4"
        picture.outlines([slab.region.outer, *slab.region.holes], view, EDGE, fill)
    if keep and design.calibration is not None and design.calibration.height > 0:
        overlap = design.calibration.overlaps(design.outer)
        if overlap:
            picture.outlines(keep, view, GHOST, HATCH_KEEP)
    picture.outlines([plain(design.lamp)], view, HIDDEN)


def _marks(picture: Picture, design: Design, view: View) -> None:
    for window in design.windows:
        picture.outlines([plain(window.film)], view, AXIS)
    for rect in (rect for made in design.fitted for rect in made.further()):
        picture.outlines([plain(rect)], view, AXIS)
    picture.outlines([foot.outline() for foot in design.feet], view, HIDDEN)
    for foot in design.feet:
        x, y = view.at(foot.x, foot.y)
        picture.line((x - 1.2, y), (x + 1.2, y), FINE)
        picture.line((x, y - 1.2), (x, y + 1.2), FINE)
    _cover(picture, design, view)
    for part in (p for p in design.parts if p.role.beside or p.role is Role.CORNER):
        for slab in part.slabs:
            for dx, dy in part.places:
                picture.outlines([moved(slab.region.outer, dx, dy)], view, EDGE, "#f4f4f4")
    for part in (p for p in design.parts if p.in_frame or p.role.beside):
        for groove in part.grooves:
            box = _box(groove)
            if box is not None and _crossed(box, design.lamp):
                picture.outlines([plain(box)], view, None, "#fff")
            picture.strokes([[view.at(x, y) for x, y in stroke] for stroke in groove.strokes], FINE)


def _box(groove: Groove) -> Rect | None:
    """What a text covers; None for none."""
    xs, ys = ([point[k] for stroke in groove.strokes for point in stroke] for k in (0, 1))
    return Rect(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)) if xs else None


def _crossed(box: Rect, lamp: Rect) -> bool:
    """Whether an edge of the lamp area runs through a box."""
    inside = lamp.x < box.x and box.right < lamp.right and lamp.y < box.y and box.top < lamp.top
    return box.overlaps(lamp) and not inside


def _cover(picture: Picture, design: Design, view: View) -> None:
    """The bought plates and the catches over their edges."""
    for plate in (plate for made in design.every_fitted for plate in made.plates):
        picture.outlines([plain(rect) for rect in plate.places], view, FINE)
    for part in design.parts:
        if part.role is Role.CATCH:
            region = part.slabs[0].region
            for dx, dy in part.places:
                outlines = [moved(outline, dx, dy) for outline in (region.outer, *region.holes)]
                picture.outlines(outlines, view, EDGE, "#fff")


def _dimensions(picture: Picture, design: Design, view: View, box: Rect) -> None:
    outer = design.outer
    xs = _stops([(w.opening.x, w.opening.right) for w in design.windows], outer.x, outer.right)
    ys = _stops([(w.opening.y, w.opening.top) for w in design.windows], outer.y, outer.top)
    base_y, base_x = view.at(box.x, box.y)[1] + 1.0, view.at(box.x, box.y)[0] - 1.0
    dimension.chain_across(picture, [(view.at(x, 0)[0], x) for x in xs], base_y + STEP_MM, base_y)
    dimension.chain_along(picture, [(view.at(0, y)[1], y) for y in ys], base_x - STEP_MM, base_x)
    ends = (view.at(outer.x, 0)[0], view.at(outer.right, 0)[0])
    dimension.across(picture, *ends, base_y + 2 * STEP_MM, outer.width, base_y)
    sides = (view.at(0, outer.y)[1], view.at(0, outer.top)[1])
    dimension.along(picture, *sides, base_x - 2 * STEP_MM, outer.height, base_x)


def _stops(spans: Iterable[tuple[float, float]], low: float, high: float) -> Sequence[float]:
    """Every edge once, in order, between the two ends."""
    found: list[float] = [low]
    for value in sorted(value for span in spans for value in span):
        if value - found[-1] > dimension.TINY_MM:
            found.append(value)
    if high - found[-1] > dimension.TINY_MM:
        found.append(high)
    return found
