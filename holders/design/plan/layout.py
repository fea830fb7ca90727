"""Where films lie on the bed: one, a number, or as many as fit, in even rows inside the lamp area."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.core.limits import MOST_WINDOWS
from holders.design.model import Edges, Rect
from holders.design.plan.lips import Laid, laid, lips
from holders.facts import tables
from holders.facts.models import Bed
from holders.facts.tables import process
from holders.preset.resolve import Job

SLACK = 1e-6


@dataclass(frozen=True, slots=True)
class Place:
    """One film's rectangles on the bed: film as cut, picture, window opening, film pocket, and all that it needs."""

    film: Rect
    picture: Rect
    opening: Rect
    pocket: Rect
    room: Rect  # the pocket with a lid's shoulder


@dataclass(frozen=True, slots=True)
class Layout:
    """The outer rectangle, what must stay clear, and the films."""

    outer: Rect
    glass: Rect
    lamp: Rect
    calibration: Rect | None  # the zone itself
    keep_open: Rect | None  # the zone with its clearance
    places: tuple[Place, ...]
    lips: Edges
    laid: Laid
    wall: float
    shoulder: float


def lay_out(job: Job) -> Layout:
    """Place the films.

    Raises
    ------
    InputError
        When the holder does not fit the glass, or fewer films fit than asked (saying how many do).
    """
    outer = outer_rect(job)
    wall = job.preset.layout.wall_mm or process(job.preset.route).wall_mm
    wanted = job.preset.layout.count
    turns = {"auto": (False, True), "never": (False,), "always": (True,)}[job.preset.layout.turn]
    inside = outer if job.preset.carrier is None else insert_rect(job)
    tries = [_Grid.plan(job, inside, wall, turned) for turned in turns]
    best = max(
        tries, key=lambda grid: grid.most if wanted == "fill" else (grid.takes(wanted), grid.most > 0)
    )  # the first of equals: unturned
    if best.most == 0:
        raise _no_room(job, best)
    if wanted != "fill" and wanted > best.most:
        field = "this bed" if job.preset.carrier is None else "this insert"
        raise InputError(
            "layout.count", wanted, f"at most {best.most} of {job.film.name} fit {field}; ask for fewer"
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
        outer=outer,
        glass=Rect(0, 0, bed.glass_width_mm, bed.glass_length_mm),
        lamp=lamp_rect(job),
        calibration=_calibration(job),
        keep_open=keep_open(job),
        places=places,
        lips=best.lips,
        laid=best.film,
        wall=wall,
        shoulder=shoulder_mm(job),
    )


def outer_rect(job: Job) -> Rect:
    """The holder's outside: the glass less the slide-in gap, or the given size at the anchor's place."""
    bed, layout = job.bed, job.preset.layout
    gap = layout.slide_gap_mm
    width = layout.outer_width_mm if layout.outer_width_mm is not None else bed.glass_width_mm - 2 * gap
    length = layout.outer_length_mm if layout.outer_length_mm is not None else bed.glass_length_mm - 2 * gap
    for field, size, glass in (
        ("layout.outer_width_mm", width, bed.glass_width_mm),
        ("layout.outer_length_mm", length, bed.glass_length_mm),
    ):
        if size > glass + SLACK:
            raise InputError(field, size, f"larger than the glass ({glass} mm)")
        if size < 2 * layout.corner_radius_mm + 20:
            raise InputError(field, size, "too small for a holder; make it larger or the slide gap smaller")
    x, y = (bed.glass_width_mm - width) / 2, (bed.glass_length_mm - length) / 2
    if layout.anchor != "middle":
        x = min(x, gap)
        y = min(y, gap) if layout.anchor == "home-corner" else max(y, bed.glass_length_mm - gap - length)
    return Rect(x, y, width, length)


def insert_rect(job: Job) -> Rect:
    """The insert of a carrier on the bed: over the middle of the lamp area, as far as the carrier leaves walls.

    Raises ``InputError`` when the carrier has no room for its pocket. It depends on bed and carrier only, never on
    the film, so that every insert lies at one place.
    """
    table = job.preset.carrier
    assert table is not None
    outer, lamp, zone = outer_rect(job), lamp_rect(job), keep_open(job)
    around = (job.preset.layout.wall_mm or process(job.preset.route).wall_mm) + table.clearance_mm
    lowest = outer.y if zone is None else max(outer.y, zone.top)
    spans = (
        _Span(outer.x + around, outer.right - around, lamp.x + lamp.width / 2),
        _Span(lowest + around, outer.top - around, lamp.y + lamp.height / 2),
    )
    sizes = (table.insert_width_mm, table.insert_length_mm)
    for span, size, name in zip(spans, sizes, ("insert_width_mm", "insert_length_mm"), strict=True):
        if size > span.high - span.low + SLACK:
            most = max(0.0, span.high - span.low)
            raise InputError(f"carrier.{name}", size, f"the carrier on this bed takes at most {most:.1f} mm")
    return Rect(spans[0].start(sizes[0]), spans[1].start(sizes[1]), *sizes)


def pocket_rect(job: Job) -> Rect:
    """The carrier's pocket: the insert and its clearance."""
    assert job.preset.carrier is not None
    return insert_rect(job).grown(job.preset.carrier.clearance_mm)


