"""How likely the picture is sharp with every tolerance at once, and what spoils it most."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least
from holders.checks.focus.heights import hold_flatter
from holders.core.findings import Finding
from holders.design.model import Design
from holders.workshop.budget.tolerance import SHARP_SHARE, StackUp
from holders.workshop.stock import make_up

if TYPE_CHECKING:
    from holders.preset.resolve import Job

LIKELY = 0.9  # chance of a picture that is sharp enough, below which the finding warns
WORTH_NAMING = 0.1  # share of the mean square error from which a contributor is worth a cure
MOST_CURES = 3


class Sharpness(Rule):
    """The chance that the picture is sharp, with every tolerance at once."""

    code = "sharpness"
    title = f"chance that at least {SHARP_SHARE:.0%} of the picture is sharp"
    why = (
        "each tolerance alone may fit the focus band and all of them together not: then every holder is a draw, and a "
        "soft scan is seen only when the film is back in its box"
    )
    source = (
        "Monte Carlo of the height's contributors over the heights of film and frame at each place of the picture; "
        "standard deviations of limits: JCGM 100:2008 (GUM) 4.3.7 and 4.3.9 (from memory); nine tenths of the picture "
        "nine times in ten as limit: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The chance, what takes most of it, and as information how far off it could be if everything conspired."""
        from holders.workshop.budget.share import sharp_share  # noqa: PLC0415 - numpy, shapely

        found = sharp_share(job, design)
        stack = found.stack
        level = at_least(found.most.value, LIKELY, -math.inf)
        flat = (
            "; the film is taken as flat"
            if design.sag is None or design.sag.reach_mm is None
            else "; for film of the usual curl"
        )
        window = f" (window {found.window})" if len(design.windows) > 1 else ""
        yield self.found(
            level,
            measured=100 * found.most.value,
            limit=100 * LIKELY,
            unit="%",
            where=(
                f"all of it sharp: {told_chance(found.whole.value)}{window}{flat}, the frame's own sag and warm bow "
                f"counted; most of the doubt is {_largest(stack)}; {worst_words(stack)}"
            ),
            advice=""
            if level == "pass"
            else f"{cures(job, design, stack)}; or accept a coarser print, which widens the band",
            field=field_of(stack.largest),
        )


def worst_words(stack: StackUp) -> str:
    """How far off it could be if every tolerance were used up the same way, in words."""
    ends = (
        f"{stack.worst_low_mm:+.2f} to {stack.worst_high_mm:+.2f} mm from best focus, "
        f"where {stack.band_low_mm:+.2f} to {stack.band_high_mm:+.2f} mm is sharp"
    )
    if stack.surely_sharp:
        return f"sharp even if every tolerance were used up the same way: {ends}"
    return f"if every tolerance were used up the same way, which hardly happens: {ends}"


def told_chance(chance: float) -> str:
    """A chance as people read it."""
    return "under 0.1 %" if chance < 0.001 else "over 99.9 %" if chance > 0.999 else f"{100 * chance:.1f} %"


def _largest(found: StackUp) -> str:
    share = dict(found.shares)[found.largest]
    return f"{found.largest} ({share:.0%})"


def cures(job: Job, design: Design, found: StackUp) -> str:
    """What would help, the largest cause first; at most three."""
    ranked = sorted(found.shares, key=lambda item: -item[1])
    named = [name for name, share in ranked if share >= WORTH_NAMING] or [found.largest]
    return "; ".join(dict.fromkeys(_cure(job, design, name) for name in named[:MOST_CURES]))


def _cure(job: Job, design: Design, name: str) -> str:
    """What would make one contributor smaller."""
    measured = bool(job.preset.material.sheets_mm)
    words = {
        "focus height": "measure the bed again (more scans, a gentler slope): its focus height is "
        f"known to ±{job.bed.focus_sigma_mm:g} mm",
        "rounding to layers": "print in thinner layers",
        "rounding to sheets": make_up(job, design),
        "aimed off focus": "set the ledge to the focus height",
        "printer's height": "measure the printed ledge and correct it with feet or shims",
        "sheet of": "measure the finished ledge and correct it with feet or shims"
        if measured
        else "measure your sheets with a caliper and list them in the preset",
        "glue line": "measure a glued pair and set material.glue_line_mm and its spread",
        "feet": "measure the feet as they stand under the holder",
        "film thickness": "measure the film's base and set its thickness",
        "frame's own sag": "a thicker frame or a stiffer material, as the check of the frame's sag says",
        "frame's warm bow": "a thicker frame or a material that warmth stretches less",
        "sag of the film": hold_flatter(job, design),
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
