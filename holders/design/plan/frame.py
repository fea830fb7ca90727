"""The frame itself: one printed part, or one part per sheet for laser and knife; the same slabs either way."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

from holders.design.draft.bed import outer_radius_mm
from holders.design.draft.levels import Levels, levels_at, lowest
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout, Place
from holders.design.height.heights import foot_protrusion, print_offset_mm
from holders.design.model import Cut, Foot, Groove, Part, Rect, Slab
from holders.design.parts.lettering import strokes_in
from holders.design.plan import code_notch
from holders.design.plan.feet import FOOT_SLIP_MM
from holders.design.plan.lighten import tray_floor_mm
from holders.design.plan.pins import crosses, marks
from holders.facts.models import Process
from holders.fittings.base import Added
from holders.geometry.outline import Outline, Point, Region, rectangle, walled
from holders.preset.holder_code import holder_code
from holders.preset.resolve import Job

TRAY_RADIUS_MM = 2.0
BETWEEN_TEXTS_MM = 6.0
EVEN_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Relief:
    """What stands back under the window edge: a chamfer below ``land_top`` (print) or a step of the lower sheets."""

    land: float  # full-width height directly below the ledge, mm
    flare: float  # chamfer: growth at the underside, mm
    step: float  # sheets: how far those below the lip sheet stand back, mm


@dataclass(frozen=True, slots=True)
class Shape:
    """All that the frame's slabs are made of."""

    job: Job
    layout: Layout
    levels: Levels
    rules: Process
    notches: tuple[tuple[Notch, ...], ...]
    feet: tuple[Foot, ...]
    foot_recess: float
    relief: Relief
    shell: Outline
    holes: tuple[Outline, ...]
    added: tuple[Added, ...] = ()  # what fittings add
    texts: tuple[str, ...] | None = None  # None: film and ledge
    key: float = 0.0  # what the pocket keeps of its corner
    hollow_key: bool = False  # round, not slanted
    trays: tuple[Rect, ...] = ()  # what is hollowed down to a floor
    notched: bool = True  # whether a triangle says where code notches lie
    each: tuple[
        Levels, ...
    ] = ()  # of every kind of film, in a holder for several; ``levels`` has the highest ledge

    def levels_at(self, place: Place) -> Levels:
        """The heights of the film at a place."""
        return levels_at(self.each or (self.levels,), place)

    @property
    def stepped(self) -> bool:
        """Whether films lie at different heights."""
        return len({(one.ledge, one.shoulder) for one in self.each}) > 1


def slabs(shape: Shape) -> tuple[Slab, ...]:
    """The frame's slabs from the underside up."""
    found, z = [], shape.levels.under
    below = shape.levels.below
    below = (*below[:-1], below[-1] - sum(one.fitted.floor_mm() for one in shape.added))
    hollow = tuple(rectangle(r.x, r.y, r.width, r.height, TRAY_RADIUS_MM) for r in shape.trays)
    if hollow and shape.job.printer is not None:
        floor = z + tray_floor_mm(shape.job.printer)
        windows = tuple(_opened(shape, p, n, 0.0) for p, n in _pairs(shape))
        found.append(Slab("floor", z, floor, _region(shape, windows)))
        z = floor
    if shape.stepped:
        return (*found, *_steps(shape, z, hollow))
    for number, top in enumerate(below, 1):
        step = shape.relief.step if number < len(below) else 0.0
        name = "ledge" if number == len(below) else f"base {number}"
        windows = tuple(_opened(shape, p, n, step) for p, n in _pairs(shape))
        spots = marks(shape.feet) if number == 1 and shape.rules.key == "laser" else ()
        found.append(Slab(name, z, top, _region(shape, (*windows, *hollow, *spots, *_holes(shape, z)))))
        z = top + shape.levels.glue
    found += [rail for one in shape.added for rail in one.rails]
    if shape.levels.shoulder is not None:
        walls = tuple(_pocket(shape, p, n, shape.layout.shoulder) for p, n in _pairs(shape))
        found.append(Slab("shoulder", z, shape.levels.shoulder, _region(shape, (*walls, *hollow))))
        z = shape.levels.shoulder
    if shape.levels.flat:
        return tuple(found)
    walls = tuple(_pocket(shape, p, n, 0.0) for p, n in _pairs(shape))
    found.append(Slab("wall", z, shape.levels.top, _region(shape, (*walls, *hollow, *_holes(shape, z)))))
    return tuple(found)


