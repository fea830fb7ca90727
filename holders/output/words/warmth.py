"""The film cold and warm, in words and as plain values: what the dry air of the warm bed does to it."""

from __future__ import annotations

from typing import Any

from holders.design.model import Design
from holders.design.other_films import WarmFilm
from holders.design.sag import Sag
from holders.facts.curl_words import curl_words
from holders.facts.models import Bed, FilmBase, FilmFormat
from holders.facts.rise_names import cold_rise, warm_rise
from holders.film.warmth import gelatin_minutes
from holders.preset.resolve import Job

NOT_KNOWN = (
    "how warm your bed gets, and how soon: measure bed.lamp_rise_k",
    "how your own film curls as it dries: the slope is that of one film measured in 1944, half as much either way",
    "what film remembers of earlier damp and drying, and how age changes it",
)
UNKNOWN_BACK = (
    "whether the back of your film has a gelatin coat: a damp finger on the clear border turns it tacky"
)


def warm_rows(job: Job, made: Design) -> list[tuple[str, str]]:
    """Names and sentences for the film on the warm bed; empty for glass and film in its mount."""
    sag = made.sag
    air = None if sag is None else sag.warm
    if sag is None or air is None:
        return []
    noun = made.on_film.on_film or "lid"
    cold_c, warm_c = job.preset.room.ambient_c, job.preset.room.ambient_c + job.bed.lamp_rise_k
    rows = [
        (
            "air, room and warm bed",
            f"{cold_c:g} °C at {air.room_percent:.0f} % humidity, {warm_c:g} °C at {air.bed_percent:.0f} %",
        ),
        (
            "film cold",
            _shape_words(job.film.cut_width_mm, job.base.curl_per_m, sag.max_mm, sag.in_band_fraction)
            + _rise_words(cold_rise(noun), sag.lift_mm),
        ),
        ("film warm", warm_words(job.film, made, short=True)),
    ]
    if air.shown is not None and _differs(job.base, air):
        rows.append(("leaves the focus band", leaves_words(job, sag)))
    minutes = f"{gelatin_minutes():.0f} minutes (order of magnitude)"
    rows.append(("how soon", f"gelatin follows the air within about {minutes}; the bed warms more slowly"))
    rows.append(("not known", "; ".join(not_known(air))))
    return rows


def warm_words(film: FilmFormat, made: Design, *, short: bool = False) -> str:
    """The usual film on the warm bed, in a sentence or two; ``short`` in a table's cell."""
    sag = made.sag
    assert sag is not None
    air = sag.warm
    assert air is not None
    if air.bare_chance == 0:
        return "as cold: the coat on its back takes off what the emulsion pulls, to a fifth of it either way"
    if air.warm_per_m == 0:
        return "as cold"
    if air.shown is None:
        return "no shape was found for film without a coat on its back: the chance counts it as not sharp"
    one = air.shown
    curl = curl_words(one.curl_per_m, film.cut_width_mm, 1, short=short)
    does = _held_words(one.max_mm, one.in_band_fraction)
    does += _rise_words(warm_rise(made.on_film.on_film or "lid"), one.lid_rise_mm)
    if air.bare_chance == 1:
        return f"curl {curl}; {does}"
    coated, bare = 1 - air.bare_chance, air.bare_chance
    return (
        f"with a gelatin coat on its back ({100 * coated:.0f} of 100 films) it hardly changes. With a bare back "
        f"({100 * bare:.0f} of 100) it dries and curls to {curl}; {does}. The chance counts both{scanned_words(air)}"
    )


def scanned_words(air: WarmFilm) -> str:
    """When the chance takes the scan to be made, where that is not on the bed that is quite warm."""
    first, last = air.span
    if last < 1:
        return ", scanned before the bed is warm"
    return "" if first > 0 else ", scanned at any time between a cold bed and this one"


def leaves_words(job: Job, sag: Sag) -> str:
    """When the usual film leaves the focus band as the bed warms."""
    air = sag.warm
    assert air is not None
    if air.leaves_at is None:
        return "it stays in it until the bed is warm"
    bare = "" if air.bare_chance == 1 else " if its back is bare"
    if air.leaves_at == 0:
        return (
            "out of it cold and warm"
            if air.shown is None or air.shown.in_band_fraction < 0.9
            else "out of it cold"
        )
    curl = curl_words(
        job.base.curl_per_m + air.leaves_at * air.warm_per_m, job.film.cut_width_mm, 1, short=True
    )
    return f"when the bed is about {leaves_k(job.bed, sag):.0f} K warmer than the room{bare}, at a curl of {curl}"


def leaves_k(bed: Bed, sag: Sag) -> float | None:
    """How much warmer than the room the bed is when the usual film leaves the focus band, K."""
    at = None if sag.warm is None else sag.warm.leaves_at
    return None if at is None else at * bed.lamp_rise_k


def not_known(air: WarmFilm) -> tuple[str, ...]:
    """What nobody has published, or what only the photographer can know."""
    return ((UNKNOWN_BACK,) if 0 < air.bare_chance < 1 else ()) + NOT_KNOWN


def warm_summary(job: Job, sag: Sag | None) -> dict[str, Any] | None:
    """The same as plain JSON values; None for glass and film in its mount."""
    air = None if sag is None else sag.warm
    if sag is None or air is None:
        return None
    room, one, left = job.preset.room, air.shown, leaves_k(job.bed, sag)
    cold = (job.base.curl_per_m, sag.max_mm, sag.mean_mm, sag.min_gap_mm, sag.in_band_fraction, sag.lift_mm)
    return {
        "room": {"celsius": room.ambient_c, "humidity_percent": _rounded(air.room_percent)},
        "bed": {
            "celsius": _rounded(room.ambient_c + job.bed.lamp_rise_k),
            "humidity_percent": _rounded(air.bed_percent),
        },
        "scan_when": room.scan_when,
        "back_coat": job.base.back_coat,
        "bare_back_chance": air.bare_chance,
        "cold": _values(*cold),
        "warm": None
        if one is None
        else _values(
            one.curl_per_m, one.max_mm, one.mean_mm, one.min_gap_mm, one.in_band_fraction, one.lid_rise_mm
        ),
        "leaves_band_at_k": None if left is None else _rounded(left),
        "gelatin_minutes": round(gelatin_minutes(), 1),
        "not_known": list(not_known(air)),
    }


def _values(
    curl_per_m: float, sag_mm: float, mean_mm: float, gap_mm: float, share: float, rise_mm: float
) -> dict[str, float]:
    return {
        "curl_per_m": _rounded(curl_per_m),
        "max_sag": _rounded(sag_mm),
        "mean_sag": _rounded(mean_mm),
        "min_gap": _rounded(gap_mm),
        "in_band_fraction": _rounded(share),
        "lid_rise_mm": _rounded(rise_mm),
    }


def _differs(base: FilmBase, air: WarmFilm) -> bool:
    return air.shown is not None and air.shown.curl_per_m != base.curl_per_m


def _shape_words(width_mm: float, curl_per_m: float, sag_mm: float, share: float) -> str:
    return f"curl {curl_words(curl_per_m, width_mm, 1, short=True)}; {_held_words(sag_mm, share)}"


def _held_words(sag_mm: float, share: float) -> str:
    return f"sags {max(0.0, sag_mm):.2f} mm at most, {100 * share:.1f} % in focus"


def _rise_words(name: str, rise_mm: float) -> str:
    return f", {name} {rise_mm:.2f} mm" if rise_mm >= 0.005 else ""


def _rounded(value: float) -> float:
    """To a tenth of a micrometre, without negative zero."""
    return round(value, 4) + 0.0
