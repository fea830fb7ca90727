"""Curl of film stood on edge, from the chord and rise of its arc read with a ruler.

Curl is 1 over the radius, per metre. Film stands on edge so that its weight does not bend it: the idea of the upright
test piece, method A of ISO 18910:2000 (scope read, its text is not at hand).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.tables import film_base

READING_MM = 0.5  # a ruler with 1 mm marks is read to half a mark
UNIFORM = 1.0 / math.sqrt(3.0)  # standard deviation of a value anywhere within +-1
LEAST_CHORD_MM, MOST_CHORD_MM = 10.0, 1000.0
FRICTION = 0.3  # plastic film on glass or a smooth table: from memory, 0.2 to 0.4
USUAL_BASE = "polyester"


@dataclass(frozen=True)
class RulerCurl:
    """Curl per metre with its standard deviation, and what it was computed from, mm."""

    curl_per_m: float
    sigma: float
    chord_mm: float
    rise_mm: float
    friction_per_m: float

    def to_answer(self) -> dict[str, float]:
        """The JSON object of the command line."""
        return {"curl_per_m": self.curl_per_m, "sigma": self.sigma}


def radius_mm(chord_mm: float, rise_mm: float) -> float:
    """Radius of the arc whose ends are ``chord_mm`` apart and whose middle rises ``rise_mm`` from the chord.

    ``inf`` for a rise of 0. Source: geometry, c^2 = 4 h (2 R - h).
    """
    return math.inf if rise_mm == 0 else chord_mm**2 / (8 * rise_mm) + rise_mm / 2


def curl_of(chord_mm: float, rise_mm: float) -> float:
    """Curl per metre, 1000 / R[mm], of an arc; well defined for a rise of 0."""
    return 8000.0 * rise_mm / (chord_mm**2 + 4 * rise_mm**2)


def friction_bound_per_m(length_mm: float, base: str = "") -> float:
    """By how much friction under the edge can hold stood film off its free curl, per metre, at most.

    A strip that weighs w per length stands on a surface that resists with up to 0.3 w. The worst self-balanced load
    is that pushing the outer quarters one way and the middle half the other; it bends the middle by q c^2 / 16 over
    the plate's stiffness per width, and the mean of the arc by about half of that. The film's height cancels.
    ``base``: a film base of the trade tables; default: polyester sheet.

    Raises InputError for an unknown base.
    """
    row = film_base(base or USUAL_BASE)
    thick = row.thickness_mm * 1e-3
    stiffness = row.modulus_mpa * 1e6 * thick**3 / 12 / (1 - row.poisson**2)
    load = FRICTION * row.density_kg_m3 * GRAVITY_M_S2 * thick  # N per m of length and per m of height
    return 0.5 * load * (length_mm * 1e-3) ** 2 / 16 / stiffness


def from_ruler(
    chord_mm: float, rise_mm: float, *, reading_mm: float = READING_MM, base: str = ""
) -> RulerCurl:
    """Curl from a chord and a rise.

    Parameters
    ----------
    chord_mm:
        Straight distance between the two ends of the film's edge.
    rise_mm:
        Greatest distance of the edge from that straight line, without sign.
    reading_mm:
        How far one reading of the ruler may be off, either way; both lengths take two readings.
    base:
        Film base, for friction under the edge; default: polyester sheet.

    Raises
    ------
    InputError
        A length that no film has, or an arc that is nearly a closed ring.
    """
    for field, value in (("--chord", chord_mm), ("--rise", rise_mm), ("--reading", reading_mm)):
        if not math.isfinite(value):
            raise InputError(field, value, "give a length in mm")
    if not LEAST_CHORD_MM <= chord_mm <= MOST_CHORD_MM:
        raise InputError(
            "--chord", chord_mm, "give the distance between the film's two ends in mm, 10 to 1000"
        )
    if rise_mm < 0:
        raise InputError("--rise", rise_mm, "give it without sign; --hollow emulsion or base says which way")
    if not 0.01 <= reading_mm <= 5:
        raise InputError("--reading", reading_mm, "give how far one reading may be off in mm, 0.01 to 5")
    if rise_mm > 3 * chord_mm:
        raise InputError(
            "--rise", rise_mm, f"more than three times the chord of {chord_mm:g} mm, nearly a closed ring; measure a "
            "shorter piece of film",
        )  # fmt: skip
    each = reading_mm * UNIFORM * math.sqrt(2)
    below = chord_mm**2 + 4 * rise_mm**2
    by_rise = 8000.0 * (chord_mm**2 - 4 * rise_mm**2) / below**2
    by_chord = -16000.0 * rise_mm * chord_mm / below**2
    friction = friction_bound_per_m(chord_mm, base)
    # near a half circle the rise hardly matters to first order: what is left of it is of second order
    second = 0.5 * each**2 * abs(8000.0 * 8 * rise_mm * (4 * rise_mm**2 - 3 * chord_mm**2) / below**3)
    parts = (by_rise * each, by_chord * each, second, friction * UNIFORM)
    return RulerCurl(curl_of(chord_mm, rise_mm), math.hypot(*parts), chord_mm, rise_mm, friction)
