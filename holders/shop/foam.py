"""Soft stock under load: how thick it really is beneath a lid, and between the jaws of a caliper.

The model: a foam answers a pressure in proportion to its own modulus, strain = p/E, until its cell walls buckle at
about 5 % (Gibson and Ashby, Cellular Solids, from memory). Beyond that a small further load squeezes it far, so no
thickness is told. The modulus of a craft foam is known within a factor of several at best: a result carries the
thickness at half and at twice the modulus.
"""

from __future__ import annotations

from dataclasses import dataclass

from holders.errors import InputError
from holders.facts.habits import habit

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
