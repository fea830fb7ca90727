"""How likely the picture is sharp with every tolerance at once, and what spoils it most."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import TRIED, Rule, at_least
from holders.core.findings import Finding
from holders.design.model import Design
from holders.design.sag import Sag
from holders.facts.curl_words import curl_span_words, curl_words
from holders.facts.models import Bed, FilmBase
from holders.preset.tables.plain import PlainPreset
from holders.preset.tables.supposed import supposed_keys
from holders.workshop.budget.tolerance import SHARP_SHARE, Cause, StackUp

if TYPE_CHECKING:
    from holders.preset.resolve import Job
    from holders.workshop.budget.odds import Odds

LIKELY = 0.9  # chance of a picture that is sharp enough, below which the finding warns
HOPELESS = 0.10  # below it the holder is not worth making
WORTH_NAMING = 0.1  # share of the mean square error from which a contributor is worth naming
MOST_NAMED = 3
CURL = "measure how curled your film is (holders curl)"


class Sharpness(Rule):
    """The chance that the picture is sharp, with every tolerance at once."""

    code = "sharpness"
    per_film = True
    title = f"chance that at least {SHARP_SHARE:.0%} of the picture is sharp, and free of rings"
    why = (
        "each tolerance alone may fit the focus band and all of them together not: then every holder is a draw, and a "
        "soft scan is seen only when the film is back in its box"
    )
    source = (
        "Monte Carlo of the height's contributors over the heights of film and frame at each place of the picture; "
        "standard deviations of limits: JCGM 100:2008 (GUM) 4.3.7 and 4.3.9 (from memory); nine tenths of the picture "
        "nine times in ten as limit: common practice, no source"
    )

    def __init__(self, odds: Odds | None = None) -> None:
        """``odds`` of the design that will be checked, where they are known already."""
        self._odds = odds

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The chance, what takes most of it, and as information how far off it could be if everything conspired."""
        from holders.workshop.budget.odds import odds_of, spoiled_words  # noqa: PLC0415 - numpy, shapely

        odds = odds_of(job, design) if self._odds is None else self._odds
        found, stack = odds.sharp, odds.sharp.stack
        level = at_least(odds.chance, LIKELY, HOPELESS)
        flat = (
            "; the film is taken as flat"
            if design.sag is None or design.sag.reach_mm is None
            else "; for film of the usual curl"
            if not design.sag.curled
            else f"; counted: film that curls {_curls(job.base, job.film.cut_width_mm)}; frame sag cold, frame bow warm"
        )
        flat += _unknown(design.sag, job.film.cut_width_mm)
        spoiled = spoiled_words(odds)
        costs = f"costs most good scans: {spoiled}; " if spoiled else ""
        curl = CURL if found.spoiled_by == "curl" and spoiled else ""
        window = f" (window {_number(design, found.window)})" if len(design.windows) > 1 else ""
        yield self.found(
            level,
            measured=100 * odds.chance,
            limit=100 * LIKELY,
            unit="%",
            where=(
                f"{costs}most of what moves the picture: {_largest(stack)}; sharp to the very corners: "
                f"{chance_words(found.whole.value)}{window}{flat}"
                + (f"; {worst_words(stack)}" if level == "pass" else "")  # else the job sheet has it
            ),
            advice="" if level == "pass" else _joined(curl, measuring(job.bed, job.preset, stack)),
            field=FIELDS.get(stack.cause_of(stack.largest), ""),
        )


def _joined(curl: str, measure: str) -> str:
    """What to do, each once: measure the film's curl where that costs most, then the rest."""
    return "; ".join(dict.fromkeys(filter(None, (curl, *measure.split("; "), TRIED))))


def _number(design: Design, place: int) -> int:
    """The number in the holder of one of the windows looked at, counted from 1."""
    return design.numbered[place - 1][0]


def _curls(base: FilmBase, width_mm: float) -> str:
    low, high, usual = base.curl_low_per_m, base.curl_high_per_m, base.curl_per_m
    return curl_span_words(low, high, usual, width_mm)


