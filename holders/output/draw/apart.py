"""The parts pulled apart and seen from the home corner, so that one sees how they go together.

Parts at different heights are pulled apart upward, the pieces of a split part away from its middle. Feet, film and
glass plates are there too, so that one sees where they go.

Isometric projection; slabs are painted from the lowest up, each with its walls that face the viewer and then its top.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import shapely

from holders.design.model import Design, Groove, Plate, Rect, Role, Slab, Window
from holders.design.parts.opened import opened
from holders.design.pieces.pose import part_bounds
from holders.facts.habits import habit
from holders.geometry.outline import Outline, Point, Region, area, circle, points
from holders.output.draw.canvas import EDGE, FINE, Pen, Picture
from holders.output.draw.plan import plain

COS, SIN = math.cos(math.pi / 6), math.sin(math.pi / 6)
RAISE = 3.0  # heights are drawn this much larger
CHORD_MM = 0.3
APART = 0.2  # of a piece's way from the middle of its whole
LEAST_GAP, MOST_GAP = 0.07, 0.30  # between levels, of the holder's width and length as seen
RIM = 2.0  # mm of paper around
WALL, WALL_DARK, TOP = "#d8d8d8", "#b4b4b4", "#fafafa"
SEAM, SEAM_DARK = Pen(0.16, 0.847), Pen(0.16, 0.706)  # walls meet without a gap between their facets
SHARP_RAD, SAME_MM = 0.4, 1e-4
LOW_MM = 0.9  # of paper: edges of lower steps are thin, or they run together
FOOT, FILM_FILL, PICTURE_FILL, GLASS_FILL = "#6a6a6a", "#e2e2e2", "#9c9c9c", "#f2f2f2"
STEEL_FILL = "#8a8f94"
FEET, FILM, PANE, MAGNET, PIN = "feet", "film", "pane", "magnet", "pin"  # the keys of what is no part
# magnets and pins hang so far over their places, and a lid's magnets under theirs; a pin is drawn that high
OVER_MM, UNDER_MM, PIN_MM = 2.0, 4.0, 4.0

At = Callable[[float, float, float], Point]


@dataclass(frozen=True, slots=True)
class Thing:
    """Something drawn: a part's key (its name, or feet, film, pane), where it stands and the look of its top."""

    key: str
    z0: float
    level: float  # height by which it is sorted into a level
    slabs: tuple[Slab, ...]
    shift: Point = (0.0, 0.0)
    top: str = TOP
    opacity: float = 1.0
    grooves: tuple[Groove, ...] = ()
    picture: Rect | None = None


@dataclass(frozen=True, slots=True)
class Painted:
    """A surface on paper and whose it is, in the order of painting; ``top`` where it faces up."""

    key: str
    shape: shapely.Polygon
    top: bool
    opaque: bool


@dataclass(frozen=True, slots=True)
class Exploded:
    """The picture and what was painted, lowest first."""

    picture: Picture
    painted: tuple[Painted, ...]


def pulled_apart(design: Design, width: float, height: float = math.inf, exact: bool = False) -> Exploded:
    """All parts above one another, at most ``width`` wide and ``height`` high on paper, mm."""
    moves = _moves(design)
    things = _things(design, moves)
    levels = sorted({round(thing.level, 3) for thing in things})
    x0, y0, wide, high = _extent(design, moves)
    flat, raised = (wide + high) * SIN, design.total_height * RAISE
    scale = (width - 2 * RIM) / ((wide + high) * COS)
    steps = max(1, len(levels) - 1)
    tight = flat + raised + steps * LEAST_GAP * flat
    scale = min(scale, (height - 2 * RIM) / tight)
    most = MOST_GAP * flat if math.isinf(height) else ((height - 2 * RIM) / scale - flat - raised) / steps
    gap = min(MOST_GAP * flat, most)
    rise = raised + (len(levels) - 1) * gap
    picture = Picture((wide + high) * COS * scale + 2 * RIM, (flat + rise) * scale + 2 * RIM, exact)
    left, bottom = RIM + high * COS * scale, picture.height - RIM

    def at(x: float, y: float, z: float) -> Point:
        across, up = (x - x0) - (y - y0), (x - x0) + (y - y0)
        return left + across * COS * scale, bottom - (up * SIN + z) * scale

    painted: list[Painted] = []
    for thing in sorted(things, key=lambda t: _farthest_first(t, levels)):
        painted += _thing(picture, thing, levels.index(round(thing.level, 3)) * gap, at)
    return Exploded(picture, tuple(painted))


