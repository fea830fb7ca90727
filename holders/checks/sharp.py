"""The tolerance stack against the focus band: how likely the picture is sharp, and what spoils it most."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.checks.heights import hold_flatter
from holders.design.model import Design
from holders.findings import Finding
from holders.shop.contributors import sharpness
from holders.shop.tolerance import StackUp

if TYPE_CHECKING:
    from holders.preset.resolve import Job

LIKELY = 0.9  # chance of a wholly sharp picture below which the finding warns
WORTH_NAMING = 0.1  # share of the mean square error from which a contributor is worth a cure
MOST_CURES = 3


class Sharpness(Rule):
    """The chance that the picture is sharp, with every tolerance at once."""

    code = "sharpness"
    title = "chance that the whole picture is sharp"
    why = (
        "each tolerance alone may fit the focus band and all of them together not: then every holder is a draw, and a "
        "soft scan is seen only when the film is back in its box"
    )
    source = (
        "worst case, root sum of squares and Monte Carlo of the height's contributors; standard deviations of limits: "
        "JCGM 100:2008 (GUM) 4.3.7 and 4.3.9 (from memory); nine in ten as limit: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The chance with its largest contributor; then the width of the stack against that of the band."""
        found = sharpness(job, design, frame=True)
        yield self._chance(job, design, found)
        yield self._stack(job, design, found)

    def _chance(self, job: Job, design: Design, found: StackUp) -> Finding:
        level = at_least(found.chance.value, LIKELY, -math.inf)
        flat = (
            ""
            if design.sag is not None and design.sag.reach_mm is not None
            else "; the film is taken as flat"
        )
        return self.found(
            level,
            title=f"{self.title}, for the usual film",
            measured=100 * found.chance.value,
            limit=100 * LIKELY,
            unit="%",
            where=(
                f"any one point of it {_told(found.chance_point.value)}; the largest cause is {_largest(found)}{flat}"
                "; the frame's own sag and warm bow counted, the film the usual one"
            ),
            advice="" if level == "pass" else cures(job, found),
            field=field_of(found.largest),
        )

    def _stack(self, job: Job, design: Design, found: StackUp) -> Finding:
        """The stack with its shift against the rim it comes nearest to or leaves most; the worst case beside it."""
        band = found.band_high_mm - found.band_low_mm
        low, high = found.fixed_low_mm, found.fixed_high_mm
        above = high - found.band_high_mm >= found.band_low_mm - low
        stack, rim = (high, found.band_high_mm) if above else (-low, -found.band_low_mm)
        level = at_most(stack, rim, math.inf)
        worst = None if design.sag is None else design.sag.worst_fraction
        surely = (
            f"; the worst sensible film has {math.floor(1000 * worst) / 10:g} % of its picture in focus"
            if worst is not None and worst < 1
            else "; the usual film is sharp even in the worst case"
            if found.surely_sharp
            else ""
        )
        return self.found(
            level,
            title="tolerance stack against the focus band",
            measured=stack,
            limit=rim,
            where=(
                f"{low:+.2f} to {high:+.2f} mm: shift {found.shift_mm:+.2f} mm, root sum of squares, reach of sag; "
                f"worst case "
                f"{found.worst_low_mm:+.2f} to {found.worst_high_mm:+.2f} mm from best focus, sharp from "
                f"{found.band_low_mm:+.2f} to {found.band_high_mm:+.2f} mm{surely}"
            ),
            advice=""
            if level == "pass"
            else f"the tolerance stack, {low:+.2f} to {high:+.2f} mm, leaves the focus band of {band:.2f} mm: "
            f"{cures(job, found)}; or accept a coarser print, which widens the band",
            field=field_of(found.largest),
        )


def _told(chance: float) -> str:
    return "under 0.1 %" if chance < 0.001 else "over 99.9 %" if chance > 0.999 else f"{100 * chance:.1f} %"


def _largest(found: StackUp) -> str:
    share = dict(found.shares)[found.largest]
    return f"{found.largest} ({share:.0%} of the error)"


def cures(job: Job, found: StackUp) -> str:
    """What would help, the largest cause first; at most three."""
    ranked = sorted(found.shares, key=lambda item: -item[1])
    named = [name for name, share in ranked if share >= WORTH_NAMING] or [found.largest]
    return "; ".join(dict.fromkeys(_cure(job, name) for name in named[:MOST_CURES]))


def _cure(job: Job, name: str) -> str:
    """What would make one contributor smaller."""
    measured = bool(job.preset.material.sheets_mm)
    words = {
        "focus height": "measure the bed again (more scans, a gentler slope): its focus height is "
        f"known to ±{job.bed.focus_sigma_mm:g} mm",
        "rounding to layers": "print in thinner layers",
        "rounding to sheets": "add a sheet thickness, or make up the rest with feet",
        "aimed off focus": "set the ledge to the focus height",
        "printer's height": "measure the printed ledge and correct it with feet or shims",
        "sheet of": "measure the finished ledge and correct it with feet or shims"
        if measured
        else "measure your sheets with a caliper and list them in the preset",
        "glue line": "measure a glued pair and set material.glue_line_mm and its spread",
        "feet": "measure the feet as they stand under the holder",
        "film thickness": "measure the film's base and set its thickness",
        "frame's own sag": "more feet, a thicker frame or a stiffer material",
        "frame's warm bow": "a thicker frame or a material that warmth stretches less",
        "sag of the film": hold_flatter(job),
    }
    return next(text for start, text in words.items() if name.startswith(start))


FIELDS = {
    "focus height": "bed.focus_sigma_mm",
    "rounding to layers": "printer.layer_mm",
    "rounding to sheets": "material.sheets_mm",
    "aimed off focus": "ledge",
    "printer's height": "printer.z_tolerance_mm",
    "sheet of": "material.sheets_mm",
    "glue line": "material.glue_spread_mm",
    "feet": "feet.thickness_mm",
    "film thickness": "base.thickness_mm",
    "frame's own sag": "feet.count",
    "frame's warm bow": "material.name",
    "sag of the film": "lid",
}


def field_of(name: str) -> str:
    """The preset key that a contributor is set by."""
    return next(field for start, field in FIELDS.items() if name.startswith(start))
