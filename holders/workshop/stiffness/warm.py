"""A holder under a warm lamp: how warm, how near to going soft, how it grows and bows; and what damp does.

Ambient and the lamp's rise can both be measured and put into the preset. A softening margin is told with the test that
the temperature comes from, as a Vicat or glass temperature says less about a load than a deflection temperature does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from holders.core.errors import InputError, NotConverged
from holders.design.model import Design, Rect
from holders.facts.damp import HUMIDITY_SWING
from holders.facts.models import Bed, Material
from holders.geometry.hull import longest_gap
from holders.preset.resolve import Job
from holders.workshop.stiffness.bow import (
    Bow,
    arc_height_mm,
    curvature_per_m,
    diagonal_mm,
    on_feet,
    resting,
    strip,
)
from holders.workshop.stiffness.creep import CHARS_C, creep_factor

DAMP_FACE = (
    5.0  # % relative humidity between the faces of a board that lies on glass: common practice, no source
)
SESSION_HOURS = 8.0
EDGE_STEPS = 8  # along each edge of a window


@dataclass(frozen=True, slots=True)
class Warmth:
    """How warm a holder gets and how near that is to softening, in degrees Celsius and kelvin.

    ``sigma_k`` comes from the uncertainties given. ``margin_k`` is to the limit of use, ``soft_margin_k`` to the
    softening test named in ``method`` (None: chars before it softens). ``modulus_left`` is the share of the modulus
    left after a day's session and after 1000 hours at that temperature (None: it has softened).
    """

    warmest_c: float
    sigma_k: float
    limit_c: float
    margin_k: float
    softening_c: float | None
    soft_margin_k: float | None
    method: str
    chance_over_limit: float
    modulus_left: tuple[float, float] | None


@dataclass(frozen=True, slots=True)
class Growth:
    """A length that grows by warmth and damp, and the room it has, mm; ``used`` is the share of the room."""

    what: str
    way: Literal["across", "along"]
    size_mm: float
    by_warmth_mm: float
    by_damp_mm: float
    room_mm: float

    @property
    def growth_mm(self) -> float:
        """Both together, as they may come on one day."""
        return self.by_warmth_mm + self.by_damp_mm

    @property
    def used(self) -> float:
        """Share of the room that the growth takes (infinite where there is none)."""
        if self.room_mm > 0:
            return self.growth_mm / self.room_mm
        return math.inf if self.growth_mm > 0 else 0.0


@dataclass(frozen=True, slots=True)
class WarmBow:
    """Bow of the whole holder from one warm or damp face against the focus band, mm.

    ``free_mm`` over the longer side without weight, ``corner_mm`` the same over the diagonal (it bows both ways),
    ``resting`` as it lies on the glass, ``feet_mm`` what it lifts the middle between feet (None: no feet).
    ``used`` is the share of half the focus band that the worse of those that apply takes.
    """

    cause: Literal["warmth", "damp"]
    difference: float
    curvature_per_m: float
    free_mm: float
    corner_mm: float
    resting: Bow | None
    feet_mm: float | None
    half_band_mm: float

    @property
    def lift_mm(self) -> float:
        """What the plane moves as the holder lies."""
        if self.feet_mm is not None:
            return abs(self.feet_mm)
        return 0.0 if self.resting is None else self.resting.lift_mm

    @property
    def used(self) -> float:
        """Share of half the focus band."""
        return self.lift_mm / self.half_band_mm


def warmth(job: Job, sigma_ambient_k: float = 2.0, sigma_rise_k: float = 3.0) -> Warmth:
    """Temperature of the frame: the room's and the lamp's rise, with their standard uncertainties (K)."""
    material = job.material
    warmest = job.preset.room.ambient_c + job.bed.lamp_rise_k
    sigma = math.hypot(sigma_ambient_k, sigma_rise_k)
    soft = material.softening_c
    return Warmth(
        warmest_c=warmest,
        sigma_k=sigma,
        limit_c=material.limit_c,
        margin_k=material.limit_c - warmest,
        softening_c=soft,
        soft_margin_k=None if soft is None else soft - warmest,
        method=material.softening_method or ("chars before it softens" if soft is None else "not told"),
        chance_over_limit=_above(material.limit_c, warmest, sigma),
        modulus_left=_left(material, warmest),
    )


def _above(limit: float, mean: float, sigma: float) -> float:
    if sigma <= 0:
        return 1.0 if mean > limit else 0.0
    return 0.5 * math.erfc((limit - mean) / (sigma * math.sqrt(2)))


def _left(material: Material, temperature_c: float) -> tuple[float, float] | None:
    if temperature_c >= (CHARS_C if material.softening_c is None else material.softening_c):
        return None
    return (
        creep_factor(material, SESSION_HOURS, temperature_c),
        creep_factor(material, 1000.0, temperature_c),
    )


def growths(job: Job, design: Design, humidity_swing: float = HUMIDITY_SWING) -> tuple[Growth, ...]:
    """The holder in the rim of the glass, and each different film in its pocket, both ways; the tightest first.

    The holder grows by its own strain; film and pocket grow together, so only the difference of their strains counts.
    """
    m, base, kelvin = job.material, job.base, job.bed.lamp_rise_k
    own = m.expansion_per_k * kelvin, m.moisture_strain_per_rh * humidity_swing
    rim = "holder in the rim of the glass"
    outer, glass = design.outer, design.glass
    found = [
        Growth(
            rim, "across", outer.width, outer.width * own[0], outer.width * own[1], glass.width - outer.width
        ),
        Growth(
            rim,
            "along",
            outer.height,
            outer.height * own[0],
            outer.height * own[1],
            glass.height - outer.height,
        ),
    ]
    differs = _tightening(
        (base.expansion_per_k - m.expansion_per_k) * kelvin,
        (base.humidity_strain_per_rh - m.moisture_strain_per_rh) * humidity_swing,
    )
    ways: tuple[Literal["across", "along"], ...] = ("across", "along")
    for way in ways:
        side = "width" if way == "across" else "height"
        fits = {(getattr(w.film, side), round(getattr(w.pocket, side), 9)) for w in design.mine}
        found += [
            Growth(
                "film against its pocket",
                way,
                s,
                s * differs[0],
                s * differs[1],
                pocket - s - job.film.tolerance_mm,
            )
            for s, pocket in sorted(fits)
        ]
    return tuple(sorted(found, key=lambda g: (-g.used, g.what, g.way)))


def _tightening(warm: float, damp: float) -> tuple[float, float]:
    """Strains of film against pocket by warmth and by damp, with their signs, on the day that tightens it most.

    The lamp only warms; humidity swings up or down and is taken where it tightens. A frame that grows more than the
    film when warm loosens it, which takes nothing off: the lamp may be cold on a damp day.
    """
    return max(0.0, warm), abs(damp)


def warm_bow(job: Job, design: Design) -> WarmBow:
    """The lit face is the warmer one, so the holder becomes a dome."""
    return _bow(job, design, "warmth", job.bed.face_difference_k, job.material.expansion_per_k)


def warm_curvature_per_m(bed: Bed, material: Material, design: Design) -> float:
    """What the holder would take without weight when its lit face is the warmer one by the bed's difference, 1/m."""
    low, high = _heights(design)
    return curvature_per_m(material.expansion_per_k, bed.face_difference_k, high - low)


