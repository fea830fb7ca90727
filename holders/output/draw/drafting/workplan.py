"""The plan of the workshop drawing: every place that one builds or checks, dimensioned from the home corner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.design.model import Design, Rect, Role
from holders.geometry.outline import moved
from holders.output.draw.canvas import AXIS, EDGE, FINE, GHOST, HATCH_KEEP, HIDDEN, Picture, View
from holders.output.draw.drafting import shapes
from holders.output.draw.drafting.lettering import LINE, TEXT, fitted
from holders.output.draw.drafting.ordinates import Edge, Mark, Side, Spare, depth, merged, room_for, row
from holders.output.draw.drafting.whole import whole_openings
from holders.output.draw.plan import plain
from holders.output.typeface import CAPITAL

# ISO 5455, and 1 : 2.5 and 1 : 3 in between, which A4 needs for a bed of its own size
SCALES = (2.0, 1.0, 0.5, 0.4, 1 / 3, 0.2, 0.1)
CROSS_MM = 1.2
SLACK_MM = 3.0  # lettering may stand so far beyond the view's ends
HOME_MM = 2.5
APART_MM = 0.1  # wall and pocket nearer than that are one
PLACES = 1  # decimals on the plan: what a ruler shows; the detail has hundredths
DROPPED = (
    Spare.JOINT,
    Spare.SPOT,
    Spare.POCKET,
    Spare.WALL,
)  # what a full row leaves to the notes, in this order
SIDES: tuple[Side, ...] = ("below", "left", "above", "right")


@dataclass(frozen=True, slots=True)
class Rows:
    """The marks on each side."""

    below: tuple[Mark, ...]
    left: tuple[Mark, ...]
    above: tuple[Mark, ...]
    right: tuple[Mark, ...]

    def of(self, side: Side) -> tuple[Mark, ...]:
        """The marks on one side."""
        found: tuple[Mark, ...] = getattr(self, side)
        return found


def rows_of(design: Design) -> Rows:
    """What is dimensioned where: the frame and its openings below and left, all else above and right."""
    o = design.outer
    main = [(Mark(0.0, ""), o), *_rects(design)]
    rest = [*_bays(design), *(("opening", r) for r in shapes.calibration_openings(design))]
    below = [replace(mark, at=v - o.x) for mark, r in main for v in (r.x, r.right)]
    left = [replace(mark, at=v - o.y) for mark, r in main for v in (r.y, r.top)]
    above = [Mark(v - o.x, words) for words, r in rest for v in (r.x, r.right)]
    right = [Mark(v - o.y, words) for words, r in rest for v in (r.y, r.top)]
    for mark, (x, y) in _points(design):
        above.append(replace(mark, at=x - o.x))
        right.append(replace(mark, at=y - o.y))
    for seam in (s for s in design.seams if s.role.in_frame):
        across, along = (above, right) if seam.axis == "x" else (right, above)
        across.append(Mark(seam.at_mm - (o.x if seam.axis == "x" else o.y), "seam"))
        k = 1 if seam.axis == "x" else 0
        along += [
            Mark(j.root[k] - (o.y if k else o.x), f"joint {j.letter}", Spare.JOINT) for j in seam.joints
        ]
    return Rows(*(tuple(merged(marks)) for marks in (below, left, above, right)))


def _rects(design: Design) -> list[tuple[Mark, Rect]]:
    """The openings over each window, widest first, each with the mark of its edges."""
    spots = [pair for made in design.fitted for pair in made.spots()]
    found = [(Mark(0.0, name), spot) for name, spot in spots if spot.width > 0]
    pocketed, holes = shapes.has_pocket(design), whole_openings(design)
    for window in design.windows:
        wall = shapes.over_window(window, holes) if pocketed else None
        if wall is not None and wall.rect.width - window.pocket.width > APART_MM:
            found.append((Mark(0.0, "wall", Spare.WALL), wall.rect))
        if pocketed:
            found.append((Mark(0.0, "pocket", Spare.POCKET), window.pocket))
        else:
            found.append((Mark(0.0, "film"), window.film))
        found.append((Mark(0.0, "window"), window.opening))
    return found


def _bays(design: Design) -> list[tuple[str, Rect]]:
    """The finger notches in the wall."""
    return [("notch", bay) for one in whole_openings(design) for bay in one.bays]


def _points(design: Design) -> list[tuple[Mark, tuple[float, float]]]:
    found = [(Mark(0.0, "foot"), (foot.x, foot.y)) for foot in design.feet]
    spots = [pair for made in design.fitted for pair in made.spots()]
    found += [(Mark(0.0, name, Spare.SPOT), (spot.x, spot.y)) for name, spot in spots if spot.width <= 0]
    return found


def fitting(marks: Sequence[Mark], edge: Edge) -> tuple[list[Mark], list[str]]:
    """The marks that have room on an edge, and the names of those that are left to the notes."""
    kept, dropped = list(marks), list[str]()
    for spare in DROPPED:
        if len(kept) <= room_for(edge):
            break
        fewer = [m for m in kept if m.spare is not spare]
        if len(fewer) < len(kept):
            kept, dropped = fewer, [*dropped, spare.value]
    return kept, dropped


@dataclass(frozen=True, slots=True)
class Plan:
    """The picture, its scale, and the names that had no room as dimensions."""

    picture: Picture
    scale: float
    dropped: tuple[str, ...]


def workplan(design: Design, width: float, height: float) -> Plan:
    """The plan within a room of ``width`` x ``height`` mm, at the largest scale that leaves all lettering room."""
    rows = rows_of(design)
    deep = {side: max(depth(rows.of(side), side, PLACES), 12.0) for side in SIDES}
    o = design.outer
    scale = next(
        (
            s
            for s in SCALES
            if deep["left"] + o.width * s + deep["right"] <= width
            and deep["above"] + o.height * s + deep["below"] <= height
        ),
        SCALES[-1],
    )
    wide, high = o.width * scale, o.height * scale
    picture = Picture(deep["left"] + wide + deep["right"], deep["above"] + high + deep["below"], exact=True)
    view = View(deep["left"], deep["above"] + high, o.x, o.y, scale, scale)
    _frame(picture, design, view)
    _places(picture, design, view)
    _home(picture, view.at(o.x, o.y))
    dropped: list[str] = []
    for side in SIDES:
        edge = _edge(side, design, view)
        marks, gone = fitting(rows.of(side), edge)
        row(picture, marks, edge, PLACES)
        dropped += gone
    return Plan(picture, scale, tuple(dict.fromkeys(dropped)))


def _edge(side: Side, design: Design, view: View) -> Edge:
    o = design.outer
    (left, bottom), (right, top) = view.at(o.x, o.y), view.at(o.right, o.top)
    if side in ("below", "above"):
        place = bottom if side == "below" else top
        return Edge(side, place, lambda x: view.at(o.x + x, 0)[0], left - SLACK_MM, right + SLACK_MM)
    place = left if side == "left" else right
    return Edge(side, place, lambda y: view.at(0, o.y + y)[1], top - SLACK_MM, bottom + SLACK_MM)


def _frame(picture: Picture, design: Design, view: View) -> None:
    slabs = shapes.seen_slabs(design)
    top = slabs[-1].z1
    for slab in slabs:
        fill = "#fff" if slab.z1 > top - shapes.NEAR_MM else "#ececec"
        picture.outlines([slab.region.outer, *slab.region.holes], view, EDGE, fill)
    zone = design.calibration
    if zone is not None and zone.height > 0 and zone.overlaps(design.outer):
        picture.outlines([plain(zone)], view, GHOST, HATCH_KEEP)
    for window in design.windows:
        picture.outlines([plain(window.film)], view, AXIS)
    for rect in (rect for made in design.every_fitted for rect in made.further()):
        picture.outlines([plain(rect)], view, AXIS)


def _places(picture: Picture, design: Design, view: View) -> None:
    for foot in design.feet:
        picture.outlines([foot.outline()], view, HIDDEN)
        _cross(picture, view.at(foot.x, foot.y))
    for made in design.every_fitted:
        plates = [plain(rect) for plate in made.plates for rect in plate.places]
        if plates:
            picture.outlines(plates, view, FINE)
        for spot in (spot for _, spot in made.spots() if spot.width <= 0):
            _cross(picture, view.at(spot.x, spot.y))
    for part in (p for p in design.parts if p.role in (Role.CATCH, Role.CORNER)):
        for dx, dy in part.places:
            picture.outlines([moved(part.slabs[0].region.outer, dx, dy)], view, FINE)
    if len(design.windows) > 1:
        for number, window in enumerate(design.windows, 1):
            x, y = view.at(
                window.opening.x + window.opening.width / 2, window.opening.y + window.opening.height / 2
            )
            picture.text((x, y + TEXT * CAPITAL / 2), str(number), TEXT, "middle")
            room = view.at(window.opening.right, 0)[0] - view.at(window.opening.x, 0)[0] - 2 * LINE
            if design.kinds and fitted(window.film_key, room, TEXT) == window.film_key:
                picture.text((x, y + TEXT * CAPITAL / 2 + LINE), window.film_key, TEXT, "middle")


def _cross(picture: Picture, at: tuple[float, float]) -> None:
    x, y = at
    picture.strokes([[(x - CROSS_MM, y), (x + CROSS_MM, y)], [(x, y - CROSS_MM), (x, y + CROSS_MM)]], FINE)


def _home(picture: Picture, at: tuple[float, float]) -> None:
    """The origin, marked where nothing else stands: a black quarter and its name below left of the corner."""
    x, y = at[0] - SLACK_MM - 1.5, at[1] + SLACK_MM + 1.5
    picture.polygon([[(x, y), (x - HOME_MM, y), (x, y + HOME_MM)]], None, "#000")
    picture.text((x - HOME_MM - 1.0, y + TEXT * CAPITAL), "0, 0", TEXT, "end")
    picture.text((x - HOME_MM - 1.0, y + TEXT * CAPITAL + 4.4), "home corner", TEXT, "end")
