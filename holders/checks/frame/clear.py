"""What must stay clear: the calibration zone, and the parts and pockets of one another."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.core.findings import Finding
from holders.design.model import Design, Role

if TYPE_CHECKING:
    from holders.preset.resolve import Job

SNAG_MM2 = 0.01  # shared area that is arithmetic, not material


class Calibration(Rule):
    """The calibration zone clear of everything."""

    code = "calibration"
    title = "calibration zone clear"
    why = (
        "the scanner measures its own light through it before each scan; what covers it turns "
        "into streaks and wrong colours"
    )
    source = "common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """Distance of the nearest part, feet included, from the zone."""
        if design.calibration is None:
            yield self.skipped("this bed has no calibration zone")
            return
        from holders.design.parts import slices  # noqa: PLC0415

        zones = design.calibration, design.stands
        zone = slices.union([slices.box(zones[0].moved(-across, -along)) for across, along in zones[1]])
        near = [(slices.footprint(part), part.name) for part in design.parts if part.role is not Role.STEP]
        near += [(slices.disc(foot), "a foot") for foot in design.feet]
        near += [(slices.footprint(card), card.title) for card in design.mask]
        covered = max(((shape.intersection(zone).area, name) for shape, name in near), default=(0.0, ""))
        if covered[0] > SNAG_MM2:
            yield self.found(
                "stop",
                measured=covered[0],
                limit=0.0,
                unit="mm²",
                where=f"covered by {covered[1]}",
                advice=(
                    "move the window away from home or make the holder shorter, so that the zone stays open"
                ),
                field="layout.outer_length_mm",
            )
            return
        gap, name = min(((shape.distance(zone), name) for shape, name in near), default=(0.0, ""))
        level = at_least(gap, design.slide_gap, 0.0)
        yield self.found(
            level,
            measured=gap,
            limit=design.slide_gap,
            where=f"nearest is {name}",
            advice=""
            if level == "pass"
            else "the holder could slide onto the zone: keep it pushed away from home",
            field="layout.slide_gap_mm",
        )


class Overlap(Rule):
    """Parts and pockets that would stand in one another."""

    code = "overlap"
    title = "parts and pockets clear of one another"
    why = "two parts cannot fill one space, and two films cannot lie in one pocket"
    source = "arithmetic on the sections of the parts"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """The largest shared area of two parts at one height, and of two pockets."""
        area, where = self._parts(design)
        yield self.found(
            at_most(area, SNAG_MM2, SNAG_MM2),
            title="parts clear of one another",
            measured=area,
            limit=SNAG_MM2,
            unit="mm²",
            where=where,
            advice="" if area <= SNAG_MM2 else "give the lid more clearance, or ask for fewer films",
            field="lid.clearance_mm",
        )
        pairs = [
            (a, b)
            for (a, one), (b, two) in combinations(enumerate(design.windows, 1), 2)
            if one.pocket.overlaps(two.pocket)
        ]
        yield self.found(
            "stop" if pairs else "pass",
            title="pockets clear of one another",
            measured=float(len(pairs)),
            limit=0.0,
            unit="",
            where=f"windows {pairs[0][0]} and {pairs[0][1]}" if pairs else "",
            advice="ask for fewer films or a wider wall" if pairs else "",
            field="layout.count",
        )

    @staticmethod
    def _parts(design: Design) -> tuple[float, str]:
        from holders.design.parts import slices  # noqa: PLC0415

        worst = 0.0, ""
        for one, two in combinations((*design.parts, *design.mask), 2):
            for z in slices.shared_heights(one, two):
                shared = slices.covered_at((one,), z).intersection(slices.covered_at((two,), z)).area
                worst = max(worst, (shared, f"{one.name} and {two.name}, {z:.2f} mm above the glass"))
        for part in design.parts:  # the same part at several places
            spots = [slices.placed_once(part, place) for place in part.places]
            total = sum(spot.area for spot in spots)
            twice = total - slices.union(spots).area
            worst = max(worst, (twice, f"{part.name} and its neighbour"))
        return worst if worst[0] > SNAG_MM2 else (worst[0], "")
