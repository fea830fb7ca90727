"""Open ends among the fittings: what they change while a holder is designed."""

from __future__ import annotations

from types import MappingProxyType

from holders.core.errors import InputError
from holders.design.draft.places import Layout, Place
from holders.design.model import Cut, Edge, Rect
from holders.facts.models import FilmFormat
from holders.fittings.base import Added, Fitting, Stage
from holders.fittings.carrier.table import CarrierTable
from holders.fittings.cover.table import Cover
from holders.fittings.passes.table import PassesTable
from holders.fittings.roll.check import RollRule
from holders.fittings.roll.passed import OpenEnds
from holders.fittings.roll.table import Roll
from holders.geometry.outline import Outline, rectangle
from holders.preset.resolve import Job
from holders.preset.tables.bearer import Bearer
from holders.preset.tables.plain import PlainPreset, table_of
from holders.preset.words import Section

PAST_MM = 1.0  # a slot is cut so far past the frame's outside
INTO_MM = 3.0  # and so far into the pocket, past its rounded corners


class RollKind(Fitting[Roll]):
    """Film longer than the holder, through its open ends."""

    key = "roll"
    table = Roll
    section = Section(
        "roll",
        "Uncut rolls",
        ("extras", 10),
        intro="Film longer than the holder passes through open ends, some frames over the window at a time; printed.",
        heading="open ends for uncut rolls: take the # from [roll] and below to have them",
    )
    start = MappingProxyType({"": {"frames": 36}})
    rules = (RollRule(),)

    def open_edges(self, layout: Layout) -> frozenset[Edge]:
        """Where film can leave."""
        return frozenset(_pair(layout))

    def fit(self, job: Job, stage: Stage) -> Added:
        """Slots from the pockets to the outside.

        Raises ``InputError`` for what has no open ends, and where a slot would run into another window.
        """
        table, layout = self.given(job), stage.layout
        allowed(job.preset, job.film, table)
        pair = _pair(layout)
        open_at = {"both": pair, "near": pair[:1], "far": pair[1:]}[table.ends]
        edges, slots, tails, ways = [], [], [], []
        for place in layout.places:
            for edge in open_at:
                slot = _strip(place.pocket, layout.outer, edge)
                _free(table, layout, place, slot)
                edges.append(edge)
                slots.append(slot)
                tails.append(_strip(place.film, layout.outer, edge))
                ways.append(_strip(place.film, layout.glass, edge))
        low, high = stage.levels.ledge, stage.levels.top
        made = OpenEnds(table, tuple(edges), tuple(slots), tuple(tails), tuple(ways), job.film.frames)
        return Added(
            made,
            cuts=tuple(
                Cut("open end", _cut(slot, edge), low, high, open_end=True)
                for slot, edge in zip(slots, edges, strict=True)
            ),
            blocks=tuple(slots),
            scoops=False,
        )


def _pair(layout: Layout) -> tuple[Edge, Edge]:
    """The edges at which a strip ends: the near one, and the far one."""
    return ("left", "right") if layout.laid.turned else ("foot", "head")


def allowed(preset: PlainPreset, film: FilmFormat, table: Roll) -> None:
    """Refuse what has no open ends. Raises ``InputError``."""
    if preset.route != "print":
        raise InputError(
            "roll", "(set)", "open ends are printed: they would cut a wall sheet into pieces; "
            'set route = "print", or leave the table out',
        )  # fmt: skip
    if table_of(preset, Cover) is not None:
        raise InputError(
            "cover", "(set)", "a glass plate would slide out through the open ends; hold the film with a [lid], or "
            "leave [roll] out",
        )  # fmt: skip
    if table_of(preset, CarrierTable) is not None:
        raise InputError(
            "roll", "(set)", "an insert lies within its carrier's walls: leave one of the two out"
        )
    if table_of(preset, PassesTable) is not None:
        raise InputError(
            "roll", "(set)", "the holder of [passes] moves under its film, which must not: leave one out"
        )
    if any(isinstance(one, Bearer) for _, one in preset):
        raise InputError(
            "roll", "(set)", "film on glass of its own does not pass through open ends; leave it out"
        )
    if film.frame_pitch_mm is None:
        raise InputError("roll", "(set)", f"is for strips and rolls, not for {film.name}; leave it out")
    if table.frames < film.frames:
        raise InputError(
            "roll.frames", table.frames, f"the window shows {film.frames} frames at a time: set film.frames to "
            f"{table.frames} or fewer, or leave the table out",
        )  # fmt: skip


def _free(table: Roll, layout: Layout, own: Place, slot: Rect) -> None:
    """Refuse a slot that runs into another window's pocket. Raises ``InputError``."""
    if any(place is not own and place.room.overlaps(slot) for place in layout.places):
        raise InputError(
            "roll.ends", table.ends, "the film would run through another window behind it: films lie side by side "
            "only; set layout.count lower, or layout.turn",
        )  # fmt: skip


def _strip(inner: Rect, outer: Rect, edge: Edge) -> Rect:
    """From one edge of the inner rectangle to the outer one's, as wide as the inner."""
    if edge == "left":
        return Rect(outer.x, inner.y, inner.x - outer.x, inner.height)
    if edge == "right":
        return Rect(inner.right, inner.y, outer.right - inner.right, inner.height)
    if edge == "foot":
        return Rect(inner.x, outer.y, inner.width, inner.y - outer.y)
    return Rect(inner.x, inner.top, inner.width, outer.top - inner.top)


def _cut(slot: Rect, edge: Edge) -> Outline:
    """The slot's outline, past the outside and a little into the pocket."""
    ends = {
        "left": (PAST_MM, INTO_MM, 0.0, 0.0),
        "right": (INTO_MM, PAST_MM, 0.0, 0.0),
        "foot": (0.0, 0.0, INTO_MM, PAST_MM),
        "head": (0.0, 0.0, PAST_MM, INTO_MM),
    }[edge]
    grown = slot.inset(*(-by for by in ends))
    return rectangle(grown.x, grown.y, grown.width, grown.height)
