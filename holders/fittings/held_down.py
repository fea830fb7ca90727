"""Whether what lies on the film, a lid or a glass cover, is heavy enough to stay down, in words and numbers."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from holders.checks.base import TRIED, Rule
from holders.core.findings import Finding, Level
from holders.design.model import Design
from holders.design.other_films import CurledFilm
from holders.design.sag import Sag
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.curl_words import curl_words
from holders.facts.models import Bed, FilmBase
from holders.facts.rise_names import cold_rise

if TYPE_CHECKING:
    from holders.film.models import LidRest
    from holders.preset.resolve import Job

RESERVE = 2.0  # force over what film of the usual curl needs: common practice, no source
HARMLESS = 0.2  # of the height that is sharp above and below best focus: common practice, no source


def held_down(
    rule: Rule, job: Job, design: Design, noun: str, *, field: str, advice: str = TRIED, more: str = ""
) -> Finding | None:
    """What the film of usual curl needs to lie flat against what its lid or cover (``noun``) presses with, as a finding
    of that rule; ``advice`` where it is a warning, ``field`` the preset key that decides it, ``more`` words to add.

    None where the film's surface is not known.
    """
    sag = design.sag
    rest = None if sag is None else sag.lid
    if sag is None or rest is None:
        return None
    width, rise = job.film.cut_width_mm, cold_rise(design.on_film.on_film)
    share = rest.held_n / rest.needed_n if rest.needed_n > 1e-9 else math.inf
    level: Level = "pass" if share >= RESERVE or _harmless(job.bed, design) else "warn"
    return rule.found(
        level,
        title=_title(rest, noun, rise, level),
        measured=rest.held_n,
        limit=RESERVE * rest.needed_n,
        unit="N",
        where=f"the limit is twice what film of the usual curl needs, {curl_words(job.base.curl_per_m, width)}"
        f"{_opens(rest, noun)}; "
        f"{over_range(job.base, sag, rise, width)}{more}",
        advice="" if level == "pass" else advice,
        field=field,
    )


def _harmless(bed: Bed, design: Design) -> bool:
    """Whether film of every curl of its kind lifts what lies on it by so little that the picture hardly moves.

    The chance of a sharp picture counts the rise itself.
    """
    sag = design.sag
    if sag is None or sag.lid is None or not sag.curled:
        return False
    most = max([sag.lid.rise_mm, *(film.lid_rise_mm for film in sag.curled if film.inside)])
    return most <= HARMLESS * bed.focus_band_mm


def _title(rest: LidRest, noun: str, rise: str, level: Level) -> str:
    presses = f"weighs {_force(rest.weight_n)}"
    if rest.held_n > rest.weight_n + 5e-3:
        presses = f"presses with {_force(rest.held_n)}"
    needs = f"The film needs {_force(rest.needed_n)} to lie flat, the {noun} {presses}"
    if rest.rise_mm > 0:
        return f"{needs}: {rise} {max(rest.rise_mm, 0.01):.2f} mm"
    return needs if level == "pass" else f"{needs}: little to spare"


def _force(newtons: float) -> str:
    """A force, and the weight on a kitchen scale that presses so."""
    return f"{newtons:.2f} N ({1000 * newtons / GRAVITY_M_S2:.0f} g)"


def _opens(rest: LidRest, noun: str) -> str:
    if rest.opens_mm is None:
        return ""
    return (
        f"; pressed down the {noun} stays, but once up it also stays {rest.opens_mm:.1f} mm open: press it down "
        "all round and look"
    )


def over_range(base: FilmBase, sag: Sag, rise: str, width_mm: float) -> str:
    """In words: what the ends of the curl that the film's base may have do to the lid or cover.

    ``rise`` is what the height is called by which such film lifts it.
    """
    said = []
    assert sag.lid is not None
    for curl in (base.curl_low_per_m, base.curl_high_per_m):
        at = f"at {curl_words(curl, width_mm, short=True)}"
        rest = next((one.lid for one in sag.curled if one.across_per_m == curl), None)
        if rest is None:
            said.append(f"{at} no shape was found")
            continue
        words = f"{at} it needs {rest.needed_n:.2f} N"
        if rest.rise_mm > 0:
            words += f", {rise} {rest.rise_mm:.2f} mm"
            limit = lets_go_per_m(sag.curled, base.curl_per_m, curl) if sag.lid.rise_mm == 0 else None
            words += "" if limit is None else f" (it lets go at {curl_words(limit, width_mm, 1, short=True)})"
        said.append(words)
    return "over the range of its base: " + "; ".join(said)


def lets_go_per_m(curled: Sequence[CurledFilm], down_per_m: float, up_per_m: float) -> float | None:
    """The curl between one that a lid holds and one that lifts it, 1/m; None where it cannot be had.

    What the film needs to lie flat is taken as straight between the curls that were solved.
    """
    low, high = sorted((down_per_m, up_per_m))
    lack = [
        (one.across_per_m, one.lid.needed_n - one.lid.held_n)
        for one in curled
        if one.lid is not None and low <= one.across_per_m <= high
    ]
    for (a, first), (b, last) in pairwise(lack):
        if first * last < 0:
            return a + (b - a) * first / (first - last)
    return None