def _heights(design: Design) -> tuple[float, float]:
    """Underside and top of the frame, mm above the glass."""
    frame = [p for p in design.parts if p.in_frame]
    return min(p.z0 for p in frame), max(p.z1 for p in frame)


def damp_bow(job: Job, design: Design, difference: float = DAMP_FACE) -> WarmBow:
    """The face away from the glass takes up damp first, so the holder becomes a dome by that too."""
    return _bow(job, design, "damp", difference, job.material.moisture_strain_per_rh)


def _bow(
    job: Job, design: Design, cause: Literal["warmth", "damp"], difference: float, expansion: float
) -> WarmBow:
    low, high = _heights(design)
    across, along = design.outer.width, design.outer.height
    span = max(across, along)
    kappa = curvature_per_m(expansion, difference, high - low)
    m = job.material
    stand = foot_span_mm(design)
    lying = (
        None if stand > 0 else resting(strip(span, high - low, m.modulus_mpa, m.density_kg_m3), kappa, "dome")
    )
    shift = None
    if stand > 0:
        shift = _lift_on_feet(job, design, kappa)
    return WarmBow(
        cause=cause,
        difference=difference,
        curvature_per_m=kappa,
        free_mm=arc_height_mm(kappa, span),
        corner_mm=arc_height_mm(kappa, diagonal_mm(across, along)),
        resting=lying,
        feet_mm=shift,
        half_band_mm=design.heights.half_band,
    )


def _lift_on_feet(job: Job, design: Design, kappa: float) -> float:
    """How far at most the ledge rises; a cold holder sags between its feet already, so only what is added counts.

    What is no grid of beams, or finds no rest, counts as one beam over the longest way between feet.
    """
    from holders.workshop.stiffness.onfeet import carrying, lying, stand_of  # noqa: PLC0415 - numpy: listing the checks stays light

    try:
        stand = stand_of(job, design)
        if stand is not None:
            edges = [corner for w in design.windows for corner in _round(w.opening)]
            cold, warm = lying(stand).at(edges), lying(stand, 1.0, kappa).at(edges)
            return float((cold - warm).max(initial=0.0))
    except (InputError, NotConverged):
        pass
    frame, m, feet = carrying(design), job.material, design.heights.foot_protrusion
    thick = max(p.z1 for p in frame) - min(p.z0 for p in frame)
    between = strip(foot_span_mm(design), thick, m.modulus_mpa, m.density_kg_m3)
    return on_feet(between, kappa, feet, "dome") - on_feet(between, 0.0, feet, "dome")


def _round(r: Rect) -> list[tuple[float, float]]:
    """Places along a window's edges."""
    shares = [k / EDGE_STEPS for k in range(EDGE_STEPS + 1)]
    across = [(r.x + s * r.width, y) for s in shares for y in (r.y, r.top)]
    return across + [(x, r.y + s * r.height) for s in shares for x in (r.x, r.right)]


def foot_span_mm(design: Design) -> float:
    """The longest way between neighbouring feet around the holder; 0 when it lies on the glass."""
    if len(design.feet) < 2 or design.heights.foot_protrusion <= 0:
        return 0.0
    return longest_gap([at for foot in design.feet for at in foot.bears])
