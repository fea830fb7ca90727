"""Handbook formulas behind the checks; plain numbers in, plain numbers out."""

from __future__ import annotations

GRAVITY = 9.81  # m/s²


def bow_curvature_per_m(expansion_per_k: float, warmer_by_k: float, thickness_mm: float) -> float:
    """Curvature (1/m) of a free plate whose faces differ by ``warmer_by_k``: alpha dT / t.

    Exact for a linear gradient. S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells; Roark's
    Formulas for Stress and Strain (from memory).
    """
    return expansion_per_k * warmer_by_k / (thickness_mm / 1000)


def bow_mm(curvature_per_m: float, span_mm: float) -> float:
    """Height of the arc over a span (mm): kappa L^2 / 8, for arcs that are shallow."""
    return curvature_per_m / 1000 * span_mm**2 / 8


def strip_sag_mm(
    density_kg_m3: float, modulus_mpa: float, thickness_mm: float, span_mm: float, load_share: float
) -> float:
    """Sag (mm) of a strip on two supports under ``load_share`` times its own weight.

    5 q L^4 / (384 E I) with I = t^3 / 12 per width: Roark's Formulas for Stress and Strain, beams, uniform
    load on simple supports (from memory; exact for a beam).
    """
    q = density_kg_m3 * GRAVITY * thickness_mm * 1e-9 * load_share  # N/mm per mm of width
    return 5 * q * span_mm**4 / (384 * modulus_mpa * thickness_mm**3 / 12)


def cantilever_sag_mm(
    density_kg_m3: float, modulus_mpa: float, thickness_mm: float, length_mm: float
) -> float:
    """Sag (mm) of the free end of a strip that is held at the other, under its own weight.

    q L^4 / (8 E I): Roark's Formulas for Stress and Strain, beams, uniform load on a cantilever (from memory;
    exact for a beam).
    """
    q = density_kg_m3 * GRAVITY * thickness_mm * 1e-9
    return q * length_mm**4 / (8 * modulus_mpa * thickness_mm**3 / 12)


def growth_mm(size_mm: float, per_k: float, kelvin: float, per_rh: float, rh: float) -> float:
    """Growth of a length by warmth and damp together, mm."""
    return size_mm * (per_k * kelvin + per_rh * rh)
