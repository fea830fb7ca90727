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
NOTED_MM = 0.05  # a sag or bow of the frame below this is not worth a word here


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
        found = sharpness(job, design)
        yield self._chance(job, design, found)
        yield self._stack(job, found)

    def _chance(self, job: Job, design: Design, found: StackUp) -> Finding:
        level = at_least(found.chance.value, LIKELY, -math.inf)
        flat = (
            ""
            if design.sag is not None and design.sag.reach_mm is not None
            else "; the film is taken as flat"
        )
        return self.found(
            level,
            measured=100 * found.chance.value,
            limit=100 * LIKELY,
            unit="%",
            where=(
                f"any one point of it {_told(found.chance_point.value)}; the largest cause is {_largest(found)}{flat}"
                f"{_on_top(job, design)}"
            ),
            advice="" if level == "pass" else cures(job, found),
            field=field_of(found.largest),
        )

    def _stack(self, job: Job, found: StackUp) -> Finding:
        """Twice the root sum of squares against the whole band; the worst case beside it."""
        stack, band = 2 * found.rss_mm, found.band_high_mm - found.band_low_mm
        level = at_most(stack, band, math.inf)
        surely = "; sharp even in the worst case" if found.surely_sharp else ""
        return self.found(
            level,
            title="tolerance stack against the focus band",
            measured=stack,
            limit=band,
            where=(
                f"±{found.rss_mm:.2f} mm as root sum of squares about {found.shift_mm:+.2f} mm; worst case "
                f"{found.worst_low_mm:+.2f} to {found.worst_high_mm:+.2f} mm from best focus, sharp from "
                f"{found.band_low_mm:+.2f} to {found.band_high_mm:+.2f} mm{surely}"
            ),
            advice=""
            if level == "pass"
            else f"the focus band, {band:.2f} mm, is narrower than the tolerance stack, {stack:.2f} mm: "
            f"{cures(job, found)}; or accept a coarser print, which widens the band",
            field=field_of(found.largest),
        )


def _on_top(job: Job, design: Design) -> str:
    """What the frame itself does, which the stack does not count: it has findings of its own."""
    from holders.shop.standing import hanging  # noqa: PLC0415 - shapely
    from holders.shop.warm import warm_bow  # noqa: PLC0415

    sag, lift = hanging(job, design), warm_bow(job, design).lift_mm
    ways = (
        [f"{sag.now_mm:.2f} mm of sag between its feet"] if sag is not None and sag.now_mm >= NOTED_MM else []
    )
    ways += [f"{lift:.2f} mm of bow when warm"] if lift >= NOTED_MM else []
    return f"; the frame's own {' and '.join(ways)} not counted" if ways else ""


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
    "sag of the film": "lid",
}


def field_of(name: str) -> str:
    """The preset key that a contributor is set by."""
    return next(field for start, field in FIELDS.items() if name.startswith(start))