def stacked(design: Design) -> tuple[tuple[int, Thing], ...]:
    """What lies in a holder with the level that each is pulled apart to, from the glass up and in the order of loading:
    feet, parts, film, bought glass; nothing moved aside, without magnets and pins.
    """
    things = [
        thing
        for thing in _things(design, {part.name: (0.0, 0.0) for part in design.parts})
        if thing.key not in (MAGNET, PIN)
    ]
    levels = sorted({round(thing.level, 3) for thing in things})
    found = [(levels.index(round(thing.level, 3)), thing) for thing in things]
    return tuple(sorted(found, key=lambda one: (one[0], one[1].z0)))


def _farthest_first(thing: Thing, levels: Sequence[float]) -> tuple[int, float, float]:
    boxes = [points(slab.region.outer, CHORD_MM) for slab in thing.slabs]
    near = min(x + y for ring in boxes for x, y in ring) + sum(thing.shift)
    return levels.index(round(thing.level, 3)), -near, thing.z0


def _things(design: Design, moves: dict[str, Point]) -> list[Thing]:
    """Everything to draw, unsorted."""
    found = []
    for part in design.parts:
        mx, my = moves[part.name]
        slabs = tuple(sorted(opened(part), key=lambda s: s.z0))
        for dx, dy in part.places:
            shift = (dx + mx, dy + my)
            found.append(Thing(part.name, part.z0, part.z0, slabs, shift, grooves=part.grooves))
    found += [*_magnets(design, moves), *_pins(design)]
    under = min((part.z0 for part in design.parts if part.in_frame), default=0.0)
    for foot in design.feet:
        slab = Slab(FEET, 0.0, design.foot_thickness, Region(foot.outline()))
        found.append(Thing(FEET, 0.0, under - 1.0, (slab,), top=FOOT))
    laid = [plate for made in design.every_fitted for plate in made.plates]
    in_pocket = [_film(design, one, window) for one in design.each for window in one.mine]
    if any(plate.is_film for plate in laid):  # glass lies in the pocket, and the film on it
        in_pocket = [replace(thing, top=GLASS_FILL, opacity=0.35, picture=None) for thing in in_pocket]
    found += in_pocket
    for number, plate in enumerate(laid):
        found += _laid(design, plate, pane_key(number))
    return found


def _magnets(design: Design, moves: dict[str, Point]) -> list[Thing]:
    """The magnets over their pits in the frame, and under those in the lid."""
    found = []
    for part in design.parts:
        for cut in (cut for cut in part.cuts if cut.magnet):
            thick = cut.z1 - cut.z0
            low = part.z1 + OVER_MM if part.in_frame else part.z0 - UNDER_MM - thick
            slab = Slab(MAGNET, low, low + thick, Region(cut.outline))
            mx, my = moves[part.name]
            found += [
                Thing(MAGNET, low, part.z0, (slab,), (dx + mx, dy + my), FOOT) for dx, dy in part.places
            ]
    return found


def _pins(design: Design) -> list[Thing]:
    """The pins over what they hold."""
    found = []
    for made in design.fitted:
        for name, spot in made.spots():
            if name != PIN:
                continue
            over = max(part.z1 for part in design.parts) + OVER_MM
            slab = Slab(PIN, over, over + PIN_MM, Region(circle(spot.x, spot.y, habit("dowel") / 2)))
            level = max(part.z0 for part in design.parts)
            found.append(Thing(PIN, over, level, (slab,), top=FOOT))
    return found


def _laid(design: Design, plate: Plate, key: str) -> list[Thing]:
    """A flat piece at each of its places: glass, or the film with its picture."""
    top, opacity = (FILM_FILL, 0.8) if plate.is_film else (GLASS_FILL, 0.35)
    over = _over(design, plate.z0) + 0.002
    if plate.on_lid:
        top, opacity = STEEL_FILL, 1.0
        lid = max(part.z1 for part in design.parts if part.role is Role.LID)
        over = lid + 0.5 if plate.z0 >= lid - 1e-6 else over
    found = []
    for number, rect in enumerate(plate.places):
        slab = Slab(PANE, plate.z0, plate.z1, Region(plain(rect)))
        picture = design.windows[number].picture if plate.is_film else None
        found.append(Thing(key, plate.z0, over, (slab,), top=top, opacity=opacity, picture=picture))
    return found


