"""The film on the warm bed: one solve beside the cold one, its odds against film solved at drawn curls and warmths."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from holders.design.held.curl_odds import quantile
from holders.design.held.curl_shapes import CurlShapes
from holders.design.held.film_in_holder import designed
from holders.design.held.model import Filmed
from holders.design.held.warm_film import warm_film
from holders.design.model import Design
from holders.film.band import in_band_fraction
from holders.film.models import Sheet
from holders.film.ranges import STUDY_TOL, study_resolution
from holders.film.surface import solve_surface
from holders.output.words.warmth import leaves_k, scanned_words, warm_rows, warm_summary
from holders.preset.resolve import Job
from holders.workshop.budget.odds import odds_of
from tests.presets_made import job

BARE: dict[str, Any] = {
    "film": {"format": "4x5"},
    "base": {"back_coat": "no"},
    "bed": {"focus_height_mm": 3.1, "focus_sigma_mm": 0.01, "name": "a4-wide"},
}


@cache
def bare() -> tuple[Job, Design, Filmed]:
    wanted = job(**BARE)
    return (wanted, *designed(wanted))


def chance(wanted: Job, made: Design) -> float:
    return odds_of(wanted, made).chance


def dried(film: Filmed, own_per_m: float, part_per_m: float) -> Sheet:
    """The film that curls so much across by itself, and by drying both ways alike: free, 1 + ν times that in one."""
    assert film.sheet is not None
    alike = part_per_m / (1 + film.sheet.poisson)
    curl_x, curl_y = (alike, own_per_m + alike) if film.turned else (own_per_m + alike, alike)
    return film.sheet.model_copy(update={"curl_x_per_m": curl_x, "curl_y_per_m": curl_y})


def test_the_warm_film_is_the_film_of_the_warm_curl() -> None:
    wanted, made, film = bare()
    assert made.sag is not None
    assert film.sheet is not None
    assert film.surface is not None
    air = made.sag.warm
    assert air is not None
    assert air.shown is not None
    assert air.shown.curl_per_m == wanted.base.curl_per_m + air.warm_per_m
    sheet = dried(film, wanted.base.curl_per_m, air.warm_per_m)
    support = film.surface.support
    again = solve_surface(sheet, support, tol=STUDY_TOL, resolution=study_resolution(support))
    share = in_band_fraction(again, film.picture, film.band, wanted.base.refractive_index)
    assert air.shown.in_band_fraction == pytest.approx(share, abs=0.01)
    assert air.shown.max_mm == again.max_sag_mm


def test_the_odds_count_the_way_from_cold_to_warm() -> None:
    """Film without a coat, next to nothing else uncertain: solved at 64 pairs of curl and warmth, each sharp or not."""
    wanted, made, film = bare()
    assert made.sag is not None
    assert film.sheet is not None
    assert film.surface is not None
    air, base, support = made.sag.warm, wanted.base, film.surface.support
    assert air is not None
    good = []
    for k in range(64):
        at, way, coat = ((k + 0.5) * step % 1 for step in (1 / 64, 0.754877666, 0.569840291))  # R2 sequence
        curl = quantile(base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m, at)
        part = air.coat_shares[int(coat * len(air.coat_shares))] * way * air.warm_per_m
        one = solve_surface(dried(film, curl, part), support, tol=STUDY_TOL, resolution=6)
        good.append(in_band_fraction(one, film.picture, film.band, base.refractive_index) >= 0.9)
    # 64 pairs drawn, some 14 curls solved, the holder's own tolerances: together within 0.08
    assert chance(wanted, made) == pytest.approx(float(np.mean(good)), abs=0.08)


def test_a_coat_and_a_scan_at_once_gain_what_warmth_takes() -> None:
    wanted, made, _ = bare()
    now = chance(wanted, made)
    coated = job(**{**BARE, "base": {"back_coat": "yes"}})
    with_coat = designed(coated)[0]
    assert with_coat.sag is not None
    assert with_coat.sag.warm is not None
    assert with_coat.sag.warm.shown is not None
    assert with_coat.sag.warm.shown.max_mm == with_coat.sag.max_mm  # nothing is solved where nothing changes
    assert chance(coated, with_coat) > now + 0.05
    assert made.sag is not None
    assert made.sag.warm is not None
    at_once = replace(made, sag=replace(made.sag, warm=replace(made.sag.warm, span=(0.0, 0.25))))
    assert chance(wanted, at_once) > now + 0.05


def test_cold_lamps_leave_film_as_it_is() -> None:
    wanted = job(**{**BARE, "bed": {**BARE["bed"], "lamp_rise_k": 0.0}})
    made, film = designed(wanted)
    assert made.sag is not None
    assert made.sag.warm is not None
    assert made.sag.warm.warm_per_m == 0.0
    assert film.warm_grid is None
    assert made.sag.warm.leaves_at is None


def test_glass_has_no_warm_film() -> None:
    made, _ = designed(job(film={"format": "plate-4x5"}))
    assert made.sag is not None
    assert made.sag.warm is None
    assert warm_rows(job(film={"format": "plate-4x5"}), made) == []


def test_words_and_values_are_of_the_same_film() -> None:
    wanted, made, _ = bare()
    assert made.sag is not None
    values = warm_summary(wanted, made.sag)
    assert values is not None
    words = dict(warm_rows(wanted, made))
    assert f"{values['bed']['humidity_percent']:.0f} %" in words["air, room and warm bed"]
    assert f"{100 * values['warm']['in_band_fraction']:.1f} % in focus" in words["film warm"]
    assert f"curl {values['cold']['curl_per_m']:.1f} per m" in words["film cold"]
    at = leaves_k(wanted.bed, made.sag)
    assert at is not None
    assert 0 < at < wanted.bed.lamp_rise_k
    assert f"{at:.0f} K" in words["leaves the focus band"]


def test_between_solved_curls_heights_are_even_and_beyond_them_they_go_on() -> None:
    curls = np.array([0.0, 1.0, 3.0, 3.5])
    shapes = CurlShapes(
        curls,
        (curls**2)[:, None, None] * np.ones((1, 2, 2)),
        curls / 10,
        softest=np.array([-1.0, -3.0])[:, None, None] * np.ones((1, 2, 2)),
        stiffest=np.array([1.0, 1.0])[:, None, None] * np.ones((1, 2, 2)),
        base_curls_per_m=(0.0, 2.0),
        softness=(-0.5, 1.0),
    )
    assert shapes.at(2.0)[0][0, 0] == 5.0
    assert shapes.at(3.0)[0][1, 1] == 9.0
    # from 1 to 3.5, not from the next neighbour
    assert shapes.at(4.5)[0][0, 1] == pytest.approx(12.25 + 11.25 / 2.5)
    assert shapes.at(-1.0)[0][0, 1] == pytest.approx(-3.0)
    assert shapes.at(2.0)[1] == pytest.approx(0.2)
    assert shapes.at(-5.0)[1] == 0.0  # a lid does not sink
    for curl, soft, stiff in ((-1.0, -1.0, 0.5), (1.0, -2.0, 0.5), (9.0, -3.0, 0.5)):
        assert np.all(shapes.of_base(curl, 0.6) == soft)
        assert np.all(shapes.of_base(curl, 0.2) == stiff)


@pytest.mark.parametrize(
    ("when", "words"),
    [
        ("any", ", scanned at any time between a cold bed and this one"),
        ("cold", ", scanned before the bed is warm"),
        ("warm", ""),
    ],
)
def test_the_words_say_when_the_chance_takes_the_scan_to_be_made(when: str, words: str) -> None:
    air = warm_film(job(**{**BARE, "room": {"scan_when": when}}))
    assert air is not None
    assert scanned_words(air) == words
