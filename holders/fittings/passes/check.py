"""A holder that moves between passes: overlap, stops, and what every one of its places lights or covers."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, pairwise
from typing import TYPE_CHECKING

from holders.checks.base import FittedRule, at_least, at_most
from holders.core.findings import Finding
from holders.design.draft.stands import lit_boxes
from holders.design.draft.stops import LEAST_LONG_MM
from holders.design.model import Design
from holders.facts.tables import process
from holders.fittings.passes.made import Passes
from holders.fittings.passes.words import SAID
from holders.geometry.rect import Rect

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from holders.preset.resolve import Job

SNAG_MM2 = 0.01  # shared area that is arithmetic, not material
BARE_MM2 = 4.0  # a pinhole of lit glass: no more light than a window edge scatters
REACH_MM = 0.05  # beyond both slide-in gaps, within which a block counts as touching
MATCH_MM = 0.04  # two pixels at 1200 ppi
OURS = "internal error; please report it"  # holders places the blocks so that this does not happen


class PassesRule(FittedRule[Passes]):
    """The passes of a holder that moves."""

    code = "passes"
    title = "passes of a film larger than the lamp area"
    why = (
        "a strip that no pass sees, passes without overlap or seen from two sides cannot be joined; a stop on the "
        "calibration zone or bare lit glass spoils the exposure of that pass only, and the seam shows it"
    )
    source = (
        "arithmetic on the places of the holder; parallax z x step / distance: similar triangles; least overlap and "
        "mismatch: common practice, no source"
    )
    said = SAID
    fitted = Passes
    absent = "one pass sees the whole film"

    def look(self, job: Job, design: Design, made: Passes) -> Iterator[Finding]:
        """Overlap, blocks off the zone and clear of the holder, stop along enough of it, bare glass, mismatch."""
        yield self._overlap(design, made)
        body = _body(design)
        yield self._zone(design, made)
        yield self._clear(design, made, body)
        yield self._stopped(design, made, body)
        yield self._bare(process(job.preset.route).calibration_clear_mm, design, made, body)
        yield self._match(job.bed.lens_distance_mm, design, made)

    def _overlap(self, design: Design, made: Passes) -> Finding:
        """What two neighbouring crop boxes show of the film in common, along the axis of the step between them."""
        least, where = math.inf, ""
        for window in design.windows:
            boxes = lit_boxes(window.opening, design.lamp, made.stands)
            seen = [
                None if box is None else box.moved(-x, -y)
                for box, (x, y) in zip(boxes, made.stands, strict=True)
            ]
            for number, (one, two) in enumerate(pairwise(seen), 1):
                along = made.stands[number][1] != made.stands[number - 1][1]
                both = -1.0 if one is None or two is None else _shared(one, two, along)
                if both < least:
                    least, where = both, f"passes {number} and {number + 1}"
        level = "stop" if least < 0 else at_least(least, made.overlap, 0.0)
        return self.found(
            level,
            title="overlap of neighbouring passes",
            measured=least,
            limit=made.overlap,
            where=f"{where}; {made.words()}",
            advice="" if level == "pass" else OURS,
            field="passes.overlap_mm",
        )

    def _zone(self, design: Design, made: Passes) -> Finding:
        if design.calibration is None:
            return self.skipped("this bed has no calibration zone", "step blocks off the calibration zone")
        shared, where = 0.0, ""
        for number, rect, name in _blocks(made):
            both = rect.shared(design.calibration)
            if both is not None and both.width * both.height > shared:
                shared, where = both.width * both.height, f"pass {number}, {name}"
        level = at_most(shared, SNAG_MM2, SNAG_MM2)
        return self.found(
            level,
            title="step blocks off the calibration zone",
            measured=shared,
            limit=SNAG_MM2,
            unit="mm²",
            where=where,
            advice="" if level == "pass" else OURS,
            field="passes",
        )

    def _clear(self, design: Design, made: Passes, body: BaseGeometry) -> Finding:
        """The room that is left between the rims with holder and blocks in line, and that nothing shares a place."""
        from holders.design.parts import slices  # noqa: PLC0415

        left, where = math.inf, ""
        for row in made.rows:
            along = row.way == "along"
            glass = design.glass.height if along else design.glass.width
            outer = design.outer.height if along else design.outer.width
            if glass - outer - row.steps.travel < left:
                left, where = glass - outer - row.steps.travel, f"{row.way} the bed"
        for number, (x, y) in enumerate(made.stands, 1):
            mine = [rect for k, rect, _ in _blocks(made) if k == number]
            inside = [design.glass.contains(rect, SNAG_MM2) for rect in mine]
            hit = max([body.intersection(slices.box(rect.moved(-x, -y))).area for rect in mine], default=0.0)
            crossed = any(a.overlaps(b) for a, b in combinations(mine, 2))
            if hit > SNAG_MM2 or crossed or not all(inside):
                left, where = min(left, -1.0), f"pass {number}"
        level = at_least(left, 2 * design.slide_gap, 0.0) if left >= 0 else "stop"
        return self.found(
            level,
            title="holder and step blocks clear of one another",
            measured=left,
            limit=2 * design.slide_gap,
            where=where,
            advice="" if level == "pass" else OURS,
            field="layout.slide_gap_mm",
        )

    def _stopped(self, design: Design, made: Passes, body: BaseGeometry) -> Finding:
        """The least length along which a row of blocks on the near side meets the holder, all its blocks together."""
        from holders.design.parts import slices  # noqa: PLC0415

        reach = 2 * design.slide_gap + REACH_MM
        least, where = math.inf, ""
        for number, (x, y) in enumerate(made.stands, 1):
            for row, rects in made.blocks(number - 1):
                near = [rect for rect in rects if (rect.y < y if row.way == "along" else rect.x < x)]
                touching = 0.0
                for rect in near:
                    front = (
                        Rect(rect.x, rect.top, rect.width, reach)
                        if row.way == "along"
                        else Rect(rect.right, rect.y, reach, rect.height)
                    )
                    met = body.intersection(slices.box(front.moved(-x, -y)))
                    x0, y0, x1, y1 = met.bounds or (0.0, 0.0, 0.0, 0.0)
                    long = x1 - x0 if row.way == "along" else y1 - y0
                    touching += 0.0 if math.isnan(long) else long
                if near and touching < least:
                    least, where = touching, f"pass {number}, {row.way} the bed"
        level = "stop" if least <= 0 else at_least(least, LEAST_LONG_MM, 0.0)
        return self.found(
            level,
            title="holder against its step blocks",
            measured=least,
            limit=LEAST_LONG_MM,
            where=where,
            advice="" if level == "pass" else OURS,
            field="passes",
        )

    def _bare(self, clear: float, design: Design, made: Passes, body: BaseGeometry) -> Finding:
        """Lamp area that neither holder nor film nor blocks cover."""
        from holders.design.parts import slices  # noqa: PLC0415

        whole = slices.union([_filled(body), *(slices.box(w.pocket) for w in design.windows)])
        if design.calibration is not None:
            zones = [design.calibration.moved(-x, -y).grown(clear) for x, y in made.stands]
            x, y = min(z.x for z in zones), min(z.y for z in zones)
            size = max(z.right for z in zones) - x, max(z.top for z in zones) - y
            whole = whole.difference(slices.box(Rect(x, y, *size)))
        bare, where = 0.0, ""
        for number, (across, along) in enumerate(made.stands, 1):
            lamp = slices.box(design.lamp.moved(-across, -along))
            covers = [rect.moved(-across, -along) for k, rect, _ in _blocks(made) if k == number]
            here = lamp.difference(slices.union([whole, *(slices.box(rect) for rect in covers)])).area
            if here > bare:
                bare, where = here, f"pass {number}"
        level = at_most(bare, BARE_MM2, math.inf)
        return self.found(
            level,
            title="lit glass left bare beside the holder",
            measured=bare,
            limit=BARE_MM2,
            unit="mm²",
            where=where,
            advice=""
            if level == "pass"
            else "lay black card over it, off the calibration zone, in that pass",
            field="layout.outer_width_mm",
        )

    def _match(self, distance: float, design: Design, made: Passes) -> Finding:
        """How far apart two passes show one point of film, where the film is not all at one height.

        The lens stands over the middle of the glass and sees a point z above another shifted by z x / distance; a step
        across the bed changes x. Along the bed the lens travels with the scan, and a step changes nothing.
        """
        subject = "shift of the picture from pass to pass"
        if made.moves.across.count == 1:
            return self.skipped(
                "the holder is moved along the bed only, where the lens travels with it", subject
            )
        if design.sag is None or design.sag.reach_mm is None:
            return self.skipped("how the film lies is not known", subject)
        low, high = design.sag.reach_mm
        off = (high - low) * made.moves.across.step / distance
        level = at_most(off, MATCH_MM, math.inf)
        return self.found(
            level,
            title=subject,
            measured=off,
            limit=MATCH_MM,
            where=f"at most: heights of {high - low:.2f} mm over the picture, steps of "
            f"{made.moves.across.step:.1f} mm across the bed",
            advice=""
            if level == "pass"
            else "what holds the film flatter helps; else join with a program that warps one pass onto the other",
            field="passes",
        )


def _shared(one: Rect, two: Rect, along: bool) -> float:
    """What two boxes have in common along one axis; negative: a gap."""
    if along:
        return min(one.top, two.top) - max(one.y, two.y)
    return min(one.right, two.right) - max(one.x, two.x)


def _blocks(made: Passes) -> Iterator[tuple[int, Rect, str]]:
    """Every block in every pass, counted from 1."""
    for number in range(len(made.stands)):
        for row, rects in made.blocks(number):
            for rect in rects:
                yield number + 1, rect, f"step block {row.way} the bed"


def _body(design: Design) -> BaseGeometry:
    """All of the holder that moves, from above, in its first place.

    In another place it is looked at by moving everything else the other way: outlines with a hair of room in them,
    as the joints of a split frame have, may cross themselves once their numbers are rounded elsewhere.
    """
    from holders.design.parts import slices  # noqa: PLC0415

    return slices.union([slices.footprint(part) for part in design.parts if not part.role.beside])


def _filled(shape: BaseGeometry) -> BaseGeometry:
    """A shape without its holes: windows and finger openings are judged with the film."""
    import shapely  # noqa: PLC0415

    parts = [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon"]
    return shapely.union_all([shapely.Polygon(p.exterior) for p in parts])
