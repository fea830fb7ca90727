"""Where films lie on the bed: one, a number, or as many as fit, in even rows inside the lamp area."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.core.limits import MOST_WINDOWS
from holders.design.draft.bed import (
    Span,
    calibration,
    corner_mm,
    keep_open,
    lamp_rect,
    margin_mm,
    outer_rect,
    wall_mm,
)
from holders.design.draft.lips import Laid, laid, lips
from holders.design.draft.places import Layout, Place
from holders.design.draft.stands import STAYS, Moves, seen_bed
from holders.design.model import Edges, Rect
from holders.design.plan.mixed import lay_out_mixed
from holders.facts import tables
from holders.facts.models import Bed
from holders.facts.tables import process
from holders.fittings.base import Room
from holders.fittings.registry import FITTINGS, fitted_in
from holders.preset.resolve import Job
from holders.preset.tables.making import Layout as LayoutTable
from holders.preset.tables.plain import PlainPreset

WHOLE = {"outer_width_mm": None, "outer_length_mm": None}
LARGEST = "leave out layout.outer_width_mm and layout.outer_length_mm"
LEAST_SHIFT_MM = 4  # two scans less far apart show no height: measure/surface


def lay_out(job: Job) -> Layout:
    """Place the films.

    Raises
    ------
    InputError
        When the holder does not fit the glass, or fewer films fit than asked (saying how many do).
    """
    if job.kinds:
        return _mixed(job)
    outer_rect(job.bed, job.preset)  # refuses sizes that no glass takes
    wall = wall_mm(job.preset)
    wanted = job.preset.layout.count
    turns = {"auto": (False, True), "never": (False,), "always": (True,)}[job.preset.layout.turn]
    room = room_of(job)
    _room_stays(job, room)
    tries = _tries(job, None if room is None else room.rect, wall, turns)
    best = max(
        tries,
        key=lambda grid: (
            grid.most if wanted == "fill" else (grid.takes(wanted), grid.most > 0, -grid.moves.count)
        ),
    )  # the first of equals: unturned
    if best.most == 0:
        raise _no_room(job, min(tries, key=lambda grid: grid.moves.travel), room)
    _needs_moves(job.preset, job.film.name, best.moves)
    if wanted != "fill" and wanted > best.most:
        raise _too_many(
            job.preset.layout, job.film.name, best, room, lambda: lay_out(_with_layout(job, **WHOLE))
        )
    if wanted == "fill" and best.most > MOST_WINDOWS:
        raise InputError(
            "layout.count", wanted,
            f"{best.most} of {job.film.name} fit, and one holder has at most {MOST_WINDOWS} windows: set "
            f"layout.count = {MOST_WINDOWS} or fewer, or make several holders",
        )  # fmt: skip
    places = best.places(best.most if wanted == "fill" else wanted)
    bed = job.bed
    return Layout(
        outer=best.outer,
        glass=Rect(0, 0, bed.glass_width_mm, bed.glass_length_mm),
        lamp=lamp_rect(job.bed),
        calibration=calibration(job.bed),
        keep_open=keep_open(seen_bed(bed, best.moves), job.preset),
        places=places,
        lips=best.lips,
        laid=best.film,
        wall=wall,
        shoulder=shoulder_mm(job),
        moves=best.moves,
    )


def _tries(job: Job, room: Rect | None, wall: float, turns: tuple[bool, ...]) -> list[_Grid]:
    """The film laid each way; a way in which a fitting refuses to move the holder counts only if there is no other."""
    found, refused = [], []
    for turned in turns:
        try:
            found.append(_Grid.plan(job, room, wall, turned))
        except InputError as error:
            if not any(kind.sees_more for kind in fitted_in(job.preset)):
                raise
            refused.append(error)
    if not found:
        raise refused[0]
    return found


def _mixed(job: Job) -> Layout:
    """Several kinds of film in one holder, which then stays where it is."""
    key = next((kind.key for kind in fitted_in(job.preset) if kind.sees_more), "")
    if key:
        raise InputError(
            key,
            "(set)",
            f"a holder for several kinds of film does not move: leave out [{key}] or [[more_films]]",
        )
    return lay_out_mixed(job, shoulder_mm(job))


def _room_stays(job: Job, room: Room | None) -> None:
    """Refuses a holder that moves around films in something that does not."""
    key = next((kind.key for kind in fitted_in(job.preset) if kind.sees_more), "")
    if key and room is not None:
        other = next(kind.key for kind in fitted_in(job.preset) if kind.room(job) is not None)
        raise InputError(key, "(set)", f"{room.name} has one place only: leave out [{other}] or [{key}]")


def _needs_moves(preset: PlainPreset, film: str, moves: Moves) -> None:
    """Refuses a holder with steps for a film that one pass sees whole."""
    for kind in fitted_in(preset):
        if kind.sees_more and moves.count == 1:
            raise InputError(
                kind.key, "(set)", f"one pass sees all of {film} on this bed: leave [{kind.key}] out"
            )


def _moves(job: Job, opening: tuple[float, float]) -> Moves:
    """The steps that a fitting moves the holder by; none without one."""
    found = (kind.moves(job, opening) for kind in fitted_in(job.preset))
    return next((moves for moves in found if moves.count > 1), STAYS)


def _outer(job: Job, moves: Moves) -> Rect:
    """The holder's outside in its first place; along an axis on which it is moved it begins at the rim."""
    bed, layout = seen_bed(job.bed, moves), job.preset.layout
    gap = layout.slide_gap_mm
    try:
        outer = outer_rect(bed, job.preset)
    except InputError:
        if moves.count == 1:
            raise
        return Rect(gap, gap, 0.0, 0.0)  # nothing fits what the way to move leaves of the glass
    if moves.across.count > 1:
        outer = replace(outer, x=gap)
    if moves.along.count > 1:
        return replace(outer, y=gap)
    zone = keep_open(bed, job.preset)
    if moves.across.count > 1 and layout.outer_length_mm is None and zone is not None:
        beside = corner_mm(job.preset) + wall_mm(job.preset)
        if zone.x - outer.x < beside or outer.right - zone.right < beside:
            # the zone passes below a corner, where it cannot be cut out: the holder ends before it
            return Rect(outer.x, zone.top, outer.width, outer.top - zone.top)
    return outer


