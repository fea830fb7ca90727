"""The chance that a scan made with one holder is sharp and free of Newton's rings: the one number that all show."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.design.model import Design
from holders.facts.models import Bed
from holders.facts.tables import lamp
from holders.preset.resolve import Job
from holders.workshop.budget.contributors import plane_sigma_mm
from holders.workshop.budget.share import SharpShare, sharp_share

RINGS = "how near the film comes to the glass"
SPOILS = {"curl": "how curled the film is", "warmth": "how far the film curls as the warm bed dries it"}


@dataclass(frozen=True, slots=True)
class Odds:
    """How likely a good scan is.

    ``chance`` is that at least nine tenths of the picture is sharp and the film keeps clear of the glass, 0 to 1;
    ``sharp`` the first of the two with all it was found from, ``ring_free`` the second.
    """

    sharp: SharpShare
    ring_free: float

    @property
    def chance(self) -> float:
        """Both at once; what moves film and frame is small beside the gap, so the two are taken as independent."""
        return self.sharp.most.value * self.ring_free


def spoiled_words(odds: Odds) -> str:
    """What takes most of the chance, where that is not one of the heights that move the picture; else ""."""
    if odds.ring_free < odds.sharp.most.value:
        return RINGS
    return SPOILS[odds.sharp.spoiled_by] if odds.sharp.spoiled_by else ""


def odds_of(job: Job, design: Design) -> Odds:
    """The odds of one holder; a film whose surface is not known is taken as flat."""
    made = math.sqrt(max(0.0, plane_sigma_mm(job, design) ** 2 - design.heights.focus_sigma**2))
    return Odds(sharp_share(job, design), ring_free(job.bed, design, made))


def ring_free(bed: Bed, design: Design, sigma_mm: float, higher_mm: float = 0.0) -> float:
    """The chance that film and glass stay farther apart than rings need, the doubt about heights counted (normal).

    Film that may have no coat on its back is on the mean of the way from cold to warm. ``sigma_mm`` is the doubt about
    the ledge's height, ``higher_mm`` how much higher than designed it is.
    """
    sag, light = design.sag, lamp(bed.lamp)
    gap = design.heights.ledge_above_glass if sag is None else sag.min_gap_mm
    needed = (0.0 if sag is None else max(0.0, sag.least_gap_mm - light.keep_gap_mm)) - higher_mm
    cold = _clear(gap - needed, sigma_mm)
    if sag is None or sag.warm is None or sag.warm.shown is None:
        return cold
    share = sag.warm.bare_chance * sum(sag.warm.span) / 2
    return (1 - share) * cold + share * _clear(sag.warm.shown.min_gap_mm - needed, sigma_mm)


def _clear(room_mm: float, sigma_mm: float) -> float:
    if sigma_mm <= 0:
        return 1.0 if room_mm >= 0 else 0.0
    return 0.5 * math.erfc(-room_mm / sigma_mm / math.sqrt(2))
