"""Paraxial optics of a plane-parallel layer between lens and picture."""

from __future__ import annotations

from holders.core.errors import InputError


def apparent_thickness_mm(thickness_mm: float, refractive_index: float) -> float:
    """How thick a plane-parallel layer looks from air, mm: its thickness over its refractive index.

    Raises ``InputError`` for an index below 1.

    Source: paraxial reduction of a plane-parallel plate, E. Hecht, Optics, chapter 5 (from memory).
    """
    if refractive_index < 1:
        raise InputError("refractive_index", refractive_index, "give the base's refractive index, 1 or more")
    return thickness_mm / refractive_index