def _steps(shape: Shape, z: float, hollow: tuple[Outline, ...]) -> list[Slab]:
    """The slabs from ``z`` up of a printed frame whose films lie at different heights: between two of their heights
    each place is still window, already pocket inside a shoulder, or all of its room.
    """
    tops = {round(one.top, 6) for one in shape.each} | {round(one.ledge, 6) for one in shape.each}
    tops |= {round(one.shoulder, 6) for one in shape.each if one.shoulder is not None}
    found = []
    for number, top in enumerate(sorted(top for top in tops if top > z + EVEN_MM), 1):
        middle = (z + top) / 2
        holes = tuple(_at(shape, place, mine, middle) for place, mine in _pairs(shape))
        found.append(Slab(f"step {number}", z, top, _region(shape, (*holes, *hollow, *_holes(shape, z)))))
        z = top
    return found


def _at(shape: Shape, place: Place, mine: tuple[Notch, ...], z: float) -> Outline:
    """What is open at a place at a height above the glass."""
    own = shape.levels_at(place)
    if z < own.ledge:
        return _opened(shape, place, mine, 0.0)
    beside = own.shoulder is not None and z < own.shoulder
    return _pocket(shape, place, mine, shape.layout.shoulder if beside else 0.0)


def parts(shape: Shape) -> tuple[Part, ...]:
    """The frame as parts."""
    job, made = shape.job, slabs(shape)
    letters = lettering(shape)
    if job.preset.route == "print":
        own = _chamfers(shape) + _recesses(shape) + _scoops(shape)
        cuts = (*own, *(cut for one in shape.added for cut in one.cuts))
        return (Part("frame", "frame", "print", job.material.key, 1, made, cuts, letters),)
    return tuple(
        Part(
            name=f"sheet-{number}-{slab.name.split()[0]}",
            title=f"sheet {number} from the glass: {slab.name} ({slab.z1 - slab.z0:.2f} mm)",
            process=job.preset.route,
            material=job.material.key,
            quantity=1,
            slabs=(slab,),
            grooves=(
                *(crosses(shape.feet, slab.z1) if number == 1 and shape.rules.key == "knife" else ()),
                *(letters if number == len(made) else ()),
            ),
        )
        for number, slab in enumerate(made, 1)
    )


def _pairs(shape: Shape) -> list[tuple[Place, tuple[Notch, ...]]]:
    return list(zip(shape.layout.places, shape.notches, strict=True))


def _region(shape: Shape, windows: tuple[Outline, ...]) -> Region:
    return Region(shape.shell, (*shape.holes, *windows))


def _opening(shape: Shape, place: Place, step: float) -> Outline:
    o = place.opening.grown(step)
    return rectangle(o.x, o.y, o.width, o.height, shape.rules.window_radius_mm)


def _opened(shape: Shape, place: Place, mine: tuple[Notch, ...], step: float) -> Outline:
    """The window with the thumb opening that leads to it, where a notch has one."""
    o = place.opening.grown(step)
    bays = [notch.through(step, place) for notch in mine if notch.through_mm > 0]
    return walled(o.x, o.y, o.width, o.height, shape.rules.window_radius_mm, bays)


def _pocket(shape: Shape, place: Place, mine: tuple[Notch, ...], inside: float) -> Outline:
    """The pocket wall, ``inside`` mm inward of the place's room, opened by its notches."""
    r = place.room.grown(-inside)
    radius = corner_radius(shape, r)
    return walled(
        r.x, r.y, r.width, r.height, radius, [n.bay(inside) for n in mine], shape.key, shape.hollow_key
    )


def corner_radius(shape: Shape, room: Rect) -> float:
    """Radius of a pocket's corners: so small that a square corner of film or glass, off by all its clearance, never
    meets the arc.

    An arc of radius r keeps (1 - 1/sqrt 2) r = r / 3.41 of clearance for itself.
    """
    laid = (plate for one in shape.added for plate in one.fitted.plates if not plate.on_lid)
    glass = (rect for plate in laid for rect in plate.places)
    gaps = (
        min(rect.x - room.x, room.right - rect.right, rect.y - room.y, room.top - rect.top)
        for rect in glass
        if room.contains(rect)
    )
    return min(shape.rules.pocket_radius_mm, 3.4 * min((shape.job.preset.layout.clearance_mm, *gaps)))


def _chamfers(shape: Shape) -> tuple[Cut, ...]:
    if shape.relief.flare <= 0:
        return ()
    under, land, flare = shape.levels.under, shape.relief.land, shape.relief.flare
    return tuple(
        Cut("window chamfer", _opening(shape, place, 0.0), under, shape.levels_at(place).ledge - land, flare)
        for place in shape.layout.places
    )


