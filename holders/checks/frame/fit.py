"""Does the holder fit the bed: the rim of the glass and the lamp area."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least
from holders.core.findings import Finding
from holders.design.model import Design, Rect
from holders.geometry.outline import bounds

if TYPE_CHECKING:
    from holders.preset.resolve import Job


class GlassFit(Rule):
    """The holder within the rim of the glass."""

    code = "glass-fit"
    title = "gap between the holder and the rim of the glass"
    why = "a holder larger than the glass rides up on the rim; one without a gap jams"
    source = "arithmetic"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """The least gap of any part to the rim, and how far the holder can shift."""
        gap, where = math.inf, ""
        for part in design.parts:
            for slab in part.slabs:
                x0, y0, x1, y1 = bounds(slab.region.outer)
                for dx, dy in part.places:
                    spot = Rect(x0 + dx, y0 + dy, x1 - x0, y1 - y0)
                    here = _inside(spot, design.glass)
                    if here < gap:
                        gap, where = here, part.name
        shift = max(design.glass.width - design.outer.width, design.glass.height - design.outer.height)
        level = at_least(gap, design.slide_gap, 0.0)
        loose = shift > 4 * max(design.slide_gap, 0.5)
        yield self.found(
            level,
            measured=gap,
            limit=design.slide_gap,
            where=where,
            advice=f"it can shift by {shift:.1f} mm: lay it against the home corner"
            if level == "pass" and loose
            else ""
            if level == "pass"
            else "make the holder smaller than the glass, or leave the outer size out",
            field="layout.slide_gap_mm",
        )


def _inside(inner: Rect, outer: Rect) -> float:
    return min(inner.x - outer.x, inner.y - outer.y, outer.right - inner.right, outer.top - inner.top)


class Lamp(Rule):
    """Each window inside the lamp area."""

    code = "lamp"
    title = "window inside the lamp area"
    why = "film beyond the lamp area is not lit"
    source = "arithmetic"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """The window nearest to the lamp area's rim."""
        if not design.windows:
            yield self.skipped("no window")
            return
        margins = [(_inside(window.opening, design.lamp), k) for k, window in enumerate(design.windows, 1)]
        margin, number = min(margins)
        level = at_least(margin, 0.0, 0.0)
        yield self.found(
            level,
            measured=margin,
            limit=0.0,
            where=f"window {number}",
            advice=""
            if level == "pass"
            else "turn the film, ask for fewer films, or take a bed with a larger lamp area",
            field="layout.turn",
        )
