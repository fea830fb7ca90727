"""Changes that a maker would think of for one holder; whether one helps is found by trying it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from holders.facts.tables import process
from holders.study import Study

BED_SIGMA_MM = (
    0.03  # what a careful measurement with the focus ramp reaches: docs/model.md, focus measurement
)
CURL_SIGMA_PER_M = 0.1  # the same of a curl measured with ruler or scanner
FINE_LAYER_MM = 0.1
GLASS_MM = 2.0
PRINTED_LID_MM = 6.0


@dataclass(frozen=True, slots=True)
class Candidate:
    """One change: in words, and as preset keys (None takes a key or a whole table away)."""

    text: str
    keys: Mapping[str, object]
    family: str = field(default="")


FILM_TABLES = ("lid", "cover", "lip", "film", "base")


def film_keys(keys: Mapping[str, object]) -> frozenset[tuple[str, object]]:
    """What among the keys of a change gives the film another surface; how heavy its lid is decides only how far that
    rises, and is left out.
    """
    return frozenset(
        (path.split(".")[0], "there")
        if path.startswith(("lid.", "cover.")) and path != "lid.lip_mm"
        else (path, value)
        for path, value in keys.items()
        if path.split(".")[0] in FILM_TABLES
    )


def candidates(found: Study) -> Iterator[Candidate]:
    """Every change that makes sense for this holder, each on its own."""
    if not found.job.base.rigid and found.job.film.kind != "mount":
        yield from _held_flatter(found)
        yield from _lips(found)
    yield from _heights(found)
    yield from _feet(found)
    yield from _measured(found)


def _held_flatter(found: Study) -> Iterator[Candidate]:
    preset, printed = found.job.preset, found.job.printer is not None
    if preset.channel is not None:
        return
    lid, cover = preset.lid, preset.cover
    if lid is None and cover is None:
        thick = PRINTED_LID_MM if printed else process(preset.route).pocket_depth_mm
        yield Candidate(
            "Add a lid frame that rests on the film", {"lid.thickness_mm": thick, "lid.play_mm": 0.0}, "hold"
        )
    if lid is not None:
        if printed and lid.play_mm > 0:
            yield Candidate("Let the lid rest on the film, without play", {"lid.play_mm": 0.0}, "hold")
        for more in (2.0, 4.0, 8.0):
            thick = lid.thickness_mm + more
            if thick <= MOST_LID_MM:
                yield Candidate(f"Make the lid {thick:g} mm thick, so that it weighs more",
                                {"lid.thickness_mm": thick, "lid.play_mm": 0.0}, "hold")  # fmt: skip
        if printed and lid.magnets < MOST_MAGNETS:
            yield Candidate(f"Hold the lid down with {MOST_MAGNETS} magnets",
                            {"lid.magnets": MOST_MAGNETS, "lid.play_mm": 0.0}, "hold")  # fmt: skip
        yield Candidate(
            "Let the lid reach 1 mm farther over the film", {"lid.lip_mm": lid.lip_mm + 1}, "hold"
        )
    if cover is None:
        yield Candidate(
            f"Lay a glass cover of {GLASS_MM:g} mm on the film, its etched side down, instead of a lid"
            if lid is not None
            else f"Lay a glass cover of {GLASS_MM:g} mm on the film, its etched side down",
            {"lid": None, "cover.thickness_mm": GLASS_MM},
            "hold",
        )
    elif cover.thickness_mm < 2 * GLASS_MM:
        yield Candidate(f"Take cover glass of {2 * GLASS_MM:g} mm, which weighs more",
                        {"cover.thickness_mm": 2 * GLASS_MM}, "hold")  # fmt: skip
    other = "up" if preset.film.emulsion == "down" else "down"
    yield Candidate(f"Lay the film emulsion {other}, and mirror the scan", {"film.emulsion": other}, "side")


MOST_LID_MM = 16.0
MOST_MAGNETS = 4


def _lips(found: Study) -> Iterator[Candidate]:
    lip = found.job.preset.lip
    if any(side is not None for side in (lip.left_mm, lip.right_mm, lip.head_mm, lip.foot_mm)):
        return
    now = max(found.design.windows[0].lips.of(edge) for edge in ("left", "right", "head", "foot"))
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
            "Measure your sheets with a caliper and list them", {"material.sheets_mm": list(stock)}, "measure"
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
        yield Candidate(
            f"Measure where your scanner is sharpest, to ±{BED_SIGMA_MM:g} mm (holders ramp, holders focus)",
            {"bed.focus_sigma_mm": BED_SIGMA_MM},
            "measure",
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
            f"{base.curl_per_m:g} per m",
            {
                "base.curl_per_m": base.curl_per_m,
                "base.curl_low_per_m": round(low, 4),
                "base.curl_high_per_m": round(high, 4),
            },
            "measure",
        )