def _film(design: Design, own: Design, window: Window) -> Thing:
    """A film on its ledge; ``own`` looks at its kind."""
    ledge, over = own.heights.drawn_ledge, _over(design, own.heights.drawn_ledge)
    sheet = (Slab(FILM, ledge, ledge + own.in_pocket_mm, Region(plain(window.film))),)
    return Thing(film_key(window.kind), ledge, over, sheet, (0.0, 0.0), FILM_FILL, 0.8, (), window.picture)


def film_key(kind: int) -> str:
    """The key of a kind of film, counted from 0."""
    return FILM if kind == 0 else f"{FILM} {kind + 1}"


def pane_key(number: int) -> str:
    """The key of a bought plate, counted from 0."""
    return PANE if number == 0 else f"{PANE} {number + 1}"


def _over(design: Design, z: float) -> float:
    """A level of its own for what lies at height ``z``: over all of the frame, under the lid."""
    frame = max(part.z0 for part in design.parts if part.in_frame)
    above = [part.z0 for part in design.parts if not part.in_frame and part.z0 > frame + 1e-6]
    return (frame + min(above)) / 2 if above else max(z, frame) + 0.5


def _moves(design: Design) -> dict[str, Point]:
    """How far each part is moved aside: pieces away from the middle of their whole, others not at all."""
    found: dict[str, Point] = {}
    for part in design.parts:
        mates = [part_bounds(p) for p in design.parts if p.whole and p.whole == part.whole] or [(0.0,) * 4]
        x0, y0, x1, y1 = part_bounds(part)
        mx = (min(b[0] for b in mates) + max(b[2] for b in mates)) / 2
        my = (min(b[1] for b in mates) + max(b[3] for b in mates)) / 2
        away = ((x0 + x1) / 2 - mx, (y0 + y1) / 2 - my) if part.whole else (0.0, 0.0)
        found[part.name] = (APART * away[0], APART * away[1])
    return found


def _extent(design: Design, moves: dict[str, Point]) -> tuple[float, float, float, float]:
    """Least x and y of all that is drawn, and its width and length."""
    o = design.outer
    boxes = [(o.x, o.y, o.right, o.top)] if not design.seams else []
    for part in design.parts:
        (x0, y0, x1, y1), (mx, my) = part_bounds(part), moves[part.name]
        boxes += [(x0 + mx + dx, y0 + my + dy, x1 + mx + dx, y1 + my + dy) for dx, dy in part.places]
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    return x0, y0, max(b[2] for b in boxes) - x0, max(b[3] for b in boxes) - y0


def _thing(picture: Picture, thing: Thing, lift: float, at: At) -> list[Painted]:
    """Draw one thing, and what was painted."""
    found: list[Painted] = []
    for slab in thing.slabs:
        found += _slab(picture, thing, slab, lift, at)
    if thing.picture is not None:
        z, ring = lift + thing.slabs[0].z1 * RAISE, points(plain(thing.picture), CHORD_MM)
        picture.polygon([[at(x, y, z) for x, y in ring]], None, PICTURE_FILL, thing.opacity)
    for groove in thing.grooves:
        z, (dx, dy) = lift + groove.z_top * RAISE, thing.shift
        picture.strokes([[at(x + dx, y + dy, z) for x, y in s] for s in groove.strokes], FINE)
    return found