def lamp_rect(job: Job) -> Rect:
    """The lamp area."""
    bed = job.bed
    return Rect(bed.lamp_x_mm, bed.lamp_y_mm, bed.lamp_width_mm, bed.lamp_length_mm)


def _calibration(job: Job) -> Rect | None:
    bed = job.bed
    if bed.calibration_width_mm <= 0 or bed.calibration_length_mm <= 0:
        return None
    return Rect(
        bed.calibration_x_mm, bed.calibration_y_mm, bed.calibration_width_mm, bed.calibration_length_mm
    )


def keep_open(job: Job) -> Rect | None:
    """The calibration zone with its clearance; None when the bed has none."""
    zone = _calibration(job)
    return None if zone is None else zone.grown(process(job.preset.route).calibration_clear_mm)


def shoulder_mm(job: Job) -> float:
    """What a lid rests on beside the film pocket; 0 without a lid or where the lid lies on the film."""
    return 0.0 if job.preset.lid is None else process(job.preset.route).shoulder_mm


def margin_mm(job: Job) -> float:
    """From the film's nominal edge to the pocket wall: half the film's tolerance and the clearance."""
    return job.film.tolerance_mm / 2 + job.preset.layout.clearance_mm


@dataclass(frozen=True, slots=True)
class _Grid:
    """Rows and columns of one film, turned or not; positions are of the first film's opening."""

    film: Laid
    lips: Edges
    opening: tuple[float, float]
    pitch: tuple[float, float]
    columns: int
    rows: int
    spans: tuple[_Span, _Span]
    margin: float
    shoulder: float

    @property
    def most(self) -> int:
        return self.columns * self.rows

    def takes(self, wanted: int | str) -> bool:
        return wanted == "fill" or self.most >= int(wanted)

    @staticmethod
    def plan(job: Job, outer: Rect, wall: float, turned: bool) -> _Grid:
        film = laid(job.film, turned)
        edges = lips(job, film)
        margin, shoulder = margin_mm(job), shoulder_mm(job)
        opening = (film.width - edges.left - edges.right, film.height - edges.head - edges.foot)
        reach = margin + shoulder  # from the film's edge to the outside of what it needs
        pitch = (film.width + 2 * reach + wall, film.height + 2 * reach + wall)
        lamp, zone = lamp_rect(job), keep_open(job)
        lowest = outer.y + wall if zone is None else max(outer.y + wall, zone.top + wall)
        x = _Span(
            max(lamp.x, outer.x + wall + reach + edges.left),
            min(lamp.right, outer.right - wall - reach - edges.right),
            lamp.x + lamp.width / 2,
        )
        y = _Span(
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


@dataclass(frozen=True, slots=True)
class _Span:
    """Where openings may stand along one axis, and where they would like their middle."""

    low: float
    high: float
    middle: float

    def fit(self, size: float, pitch: float) -> int:
        free = self.high - self.low - size
        return 0 if free < -SLACK else 1 + math.floor((free + SLACK) / pitch)

    def start(self, size: float) -> float:
        return max(self.low, min(self.middle - size / 2, self.high - size))


def _no_room(job: Job, grid: _Grid) -> InputError:
    if job.preset.carrier is not None:
        lips, wall = grid.lips, job.preset.layout.wall_mm or process(job.preset.route).wall_mm
        around = 2 * (grid.margin + grid.shoulder + wall)
        width = grid.opening[0] + lips.left + lips.right + around
        length = grid.opening[1] + lips.head + lips.foot + around
        return InputError(
            "carrier.insert_width_mm",
            job.preset.carrier.insert_width_mm,
            f"{job.film.name} needs an insert of {width:.1f} x {length:.1f} mm over the lamp area; make it larger, or "
            "take a smaller film",
        )
    room = tuple(max(0.0, span.high - span.low) for span in grid.spans)
    return InputError(
        "film.format",
        job.film.key,
        f"its window of {grid.opening[0]:.1f} x {grid.opening[1]:.1f} mm does not fit the "
        f"{room[0]:.1f} x {room[1]:.1f} mm that lamp area, walls and calibration zone leave; {_ways(job, grid)}",
    )


def _ways(job: Job, grid: _Grid) -> str:
    """What would make room, each tried: laying the film the other way, wider lips, thinner walls, another bed."""
    layout, ways = job.preset.layout, []

    def fits(other: Job, wall: float) -> bool:
        try:
            return any(
                _Grid.plan(other, outer_rect(other), wall, turned).most > 0 for turned in (False, True)
            )
        except InputError:
            return False

    wall = layout.wall_mm or process(job.preset.route).wall_mm
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
    if layout.outer_width_mm is not None or layout.outer_length_mm is not None:
        whole = layout.model_copy(update={"outer_width_mm": None, "outer_length_mm": None})
        if fits(replace(job, preset=job.preset.model_copy(update={"layout": whole})), wall):
            ways.append("leave out layout.outer_width_mm and layout.outer_length_mm")
    beds = [row for row in tables.table("beds") if isinstance(row, Bed) and row.key != job.bed.key]
    large = [row.key for row in beds if fits(replace(job, bed=row), wall)]
    if large:
        ways.append(f"take a bed that is large enough: {', '.join(large)}")
    return (
        "; or ".join(ways)
        or "no bed known here takes it: give your own bed's measurements, or take a smaller film"
    )
