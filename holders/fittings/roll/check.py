"""Open ends: room light that comes in there, the calibration zone, what carries the film, and its curl along."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import FittedRule, at_least, at_most
from holders.core.findings import Finding
from holders.design.model import Design, Edge, Rect, Window
from holders.facts.habits import habit
from holders.film.stray import strip_view_factor, veil_limit
from holders.fittings.roll.passed import OpenEnds
from holders.fittings.roll.words import SAID

if TYPE_CHECKING:
    from holders.preset.resolve import Job


class RollRule(FittedRule[OpenEnds]):
    """Film through open ends."""

    code = "open-ends"
    title = "film through open ends"
    why = (
        "room light that comes in at an open end lifts dark parts, film over the calibration zone spoils every colour, "
        "and film kept on a core curls along"
    )
    source = (
        "view factor of a small face and a long strip at right angles (Siegel and Howell, Thermal Radiation Heat "
        "Transfer: from memory), the room taken as bright as the lamp; core-set curl is at most that of the core: "
        "geometry; what carries the film: common practice, no source"
    )
    said = SAID
    fitted = OpenEnds
    absent = "the holder's ends are closed"

    def look(self, job: Job, design: Design, made: OpenEnds) -> Iterator[Finding]:
        """Light, calibration zone, floor at the ends, curl along."""
        yield self._light(design, made)
        yield self._calibration(design, made)
        yield self._floor(design, made)
        yield self._core(made, job.preset.film.curl_along_per_m)

    def _light(self, design: Design, made: OpenEnds) -> Finding:
        """The share of room light that reaches the picture's edge straight through the gap under the lamp's lid."""
        away, number, edge = min(
            (_distance(window, design.glass, edge), k, edge)
            for k, window in enumerate(design.windows, 1)
            for edge in dict.fromkeys(made.edges)
        )
        share = strip_view_factor([(away, made.table.gap_mm)])
        level = at_most(share, veil_limit(), math.inf)
        return self.found(
            level,
            title="room light through the open ends",
            measured=100 * share,
            limit=100 * veil_limit(),
            unit="% of white",
            where=f"at most, window {number}, {edge} end: a gap of {made.table.gap_mm:g} mm, {away:.1f} mm from the "
            "picture, the room as bright as the lamp; nothing through a black cloth",
            advice=""
            if level == "pass"
            else "a black cloth over every open end, and a dark room; or a smaller gap under the lamp's lid",
            field="roll.gap_mm",
        )

    def _calibration(self, design: Design, made: OpenEnds) -> Finding:
        zone = design.calibration
        area = 0.0 if zone is None else max(_shared(way, zone) for way in made.ways)
        return self.found(
            "stop" if area > 0 else "pass",
            title="film beside the calibration zone",
            measured=area,
            limit=0.0,
            unit="mm² covered",
            advice=""
            if area <= 0
            else 'set layout.turn = "always", so that the film crosses the bed, or roll.ends = "far"',
            field="roll.ends",
        )

    def _floor(self, design: Design, made: OpenEnds) -> Finding:
        least, number, edge = min(
            (_distance(window, design.outer, edge), k, edge)
            for k, window in enumerate(design.windows, 1)
            for edge in dict.fromkeys(made.edges)
        )
        limit = habit("film-end-carried")
        level = at_least(least, limit, 0.0)
        return self.found(
            level,
            title="floor under the film at the open ends",
            measured=least,
            limit=limit,
            where=f"window {number}, {edge} end, from the window to the holder's outside",
            advice="" if level == "pass" else "fewer frames over the window: film.frames",
            field="film.frames",
        )

    def _core(self, made: OpenEnds, along_per_m: float) -> Finding:
        title = "curl along the film"
        if made.table.core_mm is None:
            return self.skipped("the film was kept flat", title)
        most = core_curl_per_m(made.table.core_mm)
        stated = abs(along_per_m)
        if 0 < stated <= most:
            level, advice = "pass", ""
        elif stated > most:
            level, advice = "warn", "film cannot be set tighter than its core: measure core and curl again"
        else:
            level, advice = "warn", "measure it (holders curl, a piece on edge) and set film.curl_along_per_m"
        return self.found(
            "pass" if level == "pass" else "warn",
            title=title,
            measured=stated,
            limit=most,
            unit="per m",
            where=f"a core of {made.table.core_mm:g} mm gives at most {most:.1f} per m, an arc of "
            f"{made.table.core_mm / 2:g} mm radius; film that has rested gives less",
            advice=advice,
            field="film.curl_along_per_m",
        )


def core_curl_per_m(core_mm: float) -> float:
    """The curl of film that has taken all of its core's roundness, 1/m: one over the core's radius."""
    return 1000.0 / (core_mm / 2)


def _distance(window: Window, outer: Rect, edge: Edge) -> float:
    """From the window's edge to the same edge of a larger rectangle, mm."""
    o = window.opening
    return {
        "left": o.x - outer.x,
        "right": outer.right - o.right,
        "foot": o.y - outer.y,
        "head": outer.top - o.top,
    }[edge]


def _shared(one: Rect, other: Rect) -> float:
    """The area that two rectangles share, mm²."""
    width = min(one.right, other.right) - max(one.x, other.x)
    height = min(one.top, other.top) - max(one.y, other.y)
    return max(0.0, width) * max(0.0, height)
