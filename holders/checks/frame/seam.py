"""Parts in pieces: what a seam does to the ledge, the pocket and the film."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.core.findings import Finding
from holders.design.model import Design, Part, Seam
from holders.facts.habits import habit
from holders.geometry.hull import convex_hull, inside_by

if TYPE_CHECKING:
    from holders.facts.models import Printer
    from holders.preset.resolve import Job
    from holders.preset.tables.plain import PlainPreset
    from holders.workshop.stiffness.joints import Pulled

BOTH_HANDS = "with both hands, one on each side of the seam"
HALF_STRONG = 0.5  # of the strength: surfaces, filling and glue differ
COSTLY = 0.5  # share of the band's half width that a step may take
CORNER_MM, NEAR_CORNER_MM = 6.0, 2.5
SHARED_MM2 = 0.01


class SeamRule(Rule):
    """Step at the ledge, pocket walls, windows and film corners where a part is put together from pieces."""

    code = "seam"
    title = "pieces of a split part meet true"
    why = (
        "a step in the ledge bends the film out of focus, a pocket wall out of line snags it, and a joint in a "
        "window or at a film corner shows in the scan or lets the corner down"
    )
    source = (
        "arithmetic: two printed heights that miss independently (root sum of squares); for pieces without glue the "
        "tilt that the gap allows over the joint's height; glued flanks in shear as a bolted plate, statics (from "
        "memory), checked against an elastic solid; strengths: from memory; distances to film "
        "corners: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Six measures over all seams; the worst of each."""
        if not design.seams:
            yield self.skipped("every part is in one piece")
            return
        frame = [seam for seam in design.seams if seam.role.in_frame]
        if frame and job.printer is not None:
            yield self._step(job.printer, design, frame)
        if job.printer is not None:
            yield from self._glued(job, design)
            yield self._pocket(job.preset, design, frame)
        yield self._windows(design)
        yield self._corners(design)
        yield self._marks(design)

    def _step(self, printer: Printer | None, design: Design, seams: list[Seam]) -> Finding:
        """Both ledges miss their height by the printer's tolerance; loose pieces tilt besides."""
        assert printer is not None
        half = design.heights.half_band
        printed = math.sqrt(2) * printer.z_tolerance_mm
        hangs = [(drop_mm(design, seam), seam) for seam in seams]
        drop, worst = max(hangs, key=lambda item: item[0])
        step = printed + drop
        level = at_most(step, COSTLY * half, half)
        where = f"two printed heights {printed:.2f} mm"
        where += (
            f", tilt of loose pieces {drop:.2f} mm at {_place(worst)}"
            if drop > 0
            else ", glued on a flat plate"
        )
        if seams[0].fit == "press" and drop == 0:
            where = f"two printed heights {printed:.2f} mm, every piece bears on the glass by itself"
        advice = ""
        if level != "pass":
            advice = (
                'split.fit = "glue" on a flat plate, or feet beside the seam' if drop > printed else
                "print a coupon for the printer's true height (printer.z_tolerance_mm)"
            )  # fmt: skip
        return self.found(
            level,
            title="step in the ledge at a seam against the focus band",
            measured=step,
            limit=COSTLY * half,
            where=where,
            advice=advice,
            field="split.fit" if drop > printed else "printer.z_tolerance_mm",
        )

    def _glued(self, job: Job, design: Design) -> Iterator[Finding]:
        """The glue of the joints where the frame, and a lid, is lifted by one edge, and the necks of their tongues."""
        from holders.workshop.stiffness.joints import pulled, pulled_lids  # noqa: PLC0415 - shapely

        title = "glue of the joints when the holder is lifted by one edge"
        found = pulled(job, design)
        if found:
            yield self._strong(title, found, f"lift it {BOTH_HANDS}")
        elif any(seam.role.in_frame for seam in design.seams):
            yield self.skipped("the joints press together without glue: lift the holder by both sides", title)
        if lids := pulled_lids(job.material.density_kg_m3, design):
            yield self._strong(
                "glue of the lid's joints when it is lifted by one edge",
                lids,
                f"lift the lid {BOTH_HANDS}",
            )

    def _strong(self, title: str, found: Sequence[Pulled], cure: str) -> Finding:
        """The joint under most stress against what holds."""
        worst = max(
            found,
            key=lambda one: max(one.glue_mpa / habit("glue-shear"), one.neck_mpa / habit("print-bends")),
        )
        glue, neck = worst.glue_mpa / habit("glue-shear"), worst.neck_mpa / habit("print-bends")
        level = at_most(max(glue, neck), HALF_STRONG, 1.0)
        return self.found(
            level,
            title=title,
            measured=max(glue, neck),
            limit=HALF_STRONG,
            unit="of its strength",
            where=f"{worst.glue_mpa:.2f} MPa in the glue, {worst.neck_mpa:.1f} MPa in the tongues, "
            f"{_place(worst.seam)}",
            advice="" if level == "pass" else cure,
            field="split.fit",
        )

    def _pocket(self, preset: PlainPreset, design: Design, seams: list[Seam]) -> Finding:
        """Pocket walls may stand out of line by the play of the joint, which the film's own clearance must take."""
        play = max(seam.clearance_mm for seam in seams)
        level = at_most(play, design.clearance, math.inf)
        return self.found(
            level,
            title="pocket walls in line at a seam",
            measured=play,
            limit=design.clearance,
            where=_place(seams[0]),
            advice="" if level == "pass" else "a smaller split.clearance_mm, or more layout.clearance_mm",
            field="split.clearance_mm" if preset.split.clearance_mm is not None else "layout.clearance_mm",
        )

    def _windows(self, design: Design) -> Finding:
        """What of the joints' tongues stands in a window, measured on the pieces that carry them."""
        from holders.design.parts import slices  # noqa: PLC0415
        from holders.design.parts.sections import polygon  # noqa: PLC0415

        lows = {joint.low for seam in design.seams for joint in seam.joints}
        covered = {part.name: slices.footprint(part) for part in design.parts if part.name in lows}
        shared = [
            (
                covered[joint.low]
                .intersection(polygon(joint.tongue))
                .intersection(slices.box(window.opening))
                .area,
                f"joint {joint.letter} in window {k}",
            )
            for seam in design.seams
            for joint in seam.joints
            for k, window in enumerate(design.windows, 1)
        ]
        area, where = max(shared, default=(0.0, ""))
        return self.found(
            at_most(area, SHARED_MM2, SHARED_MM2),
            title="joints clear of the windows",
            measured=area,
            limit=SHARED_MM2,
            unit="mm²",
            where=where if area > SHARED_MM2 else "",
            advice="" if area <= SHARED_MM2 else 'set split.mode = "never" and choose a larger printer',
            field="split.mode",
        )

    def _corners(self, design: Design) -> Finding:
        away, where = min((corner_mm(design, seam), _place(seam)) for seam in design.seams)
        level = at_least(away, CORNER_MM, NEAR_CORNER_MM)
        return self.found(
            level,
            title="seams away from film corners",
            measured=away,
            limit=CORNER_MM,
            where=where,
            advice="" if level == "pass" else "look after this seam: the corner is where film curls most",
            field="layout.count",
        )

    def _marks(self, design: Design) -> Finding:
        """Two pieces that meet carry at least one letter in common."""
        pairs: dict[tuple[str, str], bool] = {}
        for seam in design.seams:
            for joint in seam.joints:
                pairs[joint.low, joint.high] = pairs.get((joint.low, joint.high), False) or joint.marked
        bare = [f"{low} and {high}" for (low, high), marked in pairs.items() if not marked]
        return self.found(
            "warn" if bare else "pass",
            title="pieces marked",
            measured=float(len(bare)),
            limit=0.0,
            unit="",
            where=bare[0] if bare else "",
            advice="the rails are too narrow for letters: write them on by hand as you take the pieces off the plate"
            if bare
            else "",
            field="layout.wall_mm",
        )