def _recesses(shape: Shape) -> tuple[Cut, ...]:
    if shape.foot_recess <= 0:
        return ()
    under = shape.levels.under
    deep = [(f, shape.foot_recess - f.raise_mm) for f in shape.feet]
    return tuple(
        Cut("foot recess", f.outline(FOOT_SLIP_MM), under, under + depth, foot=True)
        for f, depth in deep
        if depth > 0
    )


def _scoops(shape: Shape) -> tuple[Cut, ...]:
    """Shallow dips under the film's edge at the notches, so that a fingernail finds it."""
    rules, least = shape.rules, lowest(shape.each or (shape.levels,)).ledge
    depth = min(rules.scoop_mm, least - shape.levels.under - rules.land_mm - shape.foot_recess)
    if depth < rules.scoop_mm / 2 or not all(one.scoops for one in shape.added):
        return ()
    found = []
    for place, mine in _pairs(shape):
        ledge = shape.levels_at(place).ledge
        for notch in mine:
            if notch.through_mm > 0:
                continue
            box = _scoop_box(notch, place, shape)
            # inside the bay's round corner, a millimetre off, and no rounder than its own sides allow
            radius = min(max(1.0, notch.bay().radius_mm - 3.0), box.width / 2, box.height / 2)
            found.append(
                Cut("scoop", rectangle(box.x, box.y, box.width, box.height, radius), ledge - depth, ledge)
            )
    return tuple(found)


def _scoop_box(notch: Notch, place: Place, shape: Shape) -> Rect:
    """From half the lip under the film's edge out to a millimetre short of the notch's end."""
    under = min(1.0, shape.layout.lips_at(place).of(notch.edge) / 2)
    half = notch.width_mm / 2 - 1.0
    out = notch.depth_mm - 1.0
    f, r, c = place.film, place.room, notch.centre_mm
    if notch.edge == "left":
        return Rect(r.x - out, c - half, f.x + under - (r.x - out), 2 * half)
    if notch.edge == "right":
        return Rect(f.right - under, c - half, r.right + out - (f.right - under), 2 * half)
    if notch.edge == "foot":
        return Rect(c - half, r.y - out, 2 * half, f.y + under - (r.y - out))
    return Rect(c - half, f.top - under, 2 * half, r.top + out - (f.top - under))


def _holes(shape: Shape, z: float) -> tuple[Outline, ...]:
    """The fittings' holes through a sheet whose underside is at ``z``."""
    return tuple(hole.outline for one in shape.added for hole in one.holes if z >= hole.above - 1e-9)


def _beside_pockets(shape: Shape) -> list[tuple[tuple[str, str], list[Rect]]]:
    """For each pocket of a holder for several kinds of film what names its film, with the height and short, and the
    plain strips beside it.
    """
    if not shape.job.kinds:
        return []
    films = frame_texts(shape)[-len(shape.job.each) :]
    return [
        ((films[place.kind], shape.job.of(place.kind).film.key), _beside(shape, place))
        for place in shape.layout.places
    ]


def _beside(shape: Shape, place: Place) -> list[Rect]:
    """The plain strips beside a pocket, the largest first."""
    rooms = [other.room for other in shape.layout.places if other is not place]
    blocks = [n.rect(p.room).grown(1.0) for p, mine in _pairs(shape) for n in mine]
    blocks += [block.grown(1.0) for one in shape.added for block in one.blocks]
    blocks += [tray.grown(1.0) for tray in shape.trays]
    blocks += [] if shape.layout.keep_open is None else [shape.layout.keep_open.grown(1.0)]
    edge = max(shape.rules.corner_cut_mm, outer_radius_mm(shape.job.preset))
    strips = _around_room(place.room, rooms, shape.layout.outer, edge)
    return _largest_first(piece for strip in strips for piece in _without(strip, blocks))


def _around_room(room: Rect, others: Sequence[Rect], outer: Rect, edge: float) -> list[Rect]:
    """The strips between a pocket's room and what is next to it on each side, those at head and foot as long as no
    other room ends them, and ``edge`` from the rounded corners.
    """
    level = [r for r in others if r.y < room.top and r.top > room.y]
    upright = [r for r in others if r.x < room.right and r.right > room.x]
    left = max([outer.x, *(r.right for r in level if r.right <= room.x)])
    right = min([outer.right, *(r.x for r in level if r.x >= room.right)])
    foot = max([outer.y, *(r.top for r in upright if r.top <= room.y)])
    head = min([outer.top, *(r.y for r in upright if r.y >= room.top)])

    def wide(low: float, high: float) -> Rect:
        beside = [r for r in others if r.y < high and r.top > low]
        x0 = max([min(room.x, outer.x + edge), *(r.right for r in beside if r.right <= room.x)])
        x1 = min([max(room.right, outer.right - edge), *(r.x for r in beside if r.x >= room.right)])
        return Rect(x0, low, x1 - x0, high - low)

    return [
        wide(foot, room.y),
        wide(room.top, head),
        Rect(left, room.y, room.x - left, room.height),
        Rect(room.right, room.y, right - room.right, room.height),
    ]


