"""The detail of the workshop drawing: the lip at a window's left edge, cut upright, at one scale both ways."""

from __future__ import annotations

from dataclasses import dataclass

from holders.design.model import Design, Role, Window
from holders.design.parts.roles import own_lids
from holders.output.draw import section
from holders.output.draw.canvas import Picture, View
from holders.output.draw.drafting import shapes
from holders.output.draw.drafting.lettering import PITCH
from holders.output.draw.drafting.ordinates import Edge, Mark, depth, row, unlike
from holders.output.draw.drafting.whole import whole_openings
from holders.output.draw.section import GLASS_MM, Slice

SCALES = (10.0, 5.0, 2.0, 1.0, 0.5)  # ISO 5455
BESIDE_MM, INTO_MM = 4.0, 3.0  # of the wall beside the opening, and of the window, that are shown
LEAST_ROW_MM = 10.0


@dataclass(frozen=True, slots=True)
class Detail:
    """The picture and its scale."""

    picture: Picture
    scale: float


def detail(design: Design, width: float, height: float) -> Detail:
    """The lip within ``width`` x ``height`` mm of paper, every height above the glass and every width named."""
    window = design.mine[0]
    at = _where(design, window)
    left, right, above = _left(design), _right(design), _above(design, window, at)
    deep = depth(left, "left"), depth(right, "right"), max(depth(above, "above"), LEAST_ROW_MM)
    high = section.top_of(design) + GLASS_MM
    wide = at.x1 - at.x0
    scale = next(
        (s for s in SCALES if deep[0] + wide * s + deep[1] <= width and deep[2] + high * s + 6 <= height),
        SCALES[-1],
    )
    tall = max(high * scale, 5.0 * max(len(left), len(right)))
    picture = Picture(deep[0] + wide * scale + deep[1], deep[2] + tall + 3.0, exact=True)
    view = View(deep[0], deep[2] + tall - GLASS_MM * scale, at.x0, 0.0, scale, scale)
    cut = section.slices(design, at)
    section.draw(picture, design, view, at, cut)
    section.broken(picture, view, at, section.top_of(design))
    bottom = view.at(0, -GLASS_MM)[1] + 1.5
    (x0, _), (x1, y0) = view.at(at.x0, 0), view.at(at.x1, section.top_of(design))
    highest = min(deep[2], y0)
    row(picture, left, Edge("left", x0, lambda z: view.at(0, z)[1], highest, bottom))
    row(picture, right, Edge("right", x1, lambda z: view.at(0, z)[1], highest, bottom))
    base = design.outer.x
    # over the rows at the sides there is nothing, so that a full row may reach beyond the view
    beyond = max(0.0, (len(above) - 1) * PITCH - (x1 - x0)) / 2
    low = max(min(x0, PITCH), x0 - beyond)
    ends = low, min(max(x1, picture.width - PITCH), max(x1 + beyond, low + (len(above) - 1) * PITCH))
    row(picture, above, Edge("above", y0, lambda x: view.at(base + x, 0)[0], *ends))
    return Detail(picture, scale)


def _where(design: Design, window: Window) -> Slice:
    """The cut beside the first window: a little of the wall, or all of a narrow one, to a little of the window."""
    inner = min(window.pocket.x, *(edge for edge in _wall(design, window)))
    x0 = max(inner - BESIDE_MM, design.outer.x - 1.0)
    return Slice(section.quiet_y(design), x0, window.opening.x + INTO_MM)


def _wall(design: Design, window: Window) -> list[float]:
    one = shapes.over_window(window, whole_openings(design))
    return [window.pocket.x] if one is None else [one.rect.x]


def _left(design: Design) -> list[Mark]:
    """Heights that are made, above the glass."""
    h = design.heights
    marks = [Mark(0.0, "glass"), Mark(h.foot_protrusion, "underside")]
    marks.append(Mark(h.drawn_ledge, "ledge"))
    marks += [Mark(top, "bevel") for top in _relief_tops(design)]
    if shapes.has_pocket(design):
        marks.append(Mark(max(slab.z1 for slab in shapes.frame_slabs(design)), "wall"))
    for part in own_lids(design):
        marks += [Mark(part.z0, "lid"), Mark(part.z1, "lid")]
    for made in design.fitted:
        marks += [Mark(plate.z1, plate.name) for plate in made.plates]
        marks += [Mark(z, name) for name, z in made.levels(h.drawn_ledge)]
    tops = {part.z1 for part in design.parts if part.role is Role.CATCH}
    return unlike([*marks, *(Mark(top, "catch") for top in tops)])


def _relief_tops(design: Design) -> list[float]:
    """Where the bevel below the window's edge ends."""
    mine = [window.opening for window in design.mine]
    tops = {
        cut.z1
        for part in shapes.frame_of(design)
        for cut in part.cuts
        if cut.chamfer and any(shapes.main_rect(cut.outline).overlaps(opening) for opening in mine)
    }
    return sorted(tops)


def _right(design: Design) -> list[Mark]:
    """Heights of film and focus above the glass, as far as they are drawn."""
    h = design.heights
    marks = unlike(
        [
            Mark(h.band_low, "sharp"),
            Mark(h.focus, "focus"),
            Mark(h.band_high, "sharp"),
            Mark(h.sharp_plane, "picture"),
            Mark(h.drawn_ledge + design.in_pocket_mm, design.in_pocket),
        ]
    )
    return [mark for mark in marks if 0.0 <= mark.at <= section.top_of(design)]


def _above(design: Design, window: Window, at: Slice) -> list[Mark]:
    """Widths from the holder's left side."""
    base = design.outer.x
    marks = [
        Mark(window.film.x - base, design.in_pocket.split()[-1]),
        Mark(window.opening.x - base, "window"),
    ]
    through = any("left" in made.open_edges() for made in design.fitted)
    if shapes.has_pocket(design) and not through:
        marks.append(Mark(window.pocket.x - base, "pocket"))
        marks += [Mark(x - base, "wall") for x in _wall(design, window) if x < window.pocket.x - 0.05]
    if design.outer.x >= at.x0:
        marks.append(Mark(0.0, "outside"))
    for part in shapes.frame_of(design):
        for cut in part.cuts:
            if cut.chamfer:
                marks.append(Mark(window.opening.x - cut.flare_mm - base, "bevel"))
    for slab in shapes.frame_slabs(design):
        one = shapes.over_window(window, shapes.openings(slab))
        if one is not None and slab.z1 < design.heights.drawn_ledge - 0.1:
            marks.append(Mark(one.rect.x - base, "step"))
    marks += [Mark(x - base, "lid") for x in _lid_ends(design, at)]
    return [mark for mark in unlike(marks) if at.x0 - 0.01 <= mark.at + base <= at.x1 + 0.01]


def _lid_ends(design: Design, at: Slice) -> list[float]:
    found = []
    for part, shape in section.slices(design, at):
        if part.role is Role.LID and not shape.is_empty:
            low, _, high, _ = shape.bounds
            leans = [high + cut.flare_mm for cut in part.cuts if cut.bevel]
            found += [x for x in (low, high, *leans) if at.x0 + 0.01 < x < at.x1 - 0.01]
    return found
