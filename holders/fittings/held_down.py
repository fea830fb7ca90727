"""Whether what lies on the film, a lid or a glass cover, is heavy enough to stay down, in words and numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from holders.core.errors import NotConverged
from holders.core.findings import Level
from holders.design.model import Design
from holders.facts.models import Bed
from holders.fittings.channel.arc import Channel

if TYPE_CHECKING:
    from holders.film.models import LidRest
    from holders.preset.resolve import Job

RESERVE = 2.0  # force over what film of the usual curl needs: common practice, no source
HARMLESS = 0.2  # of the height that is sharp above and below best focus: common practice, no source


@dataclass(frozen=True, slots=True)
class HeldDown:
    """The parts of a finding."""

    level: Level
    title: str
    measured: float
    limit: float
    where: str


def held_down(job: Job, design: Design, noun: str) -> HeldDown | None:
    """What the film of usual curl needs to lie flat against what its lid or cover (``noun``) presses with.

    None where the film's surface is not known.
    """
    rest = None if design.sag is None else design.sag.lid
    if rest is None:
        return None
    share = rest.held_n / rest.needed_n if rest.needed_n > 1e-9 else math.inf
    level: Level = "pass" if share >= RESERVE or _harmless(job.bed, design) else "warn"
    return HeldDown(
        level,
        _title(rest, noun, level),
        rest.held_n,
        RESERVE * rest.needed_n,
        f"usual curl, {job.base.curl_per_m:g} per m{_opens(rest, noun)}; " + over_range(job, design, noun),
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


def _title(rest: LidRest, noun: str, level: Level) -> str:
    presses = f"weighs {rest.weight_n:.2f} N"
    if rest.held_n > rest.weight_n + 5e-3:
        presses = f"presses with {rest.held_n:.2f} N"
    needs = f"The film needs {rest.needed_n:.2f} N to lie flat, the {noun} {presses}"
    if rest.rise_mm > 0:
        return f"{needs}: it rises {max(rest.rise_mm, 0.01):.2f} mm"
    return needs if level == "pass" else f"{needs}: little to spare"


def _opens(rest: LidRest, noun: str) -> str:
    if rest.opens_mm is None:
        return ""
    return (
        f"; pressed down the {noun} stays, but once up it also stays {rest.opens_mm:.1f} mm open: press it down "
        "all round and look"
    )


def _rest_at(job: Job, design: Design, curl_per_m: float) -> LidRest | None:
    """What film of another curl does to its lid or cover; None where no shape was found."""
    from holders.design.held.held_down import pressed_at  # noqa: PLC0415 - scipy
    from holders.fittings.channel.film import strip_under  # noqa: PLC0415 - scipy

    if design.find(Channel) is None:
        return pressed_at(job, design, curl_per_m).rest
    try:
        return strip_under(job, design, curl_per_m).lid
    except NotConverged:
        return None


def over_range(job: Job, design: Design, noun: str) -> str:
    """In words: what the ends of the curl that the film's base may have do to the lid or cover."""
    from holders.design.held.held_down import lets_go_per_m  # noqa: PLC0415 - scipy

    usual, said = job.base.curl_per_m, []
    assert design.sag is not None
    assert design.sag.lid is not None
    down = design.sag.lid.rise_mm == 0
    for curl in (job.base.curl_low_per_m, job.base.curl_high_per_m):
        rest = _rest_at(job, design, curl)
        if rest is None:
            said.append(f"at {curl:g} per m no shape was found")
            continue
        words = f"at {curl:g} per m it needs {rest.needed_n:.2f} N"
        if rest.rise_mm > 0:
            words += f" and the {noun} rises {rest.rise_mm:.2f} mm"
            plate = down and design.find(Channel) is None
            limit = lets_go_per_m(job, design, usual, curl) if plate else None
            words += "" if limit is None else f" (it lets go at {limit:.1f} per m)"
        said.append(words)
    return "over the range of its base: " + ", ".join(said)
