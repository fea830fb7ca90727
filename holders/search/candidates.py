"""Changes that a maker would think of for one holder; whether one helps is found by trying it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from holders.core.lines import Candidate
from holders.facts.curl_words import curl_words
from holders.facts.models import Material
from holders.facts.numbers import numbers
from holders.facts.tables import find
from holders.fittings.base import Fitting, Rivals
from holders.fittings.registry import FITTINGS, fitted_in
from holders.preset.tables.plain import PlainPreset
from holders.search.smaller import small_frame
from holders.study import Study

BED_SIGMA_MM = (
    0.03  # what a careful measurement with the focus ramp reaches: docs/model.md, focus measurement
)
MEASURE = "measure"  # the family of what is found out, not changed
FRAME = "frame"  # the family of what saves material and time, and must harm nothing
CURL_SIGMA_PER_M = 0.1  # the same of a curl measured with ruler or scanner
FINE_LAYER_MM = 0.1
LASER_INSTEAD = ("plywood-birch", "mounting-board")  # common in workshops, and allowed


FILM_TABLES = ("lip", "film", "base")  # beside those of what lies on the film


def film_keys(keys: Mapping[str, object]) -> frozenset[tuple[str, object]]:
    """What among the keys of a change gives the film another surface; how heavy its lid is decides only how far that
    rises, and is left out.
    """
    over = {kind.key: kind.shape_keys for kind in FITTINGS if kind.over_film}
    found: set[tuple[str, object]] = set()
    for path, value in keys.items():
        table, _, key = path.partition(".")
        if table == "more_films" and not path.endswith(".back_coat"):
            found.add((path, value))
            continue
        if key and table in over and key not in over[table]:
            found.add((table, "there"))
        elif (table in over or table in FILM_TABLES) and path != "base.back_coat":
            found.add((path, value))
    return frozenset(found)


def candidates(found: Study) -> Iterator[Candidate]:
    """Every change that makes sense for this holder, each on its own.

    In a holder for several kinds of film a change of the film is one of that which does worst.
    """
    for change in _candidates(found):
        keys = {found.job.own_key(path): value for path, value in change.keys.items()}
        of_film = found.job.kinds and any(path.startswith(("film.", "base.")) for path in change.keys)
        text = f"{change.text} ({found.job.film_called})" if of_film else change.text
        yield replace(change, text=text, keys=keys)


def _candidates(found: Study) -> Iterator[Candidate]:
    if found.job.preset.route == "laser" and found.job.material.laser == "forbidden":
        yield from _kept_from_laser(found.job.material)
    if not found.job.base.rigid and found.job.film.kind != "mount":
        yield from _held_flatter(found)
        yield from _lips(found)
    yield from _heights(found)
    yield from _feet(found)
    yield from _warmth(found)
    yield from _measured(found)
    yield from _least_frame(found)


def _least_frame(found: Study) -> Iterator[Candidate]:
    small = small_frame(found)
    if small is not None:
        saves = f": {small.saves}" if small.saves else ""
        words = (
            f"Make the frame no larger than its film needs, {small.size}{saves}; it then lies {small.where}"
        )
        bare = ", and lit glass beside it stays bare without a mask (layout.mask_card_mm)"
        yield Candidate(words if found.design.mask else words + bare, small.keys, FRAME)


def _kept_from_laser(material: Material) -> Iterator[Candidate]:
    """What a laser must not cut goes under the knife, or something else is cut."""
    if "knife" in material.routes:
        yield Candidate("Cut it with a knife", {"route": "knife"}, "making")
    for key in LASER_INSTEAD:
        name = find("materials", key, Material, field="material.name").name
        yield Candidate(f"Cut it from {name}", {"material.name": key}, "making")


def _held_flatter(found: Study) -> Iterator[Candidate]:
    preset = found.job.preset
    if any(kind.settles_film for kind in fitted_in(preset)):
        return
    for kind in FITTINGS:
        yield from kind.changes(found.job, rivals_of(kind, preset))
    other = "up" if preset.film.emulsion == "down" else "down"
    yield Candidate(f"Lay the film emulsion {other}, and mirror the scan", {"film.emulsion": other}, "side")


def rivals_of(kind: Fitting[Any], preset: PlainPreset) -> Rivals:
    """What else than ``kind`` may lie on the film, and which of it a preset has."""
    others = [one for one in FITTINGS if one.over_film and one is not kind]
    there = next((one.over_film for one in fitted_in(preset) if one in others), "")
    riders = [one for one in FITTINGS if one.rides_on in {other.key for other in others}]
    return Rivals({one.key: None for one in (*others, *riders)}, there)


def _lips(found: Study) -> Iterator[Candidate]:
    lip = found.job.preset.lip
    if any(side is not None for side in (lip.left_mm, lip.right_mm, lip.head_mm, lip.foot_mm)):
        return
    now = max(found.design.mine[0].lips.of(edge) for edge in ("left", "right", "head", "foot"))
    for more in (1.0, 2.0):
        yield Candidate(f"Make the lips {now + more:g} mm wide", {"lip.all_mm": round(now + more, 2)}, "lip")


def _heights(found: Study) -> Iterator[Candidate]:
    job = found.job
    if job.preset.ledge == "focus":
        yield Candidate("Aim the ledge so that the sagging film is in focus", {"ledge": "best"}, "height")
    if job.printer is not None and job.printer.layer_mm > FINE_LAYER_MM:
        yield Candidate(
            f"Print in layers of {FINE_LAYER_MM:g} mm", {"printer.layer_mm": FINE_LAYER_MM}, "height"
        )
    if job.printer is None:
        yield from _sheets(found)


def _sheets(found: Study) -> Iterator[Candidate]:
    job, given = found.job, found.job.preset.material.sheets_mm
    stock = tuple(given) or tuple(job.material.stock_mm)
    yield from one_more_sheet(found)
    if stock and not given:
        yield Candidate(
            "Measure your sheets with a caliper and list them", {"material.sheets_mm": list(stock)}, MEASURE
        )


def one_more_sheet(found: Study) -> Iterator[Candidate]:
    """The one further sheet that would bring the ledge nearest to where it should be, where there is one."""
    from holders.workshop.stock import stacks_for  # noqa: PLC0415 - only the cut routes stack sheets

    job = found.job
    stock = tuple(job.preset.material.sheets_mm) or tuple(job.material.stock_mm)
    more = stacks_for(job, found.design).one_more if stock else None
    if more is not None and not job.preset.material.sheet_prices:
        thick = round(more.thickness_mm, 2)
        if thick not in stock:
            yield Candidate(f"Get a sheet of {thick:g} mm as well",
                            {"material.sheets_mm": [*stock, thick]}, "height")  # fmt: skip


def _feet(found: Study) -> Iterator[Candidate]:
    feet = found.job.preset.feet
    if feet is None:
        return
    for count in (6, 8):
        if count > feet.count:
            yield Candidate(f"Stand it on {count} feet", {"feet.count": count}, "feet")
    yield Candidate("Leave the feet out", {"feet": None}, "feet")


def _measured(found: Study) -> Iterator[Candidate]:
    job = found.job
    if job.bed.focus_sigma_mm > BED_SIGMA_MM:
        usual = job.preset.bed.model_dump().get("focus_band_mm") is None
        yield Candidate(
            f"Measure where your scanner is sharpest, to ±{BED_SIGMA_MM:g} mm (holders ramp, holders focus)"
            + (
                f"; this is the chance if it stays sharp from {job.bed.focus_band_mm:g} mm below to as much above"
                if usual
                else ""
            ),
            {"bed.focus_sigma_mm": BED_SIGMA_MM},
            MEASURE,
        )
    base = job.base
    low, high = base.curl_per_m - 2 * CURL_SIGMA_PER_M, base.curl_per_m + 2 * CURL_SIGMA_PER_M
    if (
        not base.rigid
        and job.film.kind != "mount"
        and (base.curl_low_per_m < low or base.curl_high_per_m > high)
    ):
        yield Candidate(
            f"Measure how curled your film is (holders curl); this is the chance if it is the usual "
            f"{curl_words(base.curl_per_m, job.film.cut_width_mm)}",
            {
                "base.curl_per_m": base.curl_per_m,
                "base.curl_low_per_m": round(low, 4),
                "base.curl_high_per_m": round(high, 4),
            },
            MEASURE,
        )


def _warmth(found: Study) -> Iterator[Candidate]:
    """What takes off the curl that the dry air of a warm bed brings."""
    air = None if found.design.sag is None else found.design.sag.warm
    if air is None or air.warm_per_m == air.cold_per_m:
        return
    room, damp = found.job.preset.room, numbers("gelatin")["damp-room"].value
    if room.scan_when != "cold":
        yield Candidate("Scan at once, before the bed is warm", {"room.scan_when": "cold"}, "warmth")
    if room.scan_when != "warm":
        yield Candidate(
            "Let bed and film warm up together before you scan", {"room.scan_when": "warm"}, "warmth"
        )
    if not air.curl_known and room.humidity_percent < damp:
        yield Candidate(
            f"Keep film and scanner in a room of {damp:g} % humidity for a day",
            {"room.humidity_percent": damp},
            "warmth",
        )
    if 0 < air.bare_chance < 1:
        yield Candidate(
            "Find out whether the film's back has a gelatin coat (touch the clear border of a film you can spare with "
            "a damp finger: gelatin turns tacky, and keeps the mark); this is the chance if it has",
            {"base.back_coat": "yes"},
            MEASURE,
        )
