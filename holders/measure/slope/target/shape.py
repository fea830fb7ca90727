"""How far a target on a slope lies off the straight line through its ends: sag by its weight, and bow."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.facts import tables
from holders.facts.constants import GRAVITY_M_S2

FLAT = "flat"
RULED, TEXTURED = "acrylic-ruler", "film"  # what is assumed of a target that nobody named
THICKNESS_ASKED = (
    0.07  # standard deviation of a thickness that was given: a caliper on a ruler's edge, as a share
)
MOST_SPAN_MM = 2000.0


@dataclass(frozen=True)
class TargetShape:
    """What the caller knows of the target: a key of the table ``targets``, thickness and free span in mm (or None).

    Raises
    ------
    InputError
        An unknown kind; a thickness or span that cannot be.
    """

    kind: str | None = None
    thickness_mm: float | None = None
    span_mm: float | None = None

    def __post_init__(self) -> None:
        if self.kind is not None:
            tables.target(self.kind)
        t, s = self.thickness_mm, self.span_mm
        if t is not None and not (math.isfinite(t) and 0.03 <= t <= 30.0):
            raise InputError("--target-thickness", t, "give the target's thickness in mm, 0.03 to 30")
        if s is not None and not (math.isfinite(s) and 1.0 <= s <= MOST_SPAN_MM):
            raise InputError("--span", s, "give the free length between the target's two supports in mm")


@dataclass(frozen=True)
class Bend:
    """How far the target lies below the straight line where the scan is sharpest, mm, and how unsure that is.

    ``assumed``: in words, what that rests on; ``sag_mm``: of the middle; ``named``: somebody said what the target is;
    ``across_mm``: how unsure its mean height over the width is besides, which no spacing of ticks shows.
    """

    below_mm: float
    sigma_mm: float
    sag_mm: float
    assumed: str
    named: bool
    warnings: tuple[str, ...] = ()
    across_mm: float = 0.0


def beam_sag(thickness_mm: float, span_mm: float, density_kg_m3: float, modulus_mpa: float) -> float:
    """Sag in mm of the middle of a strip lying on its two ends under its own weight: 5 w L^4 / (384 E I).

    For a strip of thickness h that is 5 rho g L^4 / (32 E h^2), whatever its width.

    Source: any handbook of beams (simply supported, uniform load), from memory.
    """
    weight = density_kg_m3 * 1e-9 * GRAVITY_M_S2  # N/mm^3
    return 5.0 * weight * span_mm**4 / (32.0 * modulus_mpa * thickness_mm**2)


def beam_shape(share: float) -> float:
    """Sag at a share of the span, as a share of the middle's: 16/5 (x - 2 x^3 + x^4), zero outside."""
    x = min(max(share, 0.0), 1.0)
    return 3.2 * (x - 2.0 * x**3 + x**4)


def bend_at(shape: TargetShape, share: float, run_mm: float, *, ruled: bool) -> Bend:
    """The bend where a scan is sharpest.

    Parameters
    ----------
    shape:
        What is known of the target.
    share:
        Where the scan is sharpest, as a share of the run from its low end.
    run_mm:
        The run; also the free span where none was given. A longer span is taken to reach beyond both ends alike.
    ruled:
        Whether ticks were seen: then an unnamed target is taken for a ruler, else for film.
    """
    row = tables.target(shape.kind or (RULED if ruled else TEXTURED))
    span = shape.span_mm or run_mm
    at = (share * run_mm + 0.5 * (span - run_mm)) / span
    bow = 4.0 * min(max(at, 0.0), 1.0) * (1.0 - min(max(at, 0.0), 1.0)) * row.bow_mm
    if not row.hangs:
        loose = f", which may bow by {row.bow_mm:.2f} mm either way" if row.bow_mm else ""
        across = ACROSS_MM if row.bow_mm else 0.0
        return Bend(0.0, bow, 0.0, f"{row.name}{loose}", shape.kind is not None, across_mm=across)
    thick = shape.thickness_mm or row.thickness_mm
    sag = beam_sag(thick, span, row.density_kg_m3, row.modulus_mpa)
    shares = [0.5 * (row.modulus_high_mpa - row.modulus_low_mpa) / row.modulus_mpa / math.sqrt(3.0)]
    if shape.thickness_mm is None:
        # sag goes with 1 / thickness^2: evenly likely between what the thickest and the thinnest would do
        thin = (row.thickness_mm / row.thickness_low_mm) ** 2
        fat = (row.thickness_mm / row.thickness_high_mm) ** 2
        shares.append((thin - fat) / math.sqrt(12.0))
    else:
        shares.append(2.0 * THICKNESS_ASKED)
    here = sag * beam_shape(at)
    words = f"{row.name}, {thick:g} mm thick over {span:.0f} mm, so that its middle sags {sag:.3f} mm"
    return Bend(here, math.hypot(here * math.hypot(*shares), bow), sag, words, shape.kind is not None)


UNLIKE = 2.5  # standard deviations between a sag that was predicted and one that is seen
ACROSS_MM = (
    0.03  # film that bows along curls across too: long edges 0.1 mm above its middle lift its mean by a third
)
OFF_AXIS = 0.1  # of a sag that is seen: the lens's distance it goes with is read as if its axis met the target's middle
LEAST_SIGMA_MM = 0.02  # of a prediction: no target is straighter than that


def with_seen(bend: Bend, sag_mm: float, sag_sigma_mm: float, share: float) -> Bend:
    """The bend with a sag that the spacing of ticks shows (``Spacing``), at a ``share`` of the run.

    Prediction and sight are averaged by certainty; where they contradict each other, what is seen counts, the
    uncertainty covers both, and a warning says so.
    """
    if not math.isfinite(sag_sigma_mm):
        return bend
    here = beam_shape(share)
    seen = sag_mm * here
    seen_sigma = max(math.hypot(sag_sigma_mm * here, OFF_AXIS * seen, bend.across_mm), 1e-6)
    own = max(bend.sigma_mm, LEAST_SIGMA_MM)
    apart, both = abs(seen - bend.below_mm), math.hypot(own, seen_sigma)
    if apart > UNLIKE * both:
        way = "sags" if sag_mm > 0 else "bows up"
        text = (
            f"the spacing of its ticks says that the target {way} by {abs(sag_mm):.2f} mm, {bend.sag_mm:.2f} mm of sag "
            "were expected: lay it on a stiff straight slope and scan again"
        )
        return replace(bend, below_mm=seen, sigma_mm=max(seen_sigma, 0.5 * apart), warnings=(text,))
    share_seen = own**2 / both**2
    below = share_seen * seen + (1.0 - share_seen) * bend.below_mm
    if bend.sigma_mm <= LEAST_SIGMA_MM:
        return bend
    return replace(bend, below_mm=below, sigma_mm=own * seen_sigma / both)