def _slab(picture: Picture, thing: Thing, slab: Slab, lift: float, at: At) -> list[Painted]:
    z0, z1 = lift + slab.z0 * RAISE, lift + slab.z1 * RAISE
    below, above = (_walls_at(thing, z, end) for z, end in ((slab.z0, "z1"), (slab.z1, "z0")))
    opaque = thing.opacity >= 1.0
    pen = EDGE if abs(at(0, 0, z1)[1] - at(0, 0, z0)[1]) > LOW_MM else FINE
    found, tops = [], []
    rings = [(hole, -1.0) for hole in slab.region.holes] + [(slab.region.outer, 1.0)]
    for outline, outward in rings:
        ring = points(outline, CHORD_MM)
        sense = outward * _sense(outline)
        upright = set(_upright(ring, sense))
        for a, b, dark in _facing(ring, sense):
            foot = [at(*_moved(p, thing.shift), z0) for p in (a, b)]
            top = [at(*_moved(p, thing.shift), z1) for p in (a, b)]
            quad = [*foot, *reversed(top)]
            picture.polygon([quad], SEAM_DARK if dark else SEAM, WALL_DARK if dark else WALL, thing.opacity)
            found.append(Painted(thing.key, shapely.Polygon(quad), False, opaque))
            lines = [[low, high] for p, low, high in zip((a, b), foot, top, strict=True) if p in upright]
            picture.strokes([*lines, *([foot] if _segment(a, b) not in below else [])], pen)
        tops.append(ring)
    paper = [[at(*_moved(p, thing.shift), z1) for p in ring] for ring in tops]
    picture.polygon(paper, None, thing.top, thing.opacity)
    for ring, drawn in zip(tops, paper, strict=True):
        picture.strokes(_edges(ring, drawn, above), pen)
    shape = shapely.Polygon(paper[-1]).difference(shapely.union_all([shapely.Polygon(r) for r in paper[:-1]]))
    found += [Painted(thing.key, piece, True, opaque) for piece in shapely.get_parts(shape)]
    return found


def _moved(point: Point, shift: Point) -> Point:
    return point[0] + shift[0], point[1] + shift[1]


def _segment(a: Point, b: Point) -> tuple[float, ...]:
    """A wall piece, the same whichever way it is run along."""
    one, two = sorted(((round(a[0], 3), round(a[1], 3)), (round(b[0], 3), round(b[1], 3))))
    return (*one, *two)


def _walls_at(thing: Thing, z: float, end: str) -> set[tuple[float, ...]]:
    """The wall pieces of slabs that begin or end at a height: where walls go on there is no edge."""
    found = set()
    for slab in thing.slabs:
        if abs(getattr(slab, end) - z) < SAME_MM:
            for outline in (slab.region.outer, *slab.region.holes):
                ring = points(outline, CHORD_MM)
                found |= {_segment(a, b) for a, b in pairwise([*ring, ring[0]])}
    return found


def _edges(ring: list[Point], drawn: list[Point], without: set[tuple[float, ...]]) -> list[list[Point]]:
    """A ring as lines on paper, broken where a wall goes on."""
    lines: list[list[Point]] = []
    for k in range(len(ring)):
        after = (k + 1) % len(ring)
        if _segment(ring[k], ring[after]) in without:
            continue
        if lines and lines[-1][-1] == drawn[k]:
            lines[-1].append(drawn[after])
        else:
            lines.append([drawn[k], drawn[after]])
    return lines


def _upright(ring: list[Point], sense: float) -> list[Point]:
    """Corners of a wall that show as upright lines: sharp ones, and where the wall turns out of sight."""
    found = []
    for before, here, after in zip([ring[-1], *ring[:-1]], ring, [*ring[1:], ring[0]], strict=True):
        one, two = (here[0] - before[0], here[1] - before[1]), (after[0] - here[0], after[1] - here[1])
        sees = [(step[1] - step[0]) * sense < 0 for step in (one, two)]
        turn = abs(math.atan2(one[0] * two[1] - one[1] * two[0], one[0] * two[0] + one[1] * two[1]))
        if any(sees) and (turn > SHARP_RAD or sees[0] != sees[1]):
            found.append(here)
    return found


def _sense(outline: Outline) -> float:
    return 1.0 if area(outline) > 0 else -1.0


def _facing(ring: list[Point], sense: float) -> list[tuple[Point, Point, bool]]:
    """Wall pieces that look toward the home corner, farthest first; dark ones look to the right."""
    found = []
    for a, b in pairwise([*ring, ring[0]]):
        nx, ny = (b[1] - a[1]) * sense, (a[0] - b[0]) * sense
        if nx + ny < 0:
            found.append((a, b, abs(ny) > abs(nx)))
    return sorted(found, key=lambda item: -(item[0][0] + item[0][1] + item[1][0] + item[1][1]))
