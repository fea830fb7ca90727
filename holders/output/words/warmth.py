"""The film cold and warm, in words and as plain values: what the dry air of the warm bed does to it."""

from __future__ import annotations

from typing import Any

from holders.design.other_films import WarmFilm
from holders.design.sag import Sag
from holders.facts.models import Bed, FilmBase
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


def warm_rows(job: Job, sag: Sag) -> list[tuple[str, str]]:
    """Names and sentences for the film on the warm bed; empty for glass and film in its mount."""
    air = sag.warm
    if air is None:
        return []
    cold_c, warm_c = job.preset.room.ambient_c, job.preset.room.ambient_c + job.bed.lamp_rise_k
    rows = [
        (
            "air, room and warm bed",
            f"{cold_c:g} °C at {air.room_percent:.0f} % humidity, {warm_c:g} °C at {air.bed_percent:.0f} %",
        ),
        ("film cold", _shape_words(job.base.curl_per_m, sag.max_mm, sag.in_band_fraction, sag.lift_mm)),
        ("film warm", warm_words(sag)),
    ]
    if air.shown is not None and _differs(job.base, air):
        rows.append(("leaves the focus band", leaves_words(job.bed, job.base, sag)))
    minutes = f"{gelatin_minutes():.0f} minutes (order of magnitude)"
    rows.append(("how soon", f"gelatin follows the air within about {minutes}; the bed warms more slowly"))
    rows.append(("not known", "; ".join(not_known(air))))
    return rows


def warm_words(sag: Sag) -> str:
    """The usual film on the warm bed, in a sentence."""
    air = sag.warm
    assert air is not None
    if air.bare_chance == 0:
        return "as cold: the coat on its back takes off what the emulsion pulls, to a fifth of it either way"
    if air.warm_per_m == 0:
        return "as cold"
    if air.shown is None:
        return "no shape was found for film without a coat on its back: the chance counts it as not sharp"
    one = air.shown
    words = _shape_words(one.curl_per_m, one.max_mm, one.in_band_fraction, one.lid_rise_mm)
    if air.bare_chance == 1:
        return words
    coated, bare = 1 - air.bare_chance, air.bare_chance
    return (
        f"{_of_100(coated)} have a coat on their back and hardly change; the chance also counts the "
        f"{100 * bare:.0f} of 100 with a bare back: {words}"
    )


def leaves_words(bed: Bed, base: FilmBase, sag: Sag) -> str:
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
    curl = base.curl_per_m + air.leaves_at * air.warm_per_m
    return f"when the bed is about {leaves_k(bed, sag):.0f} K warmer than the room{bare}, at a curl of {curl:.1f} per m"


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


def _shape_words(curl_per_m: float, sag_mm: float, share: float, rise_mm: float) -> str:
    words = (
        f"curl {curl_per_m:.1f} per m, sags {max(0.0, sag_mm):.2f} mm at most, {100 * share:.1f} % in focus"
    )
    return words + (f", lifts what lies on it {rise_mm:.2f} mm" if rise_mm >= 0.005 else "")


def _of_100(chance: float) -> str:
    return f"{100 * chance:.0f} of 100 such films"


def _rounded(value: float) -> float:
    """To a tenth of a micrometre, without negative zero."""
    return round(value, 4) + 0.0
