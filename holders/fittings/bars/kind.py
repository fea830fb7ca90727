"""Steel bars among the fittings: what they change while a holder is designed, and what they add to one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from types import MappingProxyType

from holders.core.lines import Candidate, Choice
from holders.design.draft.places import Step
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.design.model import Cut, Part, Rect, Role
from holders.fittings.bars.check import BarsRule
from holders.fittings.bars.fitted import Steel
from holders.fittings.bars.seat import OVER_MM, SLIP_MM, Chosen, Seat, chosen, laid, let_in_mm, seats
from holders.fittings.bars.table import FIT, Bars, lies_on
from holders.fittings.base import Added, Fitting, Rivals, Stage
from holders.fittings.lid.table import Lid
from holders.geometry.outline import rectangle
from holders.preset.resolve import Job
from holders.preset.tables.plain import table_of
from holders.preset.words import Section

BAR = "bar"  # the name of a pocket in the lid
FAR_MM = 1000.0  # back from the window where there is no bar
LET_IN_LID_MM = 6.0  # the thinnest printed lid that takes a usual bar
EVEN = 1e-6


class BarsKind(Fitting[Bars]):
    """Steel along the lid's rails."""

    key = "bars"
    table = Bars
    section = Section(
        "bars",
        "Steel bars in the lid",
        ("extras", 4),
        intro="Steel along the lid's rails: weight on the film, and rails that do not bow; let into a printed lid, "
        "glued on one cut from sheet.",
        heading="steel bars along the lid's rails: take the # from [bars] to have them (needs [lid])",
    )
    start = MappingProxyType({"": {"sides": FIT, "ends": FIT}})
    rules = (BarsRule(),)
    records = ("bars",)
    rides_on = "lid"
    takes_mixed = True

    def shoulder_mm(self, job: Job) -> float:
        """What a printed lid's rails must be wider for bars that are let in."""
        return let_in_mm(job, self.given(job))

    def fit(self, job: Job, stage: Stage) -> Added:
        """The bars, and how far they keep light from the picture."""
        table, layout, levels = self.given(job), stage.layout, stage.levels
        rooms = seats(job, table, layout, levels)
        what, on = chosen(table, rooms), lies_on(table, printed=job.printer is not None)
        pairs = [laid(seat, what, on=on) for seat in rooms]
        sides, ends = (tuple(rect for pair in pairs for rect in pair[k]) for k in (0, 1))
        z0 = rooms[0].z0
        made = Steel(
            what.sides,
            what.ends,
            sides,
            ends,
            z0,
            on,
            len(rooms),
            cover=0.0 if job.printer is None or on else _cover(job.printer.layer_mm, stage, what, z0),
            over=_over(rooms, (*sides, *ends), z0 - levels.top) if on else None,
            glued=min(_glued(seat) for seat in rooms) if on else 0.0,
            above=max(z0 + one.height_mm for one in (what.sides, what.ends) if one is not None) - levels.top,
        )
        return Added(made, shades=_shades(stage, rooms[0], what) if on else (), scoops=True)

    def dressed(self, job: Job, stage: Stage, added: Added, parts: tuple[Part, ...]) -> tuple[Part, ...]:  # noqa: ARG002
        """The lids with pockets on their underside for bars that are let in."""
        made = added.fitted
        assert isinstance(made, Steel)
        if made.on:
            return parts
        assert stage.levels.over is not None
        low, top = made.z0 - SLIP_MM, stage.levels.over[1] - made.cover
        return tuple(_pocketed(part, made, low, top) if part.role is Role.LID else part for part in parts)

    def changes(self, job: Job, rivals: Rivals) -> Iterator[Candidate]:  # noqa: ARG002
        """Bars on a lid that has none, instead of what is laid on it."""
        lid = table_of(job.preset, Lid)
        if lid is None or table_of(job.preset, Bars) is not None:
            return
        keys = {**_with_bars(job, lid), "bars.sides": FIT}
        where = "Let steel bars into the lid" if job.printer is not None else "Glue steel bars on the lid"
        instead = ", instead of what is laid on it" if lid.extra_weight_n > 0 else ", along its rails"
        yield Candidate(f"{where}{instead}", keys, "hold")

    def choices(self, job: Job, rivals: Rivals) -> Iterator[Choice]:
        """A lid with bars."""
        lid = table_of(job.preset, Lid)
        if lid is not None and table_of(job.preset, Bars) is not None:
            yield Choice("the lid without its steel bars", {"bars": None})
            return
        away = {key: value for key, value in rivals.away.items() if key not in ("lid", "bars")}
        keys = {**away, **_with_bars(job, lid or Lid()), "bars.sides": FIT}
        yield Choice("a lid with steel bars along its rails", keys, "steel")


