"""What is written on the frame's top, where it finds room: which side is up, the pockets' numbers, code, height."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import product
from typing import Literal

import shapely

from holders.design.draft.bed import outer_radius_mm
from holders.design.draft.places import Place
from holders.design.height.heights import foot_protrusion, print_offset_mm
from holders.design.model import Groove, Rect
from holders.design.parts import pocket_number
from holders.design.parts.lettering import strokes_in
from holders.design.parts.sections import area_of, polygon
from holders.design.plan import code_notch
from holders.design.plan.corner_stops import corner_stops, stops_width_mm
from holders.design.plan.frame import Shape, slabs
from holders.geometry.outline import Point, Region
from holders.preset.holder_code import holder_code
from holders.preset.resolve import Job

BETWEEN_TEXTS_MM = 6.0

Order = Literal["first", "second", "last"]  # when the pockets' numbers are placed


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
    blocks = [n.rect(p.room).grown(1.0) for p, mine in shape.pairs for n in mine]
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
    many = pocket_number.texts(len(shape.layout.places)) if shape.notched else ()
    top = slabs(shape)[-1].region if many else None
    wanted = {*texts, *many}
    best: tuple[Groove, ...] = ()
    orders: tuple[Order, ...] = ("second", "first", "last") if many else ("last",)
    for some, order in product((marks, ()) if marks else ((),), orders):
        found = _all_written(shape, texts, some, top, order)
        best = max(best, found, key=lambda one: _worth(one, texts[0]))
        if wanted <= {groove.text for groove in best}:
            break
    return (*best, *(() if marks and marks[0] in best else _code_notches(shape, best)))


def _worth(written: Sequence[Groove], first: str) -> tuple[bool, int, int]:
    """What decides between two ways: the first text, then the pockets' numbers, then all else but the triangles."""
    numbers = sum(bool(groove.beside) for groove in written)
    return any(groove.text == first for groove in written), numbers, sum(not g.fixed for g in written)


def _all_written(
    shape: Shape, texts: Sequence[str], marks: tuple[Groove, ...], top: Region | None, order: Order
) -> tuple[Groove, ...]:
    """All lettering, clear of the marks, which come last.

    On the ``top`` of a holder for several films their numbers stand too. They are placed after the first text, or
    before it or after all, where more finds room so.
    """
    numbers: tuple[Groove, ...] = ()
    if top is not None and order == "first":
        numbers = _numbers(shape, top, marks)
    upper = _clear(shape, texts[:1], marks, numbers) if order != "last" else ()
    if top is not None and order == "second":
        numbers = _numbers(shape, top, (*upper, *marks))
    rest = texts if order == "last" else texts[1:]
    found = _clear(shape, rest, marks, (*upper, *numbers))
    found = (*found, *_named_pockets(shape, (*upper, *numbers, *found, *marks)))
    if order == "last":
        upper, found = _parted(found, texts[0])
    if top is not None and order == "last":
        numbers = _numbers(shape, top, (*upper, *found, *marks))
    return (*upper, *numbers, *found, *marks)


def _parted(written: Sequence[Groove], first: str) -> tuple[tuple[Groove, ...], tuple[Groove, ...]]:
    """A text apart from all others."""
    return tuple(g for g in written if g.text == first), tuple(g for g in written if g.text != first)


def _clear(
    shape: Shape, texts: Sequence[str], marks: tuple[Groove, ...], written: Sequence[Groove]
) -> tuple[Groove, ...]:
    """Texts clear of the marks and of what is written already, and clear of the feet if all find room there."""
    taken = [_around(mark.strokes).grown(1.0) for mark in marks]
    numbers = [_around(groove.strokes).grown(1.5) for groove in written if groove.beside]
    others = [_around(groove.strokes).grown(BETWEEN_TEXTS_MM) for groove in written if not groove.beside]
    found: tuple[Groove, ...] = ()
    for clear in (True, False):
        strips = _past(_around_numbers(free_strips(shape, clear_of_feet=clear), numbers), taken)
        found = _written(
            shape, texts, _largest_first(p for s in strips for p in _without(s, others)), not written
        )
        if len(found) == len(texts):
            break
    return found


