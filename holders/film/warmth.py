"""Film on a warm bed: the air there is drier than the room's, the gelatin dries and shrinks, and the film curls.

Air that is warmed without water added keeps its vapour pressure, so its relative humidity falls by the ratio of the
saturation pressures. How far film curls for it is what J. M. Calhoun measured on one film without a coat on its back
(J. SMPE 43(4), 1944, Table 5), carried over to another base by the curl of a strip of two layers (S. Timoshenko,
J. Opt. Soc. Am. 11 (1925) 233). A gelatin coat on the back pulls the other way.

Not modelled: what the emulsion remembers (curl of film that was dried and damped differs with its past), ageing,
growth of the base's own damp side, heat of a lamp on one face of the film.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.facts.constants import constant
from holders.facts.models import FilmBase
from holders.facts.numbers import numbers
from holders.facts.tables import film_base

MEASURED_AT = (20.0, 50.0, 70.0)  # % relative humidity of Calhoun's curls
HOTTEST_C = 60.0  # of the formula for damp air
QUANTILES = 40  # films of equal chance that stand for all whose coats are not known


def saturation_pressure_hpa(celsius: float) -> float:
    """Pressure of water vapour over water at which air is saturated, hPa: the Magnus formula, -45 to 60 °C.

    Source: WMO Guide to Instruments and Methods of Observation (No. 8), from memory; it claims 0.6 %.
    Raises ``InputError`` outside that range.
    """
    if not -45 <= celsius <= HOTTEST_C:
        raise InputError("room.ambient_c", celsius, "the formula for damp air holds from -45 to 60 °C")
    factor = math.exp(constant("magnus-slope") * celsius / (constant("magnus-offset") + celsius))
    return constant("magnus-pressure") * factor


def warmed_humidity_percent(humidity_percent: float, celsius: float, rise_k: float) -> float:
    """Relative humidity of air that was warmed by ``rise_k`` from ``celsius`` without water added or taken, %.

    Air hotter than 60 °C counts as that of 60 °C, where the formula for damp air ends: there is next to no damp left.
    """
    warm = min(celsius + rise_k, HOTTEST_C)
    return humidity_percent * saturation_pressure_hpa(celsius) / saturation_pressure_hpa(warm)


def strip_curl_per_m(
    mismatch: float, coat_mm: float, coat_mpa: float, base_mm: float, base_mpa: float
) -> float:
    """Curl of a narrow strip of two layers of which the coat wants to be shorter by ``mismatch`` (a share), 1/m.

    Source: S. Timoshenko, Analysis of Bi-Metal Thermostats, J. Opt. Soc. Am. 11 (1925) 233, equation 4.
    """
    m, n, h = coat_mm / base_mm, coat_mpa / base_mpa, coat_mm + base_mm
    rigid = 3 * (1 + m) ** 2 + (1 + m * n) * (m * m + 1 / (m * n))
    return 1000 * 6 * mismatch * (1 + m) ** 2 / (h * rigid)


def calhoun_curl_per_m(humidity_percent: float) -> float:
    """Curl of Calhoun's film at a relative humidity, 1/m: straight between what he measured, and on beyond it."""
    low, middle, high = MEASURED_AT
    ends = (middle, high) if humidity_percent > middle else (low, middle)
    first, last = (numbers("gelatin")[f"calhoun-curl-{end:.0f}"].value for end in ends)
    return first + (last - first) * (humidity_percent - ends[0]) / (ends[1] - ends[0])


def bare_curl_change_per_m(base: FilmBase, from_percent: float, to_percent: float) -> float:
    """How much more film with nothing on its back curls toward the emulsion, as the sheet of that base lies, 1/m.

    Parameters
    ----------
    base:
        What the film is made of; a rigid one does not curl.
    from_percent, to_percent:
        Relative humidity before and after, %.
    """
    if base.rigid:
        return 0.0
    middle = MEASURED_AT[1]
    between = min(max(middle, min(from_percent, to_percent)), max(from_percent, to_percent))
    ways = ((from_percent, between), (between, to_percent))
    return sum(
        (calhoun_curl_per_m(b) - calhoun_curl_per_m(a)) * _ratio(base, (a + b) / 2) for a, b in ways if a != b
    )