def _with_bars(job: Job, lid: Lid) -> dict[str, object]:
    """The keys of a lid that bars go with: no play, nothing laid on it, and room for them."""
    keys: dict[str, object] = {"lid.play_mm": 0.0}
    if lid.extra_weight_n > 0:
        keys["lid.extra_weight_n"] = 0.0
    if job.printer is not None:
        keys["lid.thickness_mm"] = max(lid.thickness_mm, LET_IN_LID_MM)
        return keys
    sheets = sheet_thicknesses(job.material, job.preset)
    thick = nearest_sheet(sheets, lid.thickness_mm)
    lower = [sheet for sheet in sheets if sheet + OVER_MM <= thick + EVEN]
    if not lower:  # a lid of the thickest sheet stands above a wall of any other
        thick = max(sheets)
        lower = [sheet for sheet in sheets if sheet + OVER_MM <= thick + EVEN]
    keys["lid.thickness_mm"] = thick
    if lower:
        keys["layout.pocket_depth_mm"] = max(lower)
    return keys


def _cover(layer_mm: float, stage: Stage, what: Chosen, z0: float) -> float:
    """What of a printed lid is left above its pockets, in whole layers, mm."""
    assert stage.levels.over is not None
    top = z0 + max(one.height_mm for one in (what.sides, what.ends) if one is not None)
    return round(math.floor((stage.levels.over[1] - top) / layer_mm + EVEN) * layer_mm, 6)


def _over(rooms: tuple[Seat, ...], bars: tuple[Rect, ...], room: float) -> float | None:
    """The room below bars that reach out over the frame, mm; None where none does."""
    within = all(any(seat.body.contains(bar, 1e-6) for seat in rooms) for bar in bars)
    return None if within else room


def _glued(seat: Seat) -> float:
    """Width of the narrowest strip of lid behind the bars' inner faces, mm."""
    inner, body = seat.inner, seat.body
    return min(inner.x - body.x, body.right - inner.right, inner.y - body.y, body.top - inner.top)


def _shades(stage: Stage, seat: Seat, what: Chosen) -> tuple[Step, ...]:
    """The bars' inner edges over the first film, as they keep light from it."""
    opening, ledge = stage.layout.places[0].opening, stage.levels.ledge
    backs = opening.x - seat.inner.x, opening.y - seat.inner.y
    heights = [
        seat.z0 + one.height_mm - ledge if one is not None else None for one in (what.sides, what.ends)
    ]
    steps = []
    if heights[0] is not None:
        steps.append(Step(heights[0], backs[0], FAR_MM))
    if heights[1] is not None:
        steps.append(Step(heights[1], FAR_MM, backs[1]))
    return tuple(steps)


def _pocketed(part: Part, made: Steel, low: float, top: float) -> Part:
    x0, y0, x1, y1 = part.box
    box = Rect(x0, y0, x1 - x0, y1 - y0)
    cuts = []
    for rect in (*made.side_places, *made.end_places):
        if box.overlaps(rect):
            pit = rect.grown(SLIP_MM)
            cuts.append(Cut(BAR, rectangle(pit.x, pit.y, pit.width, pit.height), low, top))
    return replace(part, cuts=(*part.cuts, *cuts))