def shoulder_mm(job: Job) -> float:
    """What a fitting rests on beside the film's pocket; 0 without one, or where it lies on the film."""
    return sum(kind.shoulder_mm(job) for kind in fitted_in(job.preset))


def room_of(job: Job) -> Room | None:
    """Where a fitting wants the films to lie; None where they may lie anywhere on the bed."""
    return next((room for kind in fitted_in(job.preset) if (room := kind.room(job)) is not None), None)


@dataclass(frozen=True, slots=True)
class _Grid:
    """Rows and columns of one film, turned or not; positions are of the first film's opening."""

    film: Laid
    lips: Edges
    opening: tuple[float, float]
    pitch: tuple[float, float]
    columns: int
    rows: int
    spans: tuple[Span, Span]
    margin: float
    shoulder: float
    outer: Rect
    moves: Moves

    @property
    def most(self) -> int:
        return self.columns * self.rows

    def takes(self, wanted: int | str) -> bool:
        return wanted == "fill" or self.most >= int(wanted)

    @staticmethod
    def plan(job: Job, room: Rect | None, wall: float, turned: bool) -> _Grid:
        film = laid(job.film, turned)
        edges = lips(job, film, max((kind.lip_mm(job) for kind in fitted_in(job.preset)), default=0.0))
        margin, shoulder = margin_mm(job.film, job.preset), shoulder_mm(job)
        opening = (film.width - edges.left - edges.right, film.height - edges.head - edges.foot)
        reach = margin + shoulder  # from the film's edge to the outside of what it needs
        pitch = (film.width + 2 * reach + wall, film.height + 2 * reach + wall)
        moves = _moves(job, opening)
        bed = seen_bed(job.bed, moves)
        lamp, zone = lamp_rect(bed), keep_open(bed, job.preset)
        whole = _outer(job, moves)
        outer = whole if room is None else room
        lowest = outer.y + wall if zone is None else max(outer.y + wall, zone.top + wall)
        x = Span(
            max(lamp.x, outer.x + wall + reach + edges.left),
            min(lamp.right, outer.right - wall - reach - edges.right),
            lamp.x + lamp.width / 2,
        )
        y = Span(
            max(lamp.y, lowest + reach + edges.foot),
            min(lamp.top, outer.top - wall - reach - edges.head),
            lamp.y + lamp.height / 2,
        )
        return _Grid(
            film,
            edges,
            opening,
            pitch,
            x.fit(opening[0], pitch[0]),
            y.fit(opening[1], pitch[1]),
            (x, y),
            margin,
            shoulder,
            whole,
            moves,
        )

    def places(self, count: int) -> tuple[Place, ...]:
        """The first ``count`` films, row by row from home, the rows as even as they can be."""
        columns = min(self.columns, count)
        rows = math.ceil(count / columns)
        columns = math.ceil(count / rows)
        x0 = self.spans[0].start(self.opening[0] + (columns - 1) * self.pitch[0])
        y0 = self.spans[1].start(self.opening[1] + (rows - 1) * self.pitch[1])
        return tuple(
            self._place(x0 + (k % columns) * self.pitch[0], y0 + (k // columns) * self.pitch[1])
            for k in range(count)
        )

    def _place(self, x: float, y: float) -> Place:
        film = Rect(x - self.lips.left, y - self.lips.foot, self.film.width, self.film.height)
        side, end = self.film.border("left"), self.film.border("head")
        pocket = film.grown(self.margin)
        return Place(
            film=film,
            picture=film.inset(side, side, end, end),
            opening=Rect(x, y, *self.opening),
            pocket=pocket,
            room=pocket.grown(self.shoulder),
        )


def _too_many(
    layout: LayoutTable, film: str, grid: _Grid, room: Room | None, whole: Callable[[], object]
) -> InputError:
    """The refusal of more films than fit; ``whole`` lays them out in a frame as large as the glass."""
    sized, ways = layout.outer_width_mm is not None or layout.outer_length_mm is not None, "ask for fewer"
    if sized and room is None:
        try:
            whole()
            ways = f"{LARGEST}, or ask for fewer"
        except InputError:
            pass
    frame = f"a frame of {grid.outer.width:g} x {grid.outer.height:g} mm" if sized else "this bed"
    field = frame if room is None else room.name
    return InputError("layout.count", layout.count, f"at most {grid.most} of {film} fit {field}; {ways}")


def _no_room(job: Job, grid: _Grid, asked: Room | None) -> InputError:
    if asked is not None:
        lips = grid.lips
        around = 2 * (grid.margin + grid.shoulder + wall_mm(job.preset))
        width = grid.opening[0] + lips.left + lips.right + around
        return asked.refused(width, grid.opening[1] + lips.head + lips.foot + around)
    if grid.moves.count > 1:
        return _no_way_to_move(job, grid)
    room = tuple(max(0.0, span.high - span.low) for span in grid.spans)
    return InputError(
        "film.format",
        job.film.key,
        f"its window of {grid.opening[0]:.1f} x {grid.opening[1]:.1f} mm does not fit the "
        f"{room[0]:.1f} x {room[1]:.1f} mm that lamp area, walls and calibration zone leave; {_ways(job, grid)}",
    )


def _no_way_to_move(job: Job, grid: _Grid) -> InputError:
    """The refusal of a film whose holder has too little glass to be moved on: how much it needs, and what would do."""
    bed, lips = job.bed, grid.lips
    around = 2 * (grid.margin + grid.shoulder + wall_mm(job.preset) + job.preset.layout.slide_gap_mm)
    film = (grid.opening[0] + lips.left + lips.right, grid.opening[1] + lips.head + lips.foot)
    ways = (grid.moves.across.travel, grid.moves.along.travel)
    needs = [side + around + way for side, way in zip(film, ways, strict=True)]
    zone = keep_open(bed, job.preset)
    open_end = (
        ""
        if zone is None
        else f" and {max(0.0, zone.top):.1f} mm of the home end open for the calibration zone"
    )
    return InputError(
        "film.format",
        job.film.key,
        f"its window of {grid.opening[0]:.1f} x {grid.opening[1]:.1f} mm takes {grid.moves.count} passes on this bed, "
        f"the holder moved by {ways[0]:.1f} mm across and {ways[1]:.1f} mm along it; that needs a glass of at least "
        f"{needs[0]:.1f} x {needs[1]:.1f} mm, the lamp area in its middle{open_end}, and this one has "
        f"{bed.glass_width_mm:g} x {bed.glass_length_mm:g} mm; {_ways(job, grid)}",
    )


def _named(job: Job, bed: Bed) -> str:
    """A bed that takes the film, by name, and what to leave out there: a way to move that it does not need."""
    key = next((kind.key for kind in fitted_in(job.preset) if kind.sees_more), "")
    other, wall = replace(job, bed=bed), wall_mm(job.preset)
    grids = [_Grid.plan(other, None, wall, turned) for turned in (False, True)] if key else []
    whole = any(grid.most > 0 and grid.moves.count == 1 for grid in grids)
    return f"{bed.key} (without [{key}])" if whole else bed.key


def _with_layout(job: Job, **changes: object) -> Job:
    layout = job.preset.layout.model_copy(update=changes)
    return replace(job, preset=job.preset.model_copy(update={"layout": layout}))


def _most_shift(job: Job, fits: Callable[[Job, float], bool], wall: float) -> int | None:
    """The most room to slide, whole mm, with which the film still fits; None where it is too little to be of use."""
    asked = int(job.preset.layout.shift_room_mm or 0)
    rooms = range(asked, LEAST_SHIFT_MM - 1, -1)
    return next((room for room in rooms if fits(_with_layout(job, shift_room_mm=float(room)), wall)), None)


def _ways(job: Job, grid: _Grid) -> str:
    """What would make room, each tried: laying the film the other way, wider lips, thinner walls, another bed."""
    layout, ways = job.preset.layout, []

    def fits(other: Job, wall: float) -> bool:
        try:
            return any(_Grid.plan(other, None, wall, turned).most > 0 for turned in (False, True))
        except InputError:
            return False

    wall = wall_mm(job.preset)
    if layout.turn != "auto" and fits(job, wall):
        ways.append('set layout.turn = "auto"')
    border = min(grid.film.border("left"), grid.film.border("head"))
    wide = job.preset.lip.model_copy(update={"all_mm": border})
    clear = f"{border:.1f}"
    if fits(replace(job, preset=job.preset.model_copy(update={"lip": wide})), wall):
        ways.append(f"set lip.all_mm = {clear}, all of the clear border")
    least = math.ceil(10 * process(job.preset.route).wall_mm / 2) / 10
    if wall > least and fits(job, least):
        ways.append(f"set layout.wall_mm = {least:g}")
    if layout.shift_room_mm is not None and layout.outer_width_mm is None:
        if (less := _most_shift(job, fits, wall)) is not None:
            ways.append(f"set layout.shift_room_mm = {less:g} or less")
        elif fits(_with_layout(job, shift_room_mm=None), wall):
            ways.append("leave out layout.shift_room_mm: film this wide leaves no room to slide")
    sized = layout.outer_width_mm is not None or layout.outer_length_mm is not None
    if sized and fits(_with_layout(job, **WHOLE), wall):
        ways.append(LARGEST)
    ways += [
        f"add a table [{kind.key}]: {kind.sees_more}"
        for kind in FITTINGS
        if kind.sees_more and kind not in fitted_in(job.preset)
        and fits(replace(job, preset=job.preset.model_copy(update={kind.key: kind.table()})), wall)
    ]  # fmt: skip
    beds = [row for row in tables.table("beds") if isinstance(row, Bed) and row.key != job.bed.key]
    large = [_named(job, row) for row in beds if fits(replace(job, bed=row), wall)]
    if large:
        ways.append(f"take a bed that is large enough: {', '.join(large)}")
    return (
        "; or ".join(ways)
        or "no bed known here takes it: give your own bed's measurements, or take a smaller film"
    )