def lettering(shape: Shape) -> tuple[Groove, ...]:
    """What is written on top, the most important first; what finds no room is left out."""
    if not shape.job.preset.layout.label:
        return ()
    texts = frame_texts(shape) if shape.texts is None else shape.texts
    marks = _code_notches(shape, ())  # they have one place each, lettering has many
    tries = [_all_written(shape, texts, some) for some in ((marks, ()) if marks else ((),))]
    found = max(tries, key=lambda one: sum(not groove.fixed for groove in one))
    return (*found, *(() if marks and marks[0] in found else _code_notches(shape, found)))


def _all_written(shape: Shape, texts: Sequence[str], marks: tuple[Groove, ...]) -> tuple[Groove, ...]:
    """All lettering, clear of the marks, which come last."""
    taken = [_around(mark.strokes).grown(1.0) for mark in marks]
    clear = _written(shape, texts, _past(free_strips(shape, clear_of_feet=True), taken))
    found = clear if len(clear) == len(texts) else _written(shape, texts, _past(free_strips(shape), taken))
    return (*found, *_named_pockets(shape, (*found, *marks)), *marks)


def _past(strips: Sequence[Rect], marks: list[Rect]) -> list[Rect]:
    """The strips beside the marks, and those beyond them."""
    beyond = [
        Rect(s.x, m.top, s.width, s.top - m.top)
        for s in strips
        for m in marks
        if m.overlaps(s) and s.top > m.top
    ]
    return _largest_first(piece for strip in (*strips, *beyond) for piece in _without(strip, marks))


def _code_notches(shape: Shape, written: Sequence[Groove]) -> tuple[Groove, ...]:
    """A triangle beside each sheet where its code notches lie, where it finds room beside what is written already."""
    rules, taken = shape.rules, [_around(groove.strokes).grown(1.0) for groove in written]
    found = []
    for place, text in code_notch.marked(shape.job.each, shape.layout) if shape.notched else ():
        free = [piece for strip in _beside(shape, place) for piece in _without(strip, taken)]
        side = code_notch.notch_side(shape.job.of(place.kind).preset.film.emulsion)
        strokes = code_notch.triangle(place, side, free, rules)
        if strokes is not None:
            wide, deep = rules.groove_width_mm, rules.groove_depth_mm
            found.append(Groove(text, strokes, wide, deep, shape.levels.top, fixed=True))
    return tuple(found)


def _named_pockets(shape: Shape, written: Sequence[Groove]) -> tuple[Groove, ...]:
    """The name of its film beside each pocket, where that finds room beside what is written already."""
    rules, taken = shape.rules, [_around(groove.strokes).grown(BETWEEN_TEXTS_MM / 2) for groove in written]
    found: list[Groove] = []
    there = {groove.text for groove in written}
    for (long, short), strips in _beside_pockets(shape):
        # of a film whose height found no room elsewhere it stands beside its own pocket, once, in place of the name
        texts = (short,) if long in there else (long, short)
        free = [piece for strip in strips for piece in _without(strip, taken)]
        sizes = (rules.letter_mm, rules.letter_least_mm)
        for text, least, strip in product(texts, sizes, free):
            strokes = strokes_in(text, strip, rules.letter_mm, least)
            if strokes is not None:
                found.append(
                    Groove(text, strokes, rules.groove_width_mm, rules.groove_depth_mm, shape.levels.top)
                )
                taken.append(_around(strokes).grown(BETWEEN_TEXTS_MM / 2))
                there.add(text)
                break
    return tuple(found)


def _written(shape: Shape, texts: Sequence[str], free: list[Rect]) -> tuple[Groove, ...]:
    """The first text in the largest strip that takes it, the others each in the smallest, so that most find room."""
    rules = shape.rules
    found: list[Groove] = []
    for text in texts:
        ways = list(range(len(free))) if not found else list(reversed(range(len(free))))
        for k, least in [(k, least) for least in (rules.letter_mm, rules.letter_least_mm) for k in ways]:
            strokes = strokes_in(text, free[k], rules.letter_mm, least)
            if strokes is not None:
                found.append(
                    Groove(text, strokes, rules.groove_width_mm, rules.groove_depth_mm, shape.levels.top)
                )
                taken = [_around(strokes).grown(BETWEEN_TEXTS_MM)]
                free[:] = _largest_first(piece for strip in free for piece in _without(strip, taken))
                break
    return tuple(found)