def _unknown(sag: Sag | None, width_mm: float) -> str:
    """From which curl on no shape was found, in words; "" where one was found for all."""
    from holders.design.held.curl_shapes import curl_shapes  # noqa: PLC0415 - numpy

    shapes = None if sag is None else curl_shapes(sag)
    low, high = (-math.inf, math.inf) if shapes is None else shapes.known_per_m
    ends = [
        f"{side} {curl_words(end, width_mm, 1, short=True)}"
        for side, end in (("above", high), ("below", low))
        if math.isfinite(end)
    ]
    if not ends:
        return ""
    return f"; of film that curls {' and '.join(ends)} no shape was found: it counts as not sharp"


def worst_words(stack: StackUp) -> str:
    """How far off it could be if every tolerance were used up the same way, in words."""
    ends = (
        f"{stack.worst_low_mm:+.2f} to {stack.worst_high_mm:+.2f} mm from best focus, "
        f"where {stack.band_low_mm:+.2f} to {stack.band_high_mm:+.2f} mm is sharp"
    )
    if stack.surely_sharp:
        return f"sharp even if every tolerance were used up the same way: {ends}"
    return f"if every tolerance were used up the same way, which hardly happens: {ends}"


def chance_words(chance: float) -> str:
    """A chance as people read it."""
    return "under 0.1 %" if chance < 0.001 else "over 99.9 %" if chance > 0.999 else f"{100 * chance:.1f} %"


def _largest(found: StackUp) -> str:
    share = dict(found.shares)[found.largest]
    return f"{found.largest} ({share:.0%})"


def measuring(bed: Bed, preset: PlainPreset, found: StackUp) -> str:
    """What could be measured to know more, the largest doubt first; at most three, "" where nothing can."""
    ranked = sorted(found.shares, key=lambda item: -item[1])
    named = [name for name, share in ranked if share >= WORTH_NAMING] or [found.largest]
    words = [_measure(bed, preset, found.cause_of(name)) for name in named[:MOST_NAMED]]
    return "; ".join(dict.fromkeys(text for text in words if text))


def _measure(bed: Bed, preset: PlainPreset, cause: Cause) -> str:
    """What makes one contributor better known; empty where nothing that can be measured does."""
    height = getattr(preset.bed, "focus_height_mm", None)
    measured = height is not None and "bed.focus_height_mm" not in supposed_keys(preset)
    again = " again" if measured else ""
    words = {
        Cause.FOCUS: f"measure{again} where the scanner is sharpest, with several scans of the ramp: that height is "
        f"known to ±{bed.focus_sigma_mm:g} mm",
        Cause.FILM: CURL,
        Cause.PRINT: "measure the printed ledge",
        Cause.STAIR: "print a test piece with a higher stair and measure each step again",
        Cause.SHEET: "measure the finished ledge"
        if preset.material.sheets_mm
        else "measure your sheets with a caliper and list them in the preset",
        Cause.GLUE: "measure a glued pair and set material.glue_line_mm and its spread",
        Cause.DAMP: "measure the ledge on a damp and on a dry day",
        Cause.FEET: "measure the feet as they stand under the holder",
        Cause.BASE: "measure the film's base and set its thickness",
        Cause.MOUNT: "measure how deep the film lies in its mount and set film.plane_offset_mm",
        Cause.LAYER: "measure the glass, the film and what lies below it with a caliper",
    }
    return words.get(cause, "")


FIELDS = {
    Cause.FOCUS: "bed.focus_sigma_mm",
    Cause.LAYERS: "printer.layer_mm",
    Cause.SHEETS: "material.sheets_mm",
    Cause.AIM: "ledge",
    Cause.PRINT: "printer.z_tolerance_mm",
    Cause.STAIR: "coupon.heights_mm",
    Cause.SHEET: "material.sheets_mm",
    Cause.GLUE: "material.glue_spread_mm",
    Cause.DAMP: "material.name",
    Cause.FEET: "feet.thickness_mm",
    Cause.BASE: "base.thickness_mm",
    Cause.MOUNT: "film.plane_offset_mm",
    Cause.LAYER: "film.thickness_mm",
    Cause.FRAME_SAG: "feet.count",
    Cause.FRAME_BOW: "material.name",
    Cause.FILM: "lid",
}