def corner_mm(design: Design, seam: Seam) -> float:
    """From a seam, where it runs through material, to the nearest film corner."""
    found = [math.inf]
    for window in design.windows:
        f = window.film
        for x in (f.x, f.right):
            for y in (f.y, f.top):
                u, v = (x, y) if seam.axis == "y" else (y, x)
                found += [
                    math.hypot(v - seam.at_mm, max(0.0, low - u, u - high)) for low, high in seam.crossings
                ]
    return min(found)


def drop_mm(design: Design, seam: Seam) -> float:
    """How far the ledge sinks at a seam whose pieces only press together.

    Where a piece does not stand by itself, the two fold at the seam until the play of the tightest joint is used up
    over the joint's height; a fold by phi between lengths a and b sinks phi / (1/a + 1/b) (small angles). The glass
    stops it after the feet's protrusion. 0 for glued pieces and where nothing is below to sink into.
    """
    protrusion = design.foot_thickness - min(design.foot_depths) if design.feet else 0.0
    if seam.fit == "glue" or protrusion <= 0:
        return 0.0
    pieces = {part.name: part for part in design.parts}
    worst = 0.0
    for joint in seam.joints:
        pair = (pieces[joint.low], pieces[joint.high])
        if all(stands(design, part) for part in pair):
            continue
        tall = min(part.z1 - part.z0 for part in pair)
        play = min(j.play_mm for j in seam.joints if (j.low, j.high) == (joint.low, joint.high))
        a, b = (_length(part, seam) for part in pair)
        worst = max(worst, min(protrusion, play / tall / (1 / a + 1 / b)))
    return worst


def stands(design: Design, part: Part) -> bool:
    """Whether a piece's centre of mass lies inside the feet that are under it."""
    import shapely  # noqa: PLC0415

    from holders.design.parts import slices  # noqa: PLC0415

    below = slices.footprint(part)
    spots = [
        at for f in design.feet for at in f.bears if below.distance(shapely.Point(*at)) < f.diameter_mm / 2
    ]
    mass = list(slices.masses(part))
    total = sum(volume for volume, _, _ in mass)
    centre = (sum(v * x for v, x, _ in mass) / total, sum(v * y for v, _, y in mass) / total)
    return inside_by(centre, convex_hull(spots)) > 0


def _length(part: Part, seam: Seam) -> float:
    x0, y0, x1, y1 = part.box
    return y1 - y0 if seam.axis == "y" else x1 - x0


def _place(seam: Seam) -> str:
    letters = "".join(joint.letter for joint in seam.joints)
    return f"seam {letters} of the {seam.part}, {seam.axis} {seam.at_mm:.1f}"
