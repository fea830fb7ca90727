"""Does the holder fit the bed: the rim of the glass and the lamp area."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least
from holders.core.findings import Finding
from holders.design.model import Design, Rect
from holders.design.plan.anchor import by_ruler, holding, loose_from, loose_ways, shift_mm
from holders.geometry.outline import bounds

if TYPE_CHECKING:
    from holders.preset.resolve import Job


SPARE_MM = 0.5
DARK_MM2 = 1e-6  # of a window, what is arithmetic and no unlit film


class GlassFit(Rule):
    """The holder within the rim of the glass, and held in its place there."""

    code = "glass-fit"
    title = "gap between the holder and the rim of the glass"
    why = (
        "a holder larger than the glass rides up on the rim; one without a gap jams; one that nothing holds lies "
        "beside its crop boxes"
    )
    source = "arithmetic"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """The least gap of any part to the rim, and whether a rim or a stop holds the holder in its place."""
        yield self._gap(design)
        yield self._held(design)

    def _gap(self, design: Design) -> Finding:
        gap, where = math.inf, ""
        glass = [design.glass.moved(-across, -along) for across, along in design.stands]
        for part in (p for p in design.parts if not p.role.beside):
            for slab in part.slabs:
                x0, y0, x1, y1 = bounds(slab.region.outer)
                for dx, dy in part.places:
                    spot = Rect(x0 + dx, y0 + dy, x1 - x0, y1 - y0)
                    here = min(_inside(spot, under) for under in glass)
                    if here < gap:
                        gap, where = here, part.name
        level = at_least(gap, design.slide_gap, 0.0)
        return self.found(
            level,
            measured=gap,
            limit=design.slide_gap,
            where=where,
            advice=""
            if level == "pass"
            else "make the holder smaller than the glass, or leave the outer size out",
            field="layout.slide_gap_mm",
        )

    def _held(self, design: Design) -> Finding:
        edges, shift = holding(design), max(shift_mm(design))
        limit = loose_from(design.slide_gap)
        loose = loose_ways(edges)
        return self.found(
            "warn" if loose else "pass",
            title="holder held in its place on the glass",
            measured=shift,
            limit=limit,
            where=f"nothing holds it {loose}; the crop boxes would be off by as much" if loose else "",
            advice=f"set it {by_ruler(design)} with a ruler" if loose else "",
            field="layout.anchor",
        )


def _inside(inner: Rect, outer: Rect) -> float:
    return min(inner.x - outer.x, inner.y - outer.y, outer.right - inner.right, outer.top - inner.top)


def _lit(opening: Rect, design: Design) -> float:
    """How far the lamp area reaches past a window on its worst side; of passes, what all of them together light.

    Passes that leave a strip between them give minus its share of the window as a length: the side of a square of it.
    """
    from holders.design.parts import slices  # noqa: PLC0415

    lamps = [design.lamp.moved(-across, -along) for across, along in design.stands]
    dark = slices.box(opening).difference(slices.union([slices.box(lamp) for lamp in lamps])).area
    if dark > DARK_MM2:
        return -math.sqrt(dark) if len(lamps) > 1 else _inside(opening, design.lamp)
    x, y = min(lamp.x for lamp in lamps), min(lamp.y for lamp in lamps)
    right, top = max(lamp.right for lamp in lamps), max(lamp.top for lamp in lamps)
    return _inside(opening, Rect(x, y, right - x, top - y))


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
        margins = [(_lit(window.opening, design), k) for k, window in enumerate(design.windows, 1)]
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


class LidRoom(Rule):
    """Height of the holder under the closed lamp lid."""

    code = "lid-room"
    title = "height under the lamp's lid"
    why = "a holder taller than the room keeps the lid open: stray light, and the lamp at the wrong distance"
    source = "the bed's own row; half a millimetre to spare: common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Room left above the assembled holder, and above mounts that stand out of it."""
        mounts = [
            mine.heights.drawn_ledge + one.film.thickness_mm
            for one, mine in zip(job.each, design.each, strict=True)
            if one.film.kind == "mount"
        ]
        top = max((design.total_height, *mounts))
        left = job.bed.lid_room_mm - top
        level = at_least(left, SPARE_MM, 0.0)
        yield self.found(
            level,
            measured=top,
            limit=job.bed.lid_room_mm - SPARE_MM,
            where=f"the lid leaves {job.bed.lid_room_mm:g} mm"
            + (", the mounts stand out of the holder" if top > design.total_height else ""),
            advice=""
            if level == "pass"
            else "a thinner lid, a shallower pocket or lower feet; some lids lift on their hinge",
            field=next(
                (made.lower_key for made in design.fitted if made.lower_key), "layout.pocket_depth_mm"
            ),
        )
