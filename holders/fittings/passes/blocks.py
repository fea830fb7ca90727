"""Step blocks: loose strips, each one step wide, between the holder and the rim toward which it is pushed.

In the first pass all blocks lie on the far side of the holder; for each step one row of them is carried over to the
near side. Blocks, holder and two slide-in gaps together fill the glass in every pass.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from holders.core.errors import InputError
from holders.design.draft.bed import LEAST_BAR_MM, corner_mm, keep_open
from holders.design.draft.places import Layout
from holders.design.draft.stands import Steps
from holders.design.draft.stops import LEAST_LONG_MM, LONG_MM, stop_height_mm
from holders.design.model import Groove, Part, Rect, Role, Slab
from holders.design.parts.lettering import strokes_in
from holders.facts.models import Bed
from holders.facts.tables import process
from holders.geometry.outline import Region, rectangle
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

Way = Literal["across", "along"]
BETWEEN_MM = 2.0  # two blocks of one row, at least
RIMS: dict[Way, tuple[str, str]] = {
    "across": ("left rim", "right rim"),
    "along": ("home rim", "rim at the head"),
}


@dataclass(frozen=True, slots=True)
class Row:
    """The blocks of one axis: each ``step`` wide, one row for each step, and one or two beside one another in a row.

    ``starts`` is where they begin along the other axis, ``far`` where the glass ends.
    """

    way: Way
    steps: Steps
    starts: tuple[float, ...]
    long: float
    far: float

    def rects(self, taken: int) -> tuple[Rect, ...]:
        """Where the blocks lie when ``taken`` rows of them have been carried over to the near side."""
        found = []
        for row in range(self.steps.count - 1):
            at = row * self.steps.step
            if row >= taken:
                at = self.far - (self.steps.count - 1 - row) * self.steps.step
            for start in self.starts:
                if self.way == "along":
                    found.append(Rect(start, at, self.long, self.steps.step))
                else:
                    found.append(Rect(at, start, self.steps.step, self.long))
        return tuple(found)


def rows_of(bed: Bed, preset: PlainPreset, layout: Layout) -> tuple[Row, ...]:
    """The blocks of every axis on which the holder is moved.

    Raises ``InputError`` where the calibration zone leaves them no place.
    """
    o, g, moves, gap = layout.outer, layout.glass, layout.moves, preset.layout.slide_gap_mm
    corner, zone = corner_mm(preset), keep_open(bed, preset)
    axes: tuple[tuple[Way, Steps, float, tuple[float, float], float], ...] = (
        ("across", moves.across, moves.along.travel, (o.y, o.top), g.top),
        ("along", moves.along, moves.across.travel, (o.x, o.right), g.right),
    )
    found = []
    for way, steps, aside, (low, high), end in axes:
        if steps.count == 1:
            continue
        edge = (o.x if way == "across" else o.y) + max(layout.wall, LEAST_BAR_MM)
        bite = _bite(zone, way, edge + steps.travel, aside)
        starts, long = _beside(_clear((low + aside + corner, high - corner), bite))
        if not starts:
            widest = (gap + aside + corner, end - gap - aside - corner)
            larger = _beside(_clear(widest, bite))[0]
            instead = "leave out layout.outer_*" if larger else "take a bed with room beside its zone"
            raise InputError(
                "passes",
                "(set)",
                f"the calibration zone leaves no {LEAST_LONG_MM:g} mm of the holder's edge beside it for the blocks "
                f"that it is pushed against, {way} the bed: {instead}",
            )
        found.append(Row(way, steps, starts, long, g.right if way == "across" else g.top))
    return tuple(found)


def _bite(zone: Rect | None, way: Way, within: float, aside: float) -> tuple[float, float] | None:
    """From where to where blocks cannot be, wherever the holder has been moved to aside: the calibration zone lies
    there, or has its bite in the holder's edge. A zone that begins beyond ``within`` mm is in nobody's way.
    """
    if zone is None or (zone.x if way == "across" else zone.y) >= within:
        return None
    low, high = (zone.y, zone.top) if way == "across" else (zone.x, zone.right)
    return low - aside, high + aside


def _clear(span: tuple[float, float], bite: tuple[float, float] | None) -> tuple[tuple[float, float], ...]:
    """What a bite leaves of a stretch, on either side of it."""
    if bite is None:
        return (span,)
    return (span[0], min(bite[0], span[1])), (max(bite[1], span[0]), span[1])


def _beside(spans: Sequence[tuple[float, float]]) -> tuple[tuple[float, ...], float]:
    """Where the blocks of one row begin, and how long they are: two far apart where there is room, else one."""
    free = [span for span in spans if span[1] - span[0] >= LEAST_LONG_MM]
    if not free:
        return (), 0.0
    if len(free) == 1:
        low, high = free[0]
        half = (high - low - BETWEEN_MM) / 2
        if half < LEAST_LONG_MM:
            return (low,), high - low
        free = [(low, low + half), (high - half, high)]
    long = min(LONG_MM, *(high - low for low, high in free))
    return (free[0][0], free[-1][1] - long), long


def block_part(job: Job, row: Row, under: float) -> Part:
    """The blocks of one axis, drawn where they lie in the first pass."""
    rules, first = process(job.preset.route), row.rects(0)
    r = first[0]
    high = stop_height_mm(job.material, job.printer, job.preset, under)
    outline = rectangle(r.x, r.y, r.width, r.height, min(1.0, min(r.width, r.height) / 4))
    text = f"step {row.steps.step:.1f}"
    strokes = (
        strokes_in(text, r, rules.letter_least_mm, rules.letter_least_mm) if job.preset.layout.label else None
    )
    name = "step-block" if row.way == "along" else "step-block-across"
    return Part(
        name=name,
        title=f"step block, {row.steps.step:.1f} mm, between the holder and the {RIMS[row.way][0]}",
        process=job.preset.route,
        material=job.material.key,
        quantity=len(first),
        slabs=(Slab("step", 0.0, high, Region(outline)),),
        grooves=()
        if strokes is None
        else (Groove(text, strokes, rules.groove_width_mm, rules.groove_depth_mm, high),),
        places=tuple((one.x - r.x, one.y - r.y) for one in first),
        role=Role.STEP,
    )
