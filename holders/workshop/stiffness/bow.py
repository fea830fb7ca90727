"""A flat plate with one face warmer or damper than the other, lying on the glass or on feet, under its own weight.

A strip of the plate is a beam with a curvature of its own, kappa = alpha dT / t (exact for a linear gradient:
Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells; Roark's Formulas for Stress and Strain, thermal
bending, from memory). On a flat bed its weight q presses it back. The contact is solved in closed form:

* bowl (the cooler face up, ends lift): a flat middle up to where the overhang's weight balances the curvature,
  q a²/2 = E I kappa; the tips stand E I kappa²/(2 q) high. Short strips rest on their middle.
* dome (the warmer face up, the middle lifts): it stands on its ends; the middle touches again from
  q = 9.6 E I kappa / L² on, and lies flat from 16 on, with humps of length 2 sqrt(E I kappa / q) at both ends.

A free plate bows both ways at once (a sphere); ``diagonal_mm`` is the span that counts for its corners.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from holders.core.errors import InputError
from holders.facts.constants import GRAVITY_M_S2

Way = Literal["bowl", "dome"]


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip of a plate: span, bending stiffness (N mm²) and weight (N/mm), both for the same width."""

    span_mm: float
    stiffness: float
    load: float


@dataclass(frozen=True, slots=True)
class Bow:
    """Heights of a bowed strip above where it would lie flat, mm.

    ``free_mm`` without weight, ``lift_mm`` the most with weight, ``contact`` how it touches the bed.
    """

    way: Way
    curvature_per_m: float
    free_mm: float
    lift_mm: float
    contact: Literal["free", "ends", "middle", "ends and middle", "flat middle", "flat"]


def curvature_per_m(expansion: float, difference: float, thickness_mm: float) -> float:
    """Curvature (1/m) of a free plate: strain per unit times the difference between its faces, over its thickness.

    For warmth ``expansion`` is per kelvin and ``difference`` in K; for damp per percent humidity and in percent.
    Raises ``InputError`` for a thickness that is not positive.
    """
    if not thickness_mm > 0:
        raise InputError("thickness_mm", thickness_mm, "give a positive length")
    return expansion * difference / (thickness_mm / 1000)


def arc_height_mm(curvature: float, span_mm: float) -> float:
    """Height of a shallow arc over a span (mm) of curvature 1/m: kappa L² / 8."""
    return curvature / 1000 * span_mm**2 / 8


def strip(
    span_mm: float, thickness_mm: float, modulus_mpa: float, density_kg_m3: float, load_share: float = 1.0
) -> Strip:
    """A plain strip 1 mm wide; ``load_share`` times its own weight rests on it."""
    q = density_kg_m3 * GRAVITY_M_S2 * 1e-9 * thickness_mm * load_share
    return Strip(span_mm, modulus_mpa * thickness_mm**3 / 12, q)


def resting(of: Strip, curvature: float, way: Way) -> Bow:
    """The strip with curvature ``curvature`` (1/m, not negative) lying on a flat bed under its own weight.

    Raises ``InputError`` for a negative curvature or a span or stiffness that is not positive.
    """
    if curvature < 0 or of.span_mm <= 0 or of.stiffness <= 0 or of.load < 0:
        raise InputError("curvature", curvature, "give a curvature that is not negative and a real strip")
    free = arc_height_mm(curvature, of.span_mm)
    k = curvature / 1000
    if k == 0:
        return Bow(way, curvature, 0.0, 0.0, "flat")
    if of.load == 0:
        return Bow(way, curvature, free, free, "free")
    return _bowl(of, k, free) if way == "bowl" else _dome(of, k, free)


def _bowl(of: Strip, k: float, free: float) -> Bow:
    half, q, stiff = of.span_mm / 2, of.load, of.stiffness
    lifted = math.sqrt(2 * stiff * k / q)
    if lifted >= half:
        return Bow("bowl", 1000 * k, free, k * half**2 / 2 - q * half**4 / (8 * stiff), "middle")
    return Bow("bowl", 1000 * k, free, stiff * k**2 / (2 * q), "flat middle")


def _dome(of: Strip, k: float, free: float) -> Bow:
    span, q, stiff = of.span_mm, of.load, of.stiffness
    pull = q * span**2 / (stiff * k)
    if pull <= 9.6:
        return Bow("dome", 1000 * k, free, _top_between_ends(of, k), "ends")
    hump = span / 2 if pull <= 16 else 2 * math.sqrt(stiff * k / q)
    touch: Literal["ends and middle", "flat middle"] = "ends and middle" if pull <= 16 else "flat middle"
    reaction = 1.5 * stiff * k / hump + 0.375 * q * hump
    return Bow("dome", 1000 * k, free, _top_of_hump(hump, reaction, of, k), touch)


def _top_between_ends(of: Strip, k: float) -> float:
    """Greatest height of a dome that touches with its ends only; off the middle from q = 8 E I kappa / L² on.

    With u = x (L - x), w = kappa u/2 - q u (L² + u)/(24 E I).
    """
    span, q, stiff = of.span_mm, of.load, of.stiffness
    u = min(span**2 / 4, 6 * stiff * k / q - span**2 / 2)
    return k * u / 2 - q * u * (span**2 + u) / (24 * stiff)


def _top_of_hump(length: float, reaction: float, of: Strip, k: float) -> float:
    """Greatest height between an end that rests and the point where the strip touches down again.

    From the end, E I (w'' + kappa) = R x - q x²/2 with w = w' = 0 at ``length``. Its slope is a cubic with the root
    x = length; the other root in between is the top.
    """
    q, stiff = of.load, of.stiffness

    def height(x: float) -> float:
        far, r, w = length, reaction / stiff, q / stiff
        lifted = r * (far**3 / 3 - far**2 * x / 2 + x**3 / 6)
        weighed = w * (far**4 / 8 - far**3 * x / 6 + x**4 / 24)
        return lifted - weighed - k * (far - x) ** 2 / 2

    # slope/(length - x): r (length + x)/2 - (q/E I)(length² + length x + x²)/6 - kappa = 0
    a, b = q / stiff / 6, q / stiff * length / 6 - reaction / stiff / 2
    c = q / stiff * length**2 / 6 - reaction / stiff * length / 2 + k
    root = math.sqrt(max(0.0, b * b - 4 * a * c))
    inside = [x for x in ((-b - root) / (2 * a), (-b + root) / (2 * a)) if 0 < x < length]
    return max((height(x) for x in inside), default=0.0)


def on_feet(of: Strip, curvature: float, protrusion_mm: float, way: Way) -> float:
    """Shift of the middle between two feet (mm, up positive): its own arc less the sag of its weight.

    It goes down no further than the feet stand out, as it then lies on the glass.
    """
    arc = arc_height_mm(curvature, of.span_mm) * (1 if way == "dome" else -1)
    sag = 5 * of.load * of.span_mm**4 / (384 * of.stiffness)
    return max(-protrusion_mm, arc - sag)


def diagonal_mm(width_mm: float, length_mm: float) -> float:
    """The span that counts for the corners of a plate that bows both ways."""
    return math.hypot(width_mm, length_mm)