def _around(strokes: Sequence[Sequence[Point]]) -> Rect:
    """The rectangle that lettering takes."""
    xs, ys = zip(*(point for stroke in strokes for point in stroke), strict=True)
    return Rect(min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys))


def frame_texts(shape: Shape, code: str = "") -> tuple[str, ...]:
    """The lettering of a frame, the most important first: which side is up, a code, the holder's code, film and ledge.

    The height is that of the ledge above the scanner's glass as it comes out, feet and any carrier included. ``code``:
    of an insert, alike on every carrier that it fits; it stands instead of the holder's own.
    """
    job = shape.job
    sides = dict.fromkeys(one.preset.film.emulsion for one in job.each)
    side = f" - emulsion {next(iter(sides))}" if len(sides) == 1 else ""
    films = [
        _film_text(one, own.ledge, side=len(sides) > 1)
        for one, own in zip(job.each, shape.each or (shape.levels,), strict=True)
    ]
    return (f"this side up{side}", code or holder_code(job), *films)


def _film_text(job: Job, ledge: float, *, side: bool) -> str:
    """Which film lies how high, and with which side down where not all lie alike."""
    made = ledge + print_offset_mm(job.printer, job.printed, ledge - foot_protrusion(job))
    emulsion = f"  emulsion {job.preset.film.emulsion}" if side else ""
    return f"{job.film.key}{emulsion}  {made:.2f} mm over glass"


def free_strips(shape: Shape, clear_of_feet: bool = False) -> list[Rect]:
    """Plain strips of the top face at head, foot and sides, cut short by notches and holes, and by feet below."""
    o, rules = shape.layout.outer, shape.rules
    rooms = [p.room for p in shape.layout.places]
    blocks = [n.rect(p.room).grown(1.0) for p, mine in _pairs(shape) for n in mine]
    blocks += [block.grown(1.0) for one in shape.added for block in one.blocks]
    blocks += [tray.grown(1.0) for tray in shape.trays]
    if shape.layout.keep_open is not None:
        blocks.append(shape.layout.keep_open.grown(1.0))
    if clear_of_feet:
        blocks += [foot.box.grown(1.0) for foot in shape.feet]
    edge = max(rules.corner_cut_mm, outer_radius_mm(shape.job.preset))
    low, high = min(r.y for r in rooms), max(r.top for r in rooms)
    left, right = min(r.x for r in rooms), max(r.right for r in rooms)
    strips = [
        Rect(o.x + edge, high, o.width - 2 * edge, o.top - high),
        Rect(o.x + edge, o.y, o.width - 2 * edge, low - o.y),
        Rect(o.x, o.y + edge, left - o.x, o.height - 2 * edge),
        Rect(right, o.y + edge, o.right - right, o.height - 2 * edge),
    ]
    if shape.trays:  # the rim beyond them, in halves: one text each
        low_edge, half = max(t.top for t in shape.trays), o.width / 2 - edge
        strips += [
            Rect(x, low_edge + 1.0, half, o.top - low_edge - 1.0) for x in (o.x + edge, o.x + o.width / 2)
        ]
    pieces = [piece for strip in strips for piece in _without(strip, blocks)]
    return _largest_first(pieces)


def _largest_first(strips: Iterable[Rect]) -> list[Rect]:
    """Strips in the order of the room that they give lettering."""
    return sorted(strips, key=lambda r: -min(r.width, r.height, 12.0) * max(r.width, r.height))


def _without(strip: Rect, blocks: list[Rect]) -> list[Rect]:
    """The strip cut along its length wherever a block reaches into it."""
    flat = strip.width >= strip.height
    pieces = [strip]
    for b in (b for b in blocks if b.overlaps(strip)):
        rest = []
        for p in pieces:
            if not b.overlaps(p):
                rest.append(p)
            elif flat:
                rest += [Rect(p.x, p.y, b.x - p.x, p.height), Rect(b.right, p.y, p.right - b.right, p.height)]
            else:
                rest += [Rect(p.x, p.y, p.width, b.y - p.y), Rect(p.x, b.top, p.width, p.top - b.top)]
        pieces = [p for p in rest if p.width > 0 and p.height > 0]
    return pieces
