"""The mask of black card on the glass: how much lit glass it leaves bare, off the holder, out of the lens's sight."""

from __future__ import annotations

import math
from collections.abc import Iterator
from types import MappingProxyType
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.checks.words import Said
from holders.core.findings import Finding
from holders.design.model import Design

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from holders.facts.models import Bed
    from holders.preset.resolve import Job

MOST_BARE = 10.0  # percent of the lit glass beside the holder
LEAST_GAP_MM = (
    0.3  # card and holder nearer than that overlap once the card is cut by hand: common practice, no source
)
SNAG_MM2 = 0.01  # shared area that is arithmetic, not material
BARE, CLEAR, SHADE = (
    "lit glass left bare around the holder",
    "mask clear of the holder",
    "mask out of the picture's light",
)


class MaskCard(Rule):
    """The mask around a holder smaller than the glass."""

    code = "mask"
    title = "mask of card on the glass"
    why = (
        "bare lamp light beside the holder reaches the lens and lifts the picture's dark parts; card under the frame "
        "raises it, and card beside the window would shade the picture"
    )
    source = "share left bare: common practice, no source; shade: similar triangles from the lens"
    said = MappingProxyType(
        {
            BARE: Said(
                "The mask covers the lit glass around the holder",
                "The mask leaves lit glass bare",
                "left bare",
            ),
            CLEAR: Said(
                "The mask lies clear of the holder",
                "The mask lies near the holder, which may come to rest on it",
                "to the holder",
                stop="The mask lies where the holder stands",
            ),
            SHADE: Said(
                "The mask shades no picture", "The mask shades the edge of a picture", "to the nearest window"
            ),
        }
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Share of the lit glass left bare, distance from the holder, distance from the windows."""
        if not design.mask:
            yield self.skipped("the holder has no mask of card")
            return
        from holders.design.parts import slices  # noqa: PLC0415

        mask = slices.union([slices.footprint(card) for card in design.mask])
        body = slices.union([slices.footprint(part) for part in design.parts])
        yield self._bare(design, mask, body)
        yield self._clear(design, mask, body)
        yield self._shade(job.bed, design, mask)

    def _bare(self, design: Design, mask: BaseGeometry, body: BaseGeometry) -> Finding:
        """Of the lit glass beside the holder and its stops, off the calibration zone; windows are the film's."""
        from holders.design.parts import slices  # noqa: PLC0415

        away = [body, slices.box(design.outer)]
        if design.calibration is not None:
            away.append(slices.box(design.calibration))
        lit = slices.box(design.lamp).difference(slices.union(away))
        share = 100 * lit.difference(mask).area / lit.area if lit.area > 0 else 0.0
        level = at_most(share, MOST_BARE, math.inf)
        return self.found(
            level, title=BARE, measured=share, limit=MOST_BARE, unit="%",
            where=f"{lit.difference(mask).area:.0f} of {lit.area:.0f} mm²",
            advice="" if level == "pass" else "a smaller slide-in gap leaves less of it bare around the card",
            field="layout.slide_gap_mm",
        )  # fmt: skip

    def _clear(self, design: Design, mask: BaseGeometry, body: BaseGeometry) -> Finding:
        """As seen from above: under the frame, where it stands on feet, there must be no card either."""
        from holders.design.parts import slices  # noqa: PLC0415

        holder = slices.union([body, *(slices.disc(foot) for foot in design.feet)])
        gap, shared = mask.distance(holder), mask.intersection(holder).area
        level = "stop" if shared > SNAG_MM2 else at_least(gap, LEAST_GAP_MM, 0.0)
        return self.found(
            level, title=CLEAR, measured=gap, limit=LEAST_GAP_MM,
            where=f"{shared:.1f} mm² of it under the holder" if level == "stop" else "",
            advice="" if level == "pass" else "a larger slide-in gap leaves room between holder and card",
            field="layout.slide_gap_mm",
        )  # fmt: skip

    def _shade(self, bed: Bed, design: Design, mask: BaseGeometry) -> Finding:
        """Rays from the film to the lens lean by so much at most down to the glass."""
        from holders.design.parts import slices  # noqa: PLC0415

        high = max(one.heights.drawn_ledge + one.in_pocket_mm for one in design.each)
        lean = high * bed.glass_width_mm / 2 / bed.lens_distance_mm
        gap = min(mask.distance(slices.box(window.opening)) for window in design.windows)
        level = at_least(gap, lean, 0.0)
        return self.found(
            level, title=SHADE, measured=gap, limit=lean,
            advice="" if level == "pass" else "a wider wall keeps the card away from the window",
            field="layout.wall_mm",
        )  # fmt: skip
