"""Soft stock under load: how thick it really is beneath a lid, and between the jaws of a caliper.

The model: a foam answers a pressure in proportion to its own modulus, strain = p/E, until its cell walls buckle at
about 5 % (Gibson and Ashby, Cellular Solids, from memory). Beyond that a small further load squeezes it far, so no
thickness is told. The modulus of a craft foam is known within a factor of several at best: a result carries the
thickness at half and at twice the modulus.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.model import Design, Part
from holders.design.parts.volume import part_volume
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.habits import habit
from holders.facts.models import Material
from holders.geometry.outline import region_area
from holders.preset.resolve import Job
from holders.workshop.stiffness.warm import warmth

MODULUS_FACTOR = 2.0


@dataclass(frozen=True, slots=True)
class Squeezed:
    """A soft sheet under pressure, mm. ``low_mm`` and ``high_mm`` are at half and at twice the modulus.

    ``holds`` is False where the softer foam would be past its linear range: it is then no stock for a height.
    """

    free_mm: float
    loaded_mm: float
    low_mm: float
    high_mm: float
    strain: float
    holds: bool


def under_load(free_mm: float, modulus_mpa: float, pressure_mpa: float) -> Squeezed:
    """A sheet ``free_mm`` thick under ``pressure_mpa``.

    Raises ``InputError`` for a negative pressure or a thickness or modulus that is not positive.
    """
    _sound(free_mm, modulus_mpa, pressure_mpa)
    strain = pressure_mpa / modulus_mpa
    soft = min(1.0, strain * MODULUS_FACTOR)
    return Squeezed(
        free_mm=free_mm,
        loaded_mm=free_mm * (1 - min(1.0, strain)),
        low_mm=free_mm * (1 - soft),
        high_mm=free_mm * (1 - min(1.0, strain / MODULUS_FACTOR)),
        strain=strain,
        holds=soft <= habit("foam-collapse-strain"),
    )


def free_thickness(reading_mm: float, modulus_mpa: float, pressure_mpa: float | None = None) -> Squeezed:
    """What a caliper's reading on soft stock means: its jaws squeeze the sheet, so it is thicker than it reads.

    ``pressure_mpa`` is that of the jaws (default: the usual one). ``loaded_mm`` is the reading itself.
    Raises ``InputError`` when the jaws squeeze it past its linear range, as the reading then says nothing.
    """
    pressure = habit("caliper-pressure") if pressure_mpa is None else pressure_mpa
    _sound(reading_mm, modulus_mpa, pressure)
    strain = pressure / modulus_mpa
    if strain > habit("foam-collapse-strain"):
        raise InputError(
            "material.sheets_mm",
            reading_mm,
            "too soft for a caliper: lay a glass plate on it and measure the height of the glass",
        )
    free = reading_mm / (1 - strain)
    soft = reading_mm / (1 - strain * MODULUS_FACTOR)
    hard = reading_mm / (1 - strain / MODULUS_FACTOR)
    return Squeezed(free, reading_mm, hard, soft, strain, True)


@dataclass(frozen=True, slots=True)
class SoftLedge:
    """What soft stock below the film does to its height, mm: the ledge that is measured or bought against the real one.

    ``off_mm`` is the change under the holder's own weight, ``low_mm`` and ``high_mm`` its ends at half and twice the
    modulus (the stock is not known better), ``later_mm`` after 1000 hours (None: it has gone soft). ``holds`` is False
    where some sheet would be squeezed past its linear range.
    """

    counted_mm: float
    off_mm: float
    low_mm: float
    high_mm: float
    later_mm: float | None
    pressure_mpa: float
    holds: bool


def soft_ledge(job: Job, design: Design) -> SoftLedge | None:
    """The sheets below the film, if they are soft: thicker than a caliper says, thinner under load.

    Each sheet carries what lies above it; the lowest stands on its feet, or flat. Raises ``InputError`` when the stock
    is too soft for a caliper.
    """
    if not job.material.compressible or job.printer is not None:
        return None
    ledge = design.heights.drawn_ledge + 1e-6
    frame = sorted((p for p in design.parts if p.in_frame), key=lambda p: p.z0)
    below = [p for p in frame if p.z1 <= ledge]
    if not below:
        return None
    left = warmth(job).modulus_left
    measured, modulus = bool(job.preset.material.sheets_mm), job.material.modulus_mpa
    now, later, most, holds = [], [], 0.0, True
    for part in below:
        counted = part.z1 - part.z0
        free = free_thickness(counted, modulus) if measured else Squeezed(*(counted,) * 4, 0.0, True)
        pressure = _pressure_on(job.material, design, part, frame[0] is part)
        # a softer sheet was squeezed more by the caliper too, so its free thickness goes with its modulus
        bounds = [under_load(t, modulus * k, pressure).loaded_mm - counted for t, k in (
            (free.free_mm, 1.0), (free.high_mm, 1 / MODULUS_FACTOR), (free.low_mm, MODULUS_FACTOR)
        )]  # fmt: skip
        now.append(bounds)
        if left is not None:
            later.append(under_load(free.free_mm, modulus * left[1], pressure).loaded_mm - counted)
        most, holds = max(most, pressure), holds and under_load(counted, modulus, pressure).holds
    off, soft, stiff = (math.fsum(column) for column in zip(*now, strict=True))
    return SoftLedge(
        counted_mm=sum(p.z1 - p.z0 for p in below),
        off_mm=off,
        low_mm=min(off, soft, stiff),
        high_mm=max(off, soft, stiff),
        later_mm=math.fsum(later) if left is not None else None,
        pressure_mpa=most,
        holds=holds,
    )


def _pressure_on(material: Material, design: Design, part: Part, lowest: bool) -> float:
    """The weight of the parts above this one and half its own, over its area or over the feet."""
    above = sum(part_volume(p) * p.quantity for p in design.parts if p.z0 >= part.z1 - 1e-6)
    load = (above + part_volume(part) / 2) * material.density_kg_m3 * GRAVITY_M_S2 * 1e-9
    area = region_area(part.slabs[0].region)
    if lowest and design.feet and design.heights.foot_protrusion > 0:
        area = min(area, sum(foot.area_mm2 for foot in design.feet))
    return pressure_mpa(load, area)


def pressure_mpa(load_n: float, area_mm2: float) -> float:
    """The pressure of a load spread evenly. Raises ``InputError`` for an area that is not positive."""
    if area_mm2 <= 0:
        raise InputError("area_mm2", area_mm2, "give the area that carries the load")
    return load_n / area_mm2


def _sound(thickness: float, modulus: float, pressure: float) -> None:
    for field, value, least in (
        ("thickness_mm", thickness, 1e-9),
        ("modulus_mpa", modulus, 1e-9),
        ("pressure_mpa", pressure, 0.0),
    ):
        if not value >= least:
            raise InputError(field, value, "give a positive number")
