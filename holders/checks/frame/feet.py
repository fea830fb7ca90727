"""Feet: they bear on the glass, off everything that must stay clear, and the holder stands on them."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.core.findings import Finding, Level
from holders.design.model import Design, Part
from holders.design.parts.roles import frame_parts
from holders.design.plan.feet import lit_below
from holders.geometry.hull import convex_hull, hull_height, inside_by

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from holders.facts.models import Bed, Printer
    from holders.preset.resolve import Job

IN_LINE_MM = 10.0
SAFE_MM = 5.0
TOUCH_MM2 = 0.01


class Feet(Rule):
    """Place, bearing, protrusion and stability of the feet."""

    code = "feet"
    title = "feet"
    why = (
        "feet carry the holder at its height: one under a window shades the film, one over "
        "the edge lifts a corner, "
        "and three in a line let it rock"
    )
    source = "statics; clearances common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Protrusion, what the feet stand under, the floor above their recess, and the triangle they span."""
        if not design.feet:
            yield self.skipped("the holder has no feet")
            return
        yield self._protrusion(design)
        yield self._clear(job.bed, design)
        yield self._bearing(design)
        yield self._floor(job.printer, design)
        yield from self._stance(design)

    def _protrusion(self, design: Design) -> Finding:
        out = design.foot_thickness - max(design.foot_depths)
        return self.found(
            "pass" if out > 1e-6 else "stop" if out < -1e-6 else "warn",
            title="feet stand out of the underside",
            measured=out,
            limit=0.0,
            advice="" if out > 1e-6 else "a shallower recess or thicker feet: these do not carry the holder",
            field="feet.recess_mm",
        )

    def _clear(self, bed: Bed, design: Design) -> Finding:
        """Off the light between windows and lens and off the calibration zone (stop), off one another (warn)."""
        from holders.design.parts import slices  # noqa: PLC0415

        lens, away = bed.glass_width_mm / 2, bed.lens_distance_mm
        lit = [
            (k, lit_below(window.opening, lens - across, away, one.heights.drawn_ledge))
            for across in sorted({across for across, _ in design.stands})
            for one in design.each
            for k, window in one.numbered
        ]
        forbidden = [(slices.box(area), f"the opening of window {k}") for k, area in lit]
        if design.calibration is not None:  # moving the holder moves the zone the other way below it
            below = [design.calibration.moved(-across, -along) for across, along in design.stands]
            forbidden += [(slices.box(zone), "the calibration zone") for zone in below]
        stops: list[tuple[float, str]] = []
        warns: list[tuple[float, str]] = []
        for k, foot in enumerate(design.feet, 1):
            disc = slices.disc(foot)
            others = [(slices.disc(other), "another foot") for other in design.feet if other is not foot]
            for zones, found in ((forbidden, stops), (others, warns)):
                found += [(disc.intersection(zone).area, f"foot {k} under {name}") for zone, name in zones]
        level: Level = "pass"
        shared, where = 0.0, ""
        if warns and max(warns)[0] > TOUCH_MM2:
            level, (shared, where) = "warn", max(warns)
        if stops and max(stops)[0] > TOUCH_MM2:
            level, (shared, where) = "stop", max(stops)
        return self.found(
            level,
            title="feet off windows, calibration zone and one another",
            measured=shared,
            limit=0.0,
            unit="mm²",
            where=where,
            advice="" if level == "pass" else "move it, or take smaller, shorter or fewer feet",
            field="feet.diameter_mm",
        )

    def _bearing(self, design: Design) -> Finding:
        """The underside, or the floor of the recess, behind the whole foot."""
        from holders.design.parts import slices  # noqa: PLC0415

        frame = frame_parts(design)
        under = min(part.z0 for part in frame)
        behind = {deep: _just_above(frame, under + deep) for deep in set(design.foot_depths)}
        share, number = max(
            (_uncovered(slices.disc(foot), behind[deep]), k)
            for k, (foot, deep) in enumerate(zip(design.feet, design.foot_depths, strict=True), 1)
        )
        return self.found(
            at_most(share, 0.01, 0.25),
            title="foot wholly behind material",
            measured=share,
            limit=0.01,
            unit="of the foot bare",
            where=f"foot {number}",
            advice="" if share <= 0.01 else "the foot hangs over an edge: take smaller or fewer feet",
            field="feet.diameter_mm",
        )

    def _floor(self, printer: Printer | None, design: Design) -> Finding:
        """Material left above the recess, halfway from a foot's middle to its rim: in the middle may be its mark."""
        from holders.design.parts import slices  # noqa: PLC0415

        frame = frame_parts(design)
        under = min(part.z0 for part in frame)
        at_depth: defaultdict[float, list[tuple[int, tuple[float, float]]]] = defaultdict(list)
        for k, (foot, deep) in enumerate(zip(design.feet, design.foot_depths, strict=True), 1):
            dx, dy = (half / 2 for half in foot.half)
            at_depth[deep] += [
                (k, (foot.x + x, foot.y + y)) for x, y in ((dx, 0), (-dx, 0), (0, dy), (0, -dy))
            ]
        thin, number = min(
            (floor, k)
            for deep, spots in at_depth.items()
            for (k, _), floor in zip(
                spots, slices.solid_above(frame, under + deep, [spot for _, spot in spots]), strict=True
            )
        )
        layer = printer.layer_mm if printer is not None else 0.0
        limit = 3 * layer if layer else min(s.z1 - s.z0 for part in frame for s in part.slabs)
        level = at_least(thin, limit, limit / 3)
        return self.found(
            level,
            title="material above a foot",
            measured=thin,
            limit=limit,
            where=f"foot {number}",
            advice="" if level == "pass" else "a shallower recess, or feet away from the pocket",
            field="feet.recess_mm",
        )

    def _stance(self, design: Design) -> Iterator[Finding]:
        hull = convex_hull([at for foot in design.feet for at in foot.bears])
        width = hull_height(hull)
        yield self.found(
            at_least(width, 2 * IN_LINE_MM, IN_LINE_MM),
            title="feet not in one line",
            measured=width,
            limit=2 * IN_LINE_MM,
            where=f"{len(design.feet)} feet",
            advice="" if width >= 2 * IN_LINE_MM else "set at least three feet well apart",
            field="feet.count",
        )
        inside = inside_by(_centre_of_mass(design), hull)
        if not math.isfinite(inside):
            return
        yield self.found(
            at_least(inside, SAFE_MM, 0.0),
            title="centre of mass inside the feet",
            measured=inside,
            limit=SAFE_MM,
            where=f"{len(design.feet)} feet",
            advice=""
            if inside >= SAFE_MM
            else "the holder tips over its feet: set them further out or more of them",
            field="feet.count",
        )


def _just_above(frame: Sequence[Part], floor: float) -> BaseGeometry:
    """What the frame covers between a height and the next one at which anything of it changes."""
    from holders.design.parts import slices  # noqa: PLC0415

    higher = [z for z in slices.breaks(frame) if z > floor + slices.HAIR_MM]
    return slices.covered_at(frame, (floor + higher[0]) / 2 if higher else floor)


def _uncovered(disc: BaseGeometry, behind: BaseGeometry) -> float:
    return float(disc.difference(behind).area / disc.area)


def _centre_of_mass(design: Design) -> tuple[float, float]:
    """Of all that stands on the feet, of one density, from its sections."""
    from holders.design.parts import slices  # noqa: PLC0415

    total, mx, my = 0.0, 0.0, 0.0
    for part in (p for p in design.parts if not p.role.beside):
        for volume, x, y in slices.masses(part):
            total, mx, my = total + volume, mx + volume * x, my + volume * y
    return mx / total, my / total