def _numbers(shape: Shape, top: Region, written: Sequence[Groove]) -> tuple[Groove, ...]:
    """The pockets' numbers clear of what is written already, and clear of the feet if all find room there."""
    rooms = [place.room for place in shape.layout.places]
    blocks = [block.grown(1.0) for one in shape.added for block in one.blocks]
    blocks += [*rooms, *(_around(groove.strokes).grown(1.5) for groove in written)]
    area = area_of(top).difference(shapely.union_all([shapely.box(r.x, r.y, r.right, r.top) for r in blocks]))
    lids = [part for one in shape.added for part in one.parts]
    wide = stops_width_mm(shape.job.preset.layout, shape.layout, shape.levels)
    for one in shape.job.each:
        lids += corner_stops(one, shape.layout.of(one.kind), shape.levels, wide)
    area = area.difference(pocket_number.covered(lids, [cut for one in shape.added for cut in one.cuts]))
    feet = shapely.union_all([polygon(foot.outline(1.0)) for foot in shape.feet])
    tries = []
    for free in (area.difference(feet), area):
        tries.append(pocket_number.numbered(rooms, free, shape.rules, shape.levels.top))
        if len(tries[-1]) == len(rooms):
            break
    return max(tries, key=len)


def _around_numbers(strips: Sequence[Rect], numbers: Sequence[Rect]) -> list[Rect]:
    """The strips, and of one with numbers what is on each side of all of them and between them."""
    found = []
    for s in strips:
        here = [r for r in numbers if r.overlaps(s)]
        if not here:
            found.append(s)
            continue
        x0, x1 = max(s.x, min(r.x for r in here)), min(s.right, max(r.right for r in here))
        y0, y1 = max(s.y, min(r.y for r in here)), min(s.top, max(r.top for r in here))
        found += [
            Rect(s.x, s.y, s.width, y0 - s.y), Rect(s.x, y1, s.width, s.top - y1),
            Rect(s.x, s.y, x0 - s.x, s.height), Rect(x1, s.y, s.right - x1, s.height),
            *_without(s, here),
        ]  # fmt: skip
    return [r for r in found if r.width > 0 and r.height > 0]


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


def _written(shape: Shape, texts: Sequence[str], free: list[Rect], first: bool) -> tuple[Groove, ...]:
    """The first text in the largest strip that takes it, the others each in the smallest, so that most find room."""
    rules = shape.rules
    found: list[Groove] = []
    for text in texts:
        ways = list(range(len(free))) if first and not found else list(reversed(range(len(free))))
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


def wanted_texts(shape: Shape) -> tuple[str, ...]:
    """All that should be written on a frame, the most important first."""
    first, *others = frame_texts(shape) if shape.texts is None else shape.texts
    marks = tuple(text for _, text in code_notch.marked(shape.job.each, shape.layout))
    return (first, *pocket_number.texts(len(shape.layout.places)), *others, *marks)


def _film_text(job: Job, ledge: float, *, side: bool) -> str:
    """Which film lies how high, and with which side down where not all lie alike."""
    made = ledge + print_offset_mm(job.printer, job.printed, ledge - foot_protrusion(job))
    emulsion = f"  emulsion {job.preset.film.emulsion}" if side else ""
    return f"{job.film.key}{emulsion}  {made:.2f} mm over glass"


def free_strips(shape: Shape, clear_of_feet: bool = False) -> list[Rect]:
    """Plain strips of the top face at head, foot and sides, cut short by notches and holes, and by feet below."""
    o, rules = shape.layout.outer, shape.rules
    rooms = [p.room for p in shape.layout.places]
    blocks = [n.rect(p.room).grown(1.0) for p, mine in shape.pairs for n in mine]
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