def _ratio(base: FilmBase, humidity_percent: float) -> float:
    """Curl of film of this base over that of Calhoun's for the same change of humidity, about that humidity."""
    his, gelatin = film_base("nitrate"), numbers("gelatin")
    coat, stiff = gelatin["emulsion-thickness"].value, gelatin["emulsion-modulus"].value
    grows = gelatin[f"emulsion-strain-{'damp' if humidity_percent > MEASURED_AT[1] else 'dry'}"].value

    def curl(one: FilmBase) -> float:
        mismatch = grows - one.base_humidity_strain_per_rh
        return strip_curl_per_m(mismatch, coat, stiff, one.thickness_mm, one.modulus_mpa)

    return curl(base) / curl(his)


def bare_chance(base: FilmBase, kind: str) -> float:
    """The chance that film of this base and kind (sheet, roll, 35mm, small) has no gelatin on its back, 0 to 1."""
    if base.back_coat != "unknown":
        return 1.0 if base.back_coat == "no" else 0.0
    name = kind if kind in ("sheet", "roll") else "35mm"
    return numbers("gelatin")[f"bare-back-{name}"].value


def coat_shares(base: FilmBase, kind: str) -> tuple[float, ...]:
    """What films of this kind take of the curl change of bare film: values of equal chance, ascending.

    1 for film without a coat on its back, 0 where a coat balances the emulsion; both with their spread (triangular).
    """
    gelatin = numbers("gelatin")
    bare = round(QUANTILES * bare_chance(base, kind))
    groups = (
        (QUANTILES - bare, 0.0, gelatin["back-coat-spread"].value),
        (bare, 1.0, gelatin["curl-slope-spread"].value),
    )
    found = [
        middle + spread * _triangular((k + 0.5) / count)
        for count, middle, spread in groups
        for k in range(count)
    ]
    return tuple(sorted(found))


def _triangular(chance: float) -> float:
    """The value below which a symmetric triangular variable from -1 to 1 lies with that chance."""
    return math.sqrt(2 * chance) - 1 if chance <= 0.5 else 1 - math.sqrt(2 * (1 - chance))


def gelatin_minutes() -> float:
    """Time constant with which an emulsion takes the humidity of the air on its open face, minutes: 4 L² / (pi² D).

    An order of magnitude; the base, a hundred times slower, hardly counts for curl.
    Source: first term of the series for a layer that is closed on one face, J. Crank, The Mathematics of Diffusion,
    chapter 4 (from memory).
    """
    gelatin = numbers("gelatin")
    thick = 1e-3 * gelatin["emulsion-thickness-most"].value
    return 4 * thick**2 / (math.pi**2 * gelatin["water-diffusion"].value) / 60


@dataclass(frozen=True, slots=True)
class WarmAir:
    """The air about film in a room and on the warm bed: relative humidity in %, and what it does to bare film.

    ``cold_per_m`` and ``warm_per_m`` are how much more film without a coat on its back curls in the room and on the
    warm bed than its base's numbers say (they hold at ``reference_percent``).
    """

    room_percent: float
    bed_percent: float
    reference_percent: float
    cold_per_m: float
    warm_per_m: float


def warm_air(
    base: FilmBase, celsius: float, humidity_percent: float, rise_k: float, *, curl_known: bool
) -> WarmAir:
    """The air about film of a base; ``curl_known`` where its curl was measured in this very room."""
    bed = warmed_humidity_percent(humidity_percent, celsius, rise_k)
    reference = humidity_percent if curl_known else numbers("gelatin")["curl-reference-humidity"].value
    return WarmAir(
        humidity_percent,
        bed,
        reference,
        bare_curl_change_per_m(base, reference, humidity_percent),
        bare_curl_change_per_m(base, reference, bed),
    )
