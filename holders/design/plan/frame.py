"""The frame itself: one printed part, or one part per sheet for laser and knife; the same slabs either way."""

from __future__ import annotations

from dataclasses import dataclass

from holders.design.draft.levels import Levels, levels_at, lowest
from holders.design.draft.notches import Notch
from holders.design.draft.places import Layout, Place
from holders.design.model import Cut, Foot, Groove, Part, Rect, Slab
from holders.design.plan.feet import FOOT_SLIP_MM
from holders.design.plan.lighten import tray_floor_mm
from holders.design.plan.pins import crosses, marks
from holders.facts.models import Process
from holders.fittings.base import Added
from holders.geometry.outline import CornerForm, Outline, Region, rectangle, walled
from holders.preset.resolve import Job

TRAY_RADIUS_MM = 2.0
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
    def pairs(self) -> list[tuple[Place, tuple[Notch, ...]]]:
        """The places, each with its notches."""
        return list(zip(self.layout.places, self.notches, strict=True))

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
        windows = tuple(_opened(shape, p, n, 0.0) for p, n in shape.pairs)
        found.append(Slab("floor", z, floor, _region(shape, windows)))
        z = floor
    if shape.stepped:
        return (*found, *_steps(shape, z, hollow))
    for number, top in enumerate(below, 1):
        step = shape.relief.step if number < len(below) else 0.0
        name = "ledge" if number == len(below) else f"base {number}"
        windows = tuple(_opened(shape, p, n, step) for p, n in shape.pairs)
        spots = marks(shape.feet) if number == 1 and shape.rules.key == "laser" else ()
        found.append(Slab(name, z, top, _region(shape, (*windows, *hollow, *spots, *_holes(shape, z)))))
        z = top + shape.levels.glue
    found += [rail for one in shape.added for rail in one.rails]
    if shape.levels.shoulder is not None:
        walls = tuple(_pocket(shape, p, n, shape.layout.shoulder) for p, n in shape.pairs)
        found.append(Slab("shoulder", z, shape.levels.shoulder, _region(shape, (*walls, *hollow))))
        z = shape.levels.shoulder
    if shape.levels.flat:
        return tuple(found)
    walls = tuple(_pocket(shape, p, n, 0.0) for p, n in shape.pairs)
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
        holes = tuple(_at(shape, place, mine, middle) for place, mine in shape.pairs)
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


def parts(shape: Shape, letters: tuple[Groove, ...]) -> tuple[Part, ...]:
    """The frame as parts, with its lettering."""
    job, made = shape.job, slabs(shape)
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
    form: CornerForm = "hollow" if shape.hollow_key else "slanted"
    return walled(r.x, r.y, r.width, r.height, radius, [n.bay(inside) for n in mine], shape.key, form)


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
    for place, mine in shape.pairs:
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
