"""The mask on the glass: how much lit glass it leaves bare, off the holder, out of the lens's sight, low enough, and
whether the sheets that the holder takes have room for it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.checks.words import Said
from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.design.model import Design

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from holders.facts.models import Bed
    from holders.preset.resolve import Job
    from holders.workshop.nest.nest_job import Nested

USUAL_CARD_MM = 0.4
MOST_BARE = 10.0  # percent of the lit glass beside the holder
LEAST_GAP_MM = (
    0.3  # card and holder nearer than that overlap once the card is cut by hand: common practice, no source
)
SNAG_MM2 = 0.01  # shared area that is arithmetic, not material
BARE, CLEAR, SHADE, HIGH, ROOM = (
    "lit glass left bare around the holder",
    "mask clear of the holder",
    "mask out of the picture's light",
    "mask lower than the holder",
    "sheets for the mask",
)


class MaskCard(Rule):
    """The mask around a holder smaller than the glass."""

    code = "mask"
    title = "mask on the glass"
    why = (
        "bare lamp light beside the holder reaches the lens and lifts the picture's dark parts; a mask under the "
        "frame raises it, one beside the window would shade the picture, and one higher than the holder keeps the "
        "lamp's lid off it"
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
            HIGH: Said(
                "The mask is lower than the holder",
                "The mask is higher than the holder: the lamp's lid rests on it",
                "to the holder's top",
            ),
            ROOM: Said(
                "The holder's own sheets have room for the mask",
                "The mask takes further sheets",
                "more than without it",
            ),
        }
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Share of the lit glass left bare, distance from holder and windows, height, further sheets."""
        if not design.mask:
            yield self.skipped("the holder has no mask")
            return
        from holders.design.parts import slices  # noqa: PLC0415

        mask = slices.union([slices.footprint(card) for card in design.mask])
        body = slices.union([slices.footprint(part) for part in design.parts])
        yield self._bare(design, mask, body)
        yield self._clear(design, mask, body)
        yield self._shade(job.bed, design, mask)
        yield self._high(job.preset.layout.mask_card_mm, design)
        if design.of_sheet:
            from holders.workshop.nest.nest_job import nest_job  # noqa: PLC0415 - the packers

            yield self._room(partial(nest_job, job), design)

    def _high(self, card_mm: float | None, design: Design) -> Finding:
        """A thick sheet beside a low holder: the lid would stand on the mask, which would shade the film as well."""
        own = bool(design.of_sheet)
        room = design.total_height - max(piece.z1 for piece in design.mask)
        level = at_least(room, 0.0, -math.inf)
        card = (card_mm or USUAL_CARD_MM) if own else math.floor(10 * design.total_height) / 10
        lower = 0.1 <= card <= design.total_height
        return self.found(
            level, title=HIGH, measured=room, limit=0.0,
            advice="" if level == "pass" or not lower else f"black card of {card:g} mm lies lower than the holder",
            field="layout.mask_from" if own else "layout.mask_card_mm",
        )  # fmt: skip

    def _room(self, nested: Callable[[Design], Sequence[Nested]], design: Design) -> Finding:
        """Laid out twice, with the mask and without."""
        plain = replace(design, cards=design.of_card)
        try:
            less, all_of_it = (sum(len(kind.cuts) for kind in nested(one)) for one in (plain, design))
        except InputError as error:
            return self.skipped(f"not laid out on sheets: {error}", ROOM)
        more = all_of_it - less
        level = at_most(float(more), 0.0, math.inf)
        return self.found(
            level, title=ROOM, measured=float(more), limit=0.0, unit="sheets",
            where=f"{all_of_it} with the mask, {less} without",
            advice="" if level == "pass" else 'a mask of black card takes none: layout.mask_from = "card" with '
            "layout.mask_card_mm",
            field="layout.mask_from",
        )  # fmt: skip

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
