"""Curl as a distribution: against a reference library, and the odds against film solved at drawn curls."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.stats import triang

from holders.core.errors import NotConverged
from holders.design.height.heights import image_rise_mm
from holders.design.held.curl_odds import NODES, below, nodes, quantile, softness
from holders.design.held.curl_shapes import curl_shapes
from holders.design.held.film_in_holder import designed
from holders.design.held.film_ranges import plate_rises
from holders.design.held.held_film import sheet_of
from holders.design.model import HEIGHT_CELLS
from holders.design.other_films import CurledFilm
from holders.film.band import in_band_fraction
from holders.film.models import LidRest
from holders.film.ranges import STUDY_TOL, study_resolution
from holders.film.surface import solve_surface
from holders.workshop.budget.share import films_by_curl, sharp_share
from tests.presets_made import job


@pytest.mark.parametrize("span", [(-2.0, 1.0, 8.0), (0.0, 0.0, 5.0), (-3.0, 4.0, 4.0)])
def test_quantiles_are_those_of_the_triangular_law(span: tuple[float, float, float]) -> None:
    """Reference: scipy.stats.triang."""
    low, usual, high = span
    law = triang((usual - low) / (high - low), loc=low, scale=high - low)
    for chance in (0.0, 0.05, 0.3, 0.5, 0.9, 1.0):
        assert quantile(low, usual, high, chance) == pytest.approx(law.ppf(chance), abs=1e-9)


def test_nodes_reach_from_the_least_to_the_most_curl() -> None:
    found = nodes(-2.0, 1.0, 8.0)
    assert (found[0], found[-1]) == (-2.0, 8.0)
    assert list(found) == sorted(set(found))
    assert nodes(1.0, 1.0, 1.0) == (1.0,)


def test_nodes_stand_where_value_and_change_together_are_likely() -> None:
    """A narrow range that warmth spreads over ten times as much: most of the nodes lie outside it, at equal steps of
    the chance that 100 000 draws have.
    """
    more = np.linspace(-2.0, 2.0, 41)
    found = nodes(0.9, 1.0, 1.1, more.tolist())
    rng = np.random.default_rng(3)
    drawn = rng.triangular(0.9, 1.0, 1.1, 100_000) + rng.choice(more, 100_000)
    outside = [value for value in found if not 0.9 <= value <= 1.1]
    assert len(outside) >= NODES - 3
    for k, value in enumerate(v for v in found if v < 0.9):
        assert np.mean(drawn < value) == pytest.approx((k + 1) / (NODES - 1), abs=0.02)


def test_the_chance_below_a_value_is_that_of_the_triangular_law() -> None:
    """Reference: scipy.stats.triang."""
    for low, usual, high in ((-2.0, 1.0, 8.0), (0.0, 0.0, 5.0), (-3.0, 4.0, 4.0)):
        law = triang((usual - low) / (high - low), loc=low, scale=high - low)
        for value in (low - 1, low, -1.0, usual, 2.0, high, high + 1):
            assert below(low, usual, high, value) == pytest.approx(law.cdf(value), abs=1e-12)
    assert [below(1.0, 1.0, 1.0, value) for value in (0.9, 1.0, 1.1)] == [0.0, 0.5, 1.0]


ONE: dict[str, Any] = {
    "film": {"format": "4x5"},
    "base": {"curl_low_per_m": -2.0, "curl_per_m": 1.0, "curl_high_per_m": 7.7},
    "bed": {"focus_height_mm": 3.1, "focus_sigma_mm": 0.01, "name": "a4-wide"},
}


def test_the_odds_are_the_share_of_curls_whose_picture_is_sharp() -> None:
    """With next to nothing else uncertain: film solved at 60 curls of equal chance, each sharp or not."""
    wanted = job(**ONE)
    made, film = designed(wanted)
    assert film.surface is not None
    base, support = wanted.base, film.surface.support
    good = []
    for k in range(60):
        curl = quantile(base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m, (k + 0.5) / 60)
        axis = "curl_y_per_m" if film.turned else "curl_x_per_m"
        sheet = sheet_of(wanted, made.windows[0]).model_copy(update={axis: curl})
        one = solve_surface(sheet, support, tol=STUDY_TOL, resolution=study_resolution(support))
        good.append(in_band_fraction(one, film.picture, film.band, base.refractive_index) >= 0.9)
    assert image_rise_mm(wanted) == 0.0  # emulsion down: its underside is the picture
    known = float(np.mean(good))
    assert 0.1 < known < 0.9
    # 11 nodes, 24 steps of curl, and the holder's own tolerances: together within 0.06
    assert sharp_share(wanted, made).most.value == pytest.approx(known, abs=0.06)


def test_film_of_one_curl_is_film_of_that_curl() -> None:
    same = {"curl_low_per_m": 1.0, "curl_per_m": 1.0, "curl_high_per_m": 1.0}
    made, _ = designed(job(film={"format": "4x5"}, base=same))
    assert made.sag is not None
    assert [one.across_per_m for one in made.sag.curled if one.inside] == [1.0]


def test_curlier_kinds_of_film_are_sharp_less_often() -> None:
    chances = []
    for most in (1.5, 4.0, 12.0):
        base = {"curl_low_per_m": 0.5, "curl_per_m": 1.0, "curl_high_per_m": most}
        wanted = job(film={"format": "4x5"}, base=base)
        chances.append(sharp_share(wanted, designed(wanted)[0]).most.value)
    assert chances == sorted(chances, reverse=True)
    assert chances[0] > chances[2] + 0.2


def test_bases_are_as_soft_as_drawn_ones() -> None:
    """Against 200 000 draws of numpy's triangular law: mean and spread of softness, and its ends."""
    thick, stiff = (0.16, 0.18, 0.20), (4400.0, 4750.0, 5100.0)
    found = np.array(softness(thick, stiff))
    rng = np.random.default_rng(7)
    t = rng.triangular(*thick, 200_000)
    e = rng.triangular(*stiff, 200_000)
    soft = 2 * np.log(thick[1] / t) + np.log(stiff[1] / e)
    least = 2 * np.log(thick[1] / thick[2]) + np.log(stiff[1] / stiff[2])
    most = 2 * np.log(thick[1] / thick[0]) + np.log(stiff[1] / stiff[0])
    drawn = np.where(soft > 0, soft / most, soft / -least)
    assert found.mean() == pytest.approx(drawn.mean(), abs=0.03)
    assert found.std() == pytest.approx(drawn.std(), rel=0.05)
    assert np.abs(found).max() < 1.0
    assert set(softness((0.2, 0.2, 0.2), (1.0, 1.0, 1.0))) == {0.0}


def test_thin_soft_bases_count_in_the_odds() -> None:
    """The same film, its base known or not: where it sags nearly out of the band, what is not known costs chance."""
    ends = (
        "thickness_low_mm",
        "thickness_mm",
        "thickness_high_mm",
        "modulus_low_mpa",
        "modulus_mpa",
        "modulus_high_mpa",
    )
    straight = {"curl_low_per_m": 0.0, "curl_per_m": 0.0, "curl_high_per_m": 0.0, "back_coat": "yes"}
    bed = {**ONE["bed"], "lamp_rise_k": 0.0}
    base = dict(zip(ends, (0.14, 0.18, 0.22, 3500.0, 4750.0, 6000.0), strict=True))
    made = designed(job(film={"format": "8x10"}, bed=bed, base={**straight, **base}))[0]
    assert made.sag is not None
    assert made.sag.bases is not None
    assert made.sag.bases.curls_per_m == (0.0,)
    soft, stiff = (np.asarray(end).min() for end in (made.sag.bases.softest_mm, made.sag.bases.stiffest_mm))
    assert soft < 0 < stiff or np.asarray(made.sag.bases.stiffest_mm).max() > 0 > soft


def test_a_soft_base_counts_for_more_where_film_curls_much() -> None:
    """A sheet that bows up off its ledge: the softest base of its kind as it was solved itself, at two curls."""
    wanted = job(
        film={"format": "whole-plate"},
        base={"curl_low_per_m": 0.0, "curl_per_m": 1.0, "curl_high_per_m": 3.0},
    )
    made, film = designed(wanted)
    assert made.sag is not None
    assert film.surface is not None
    shapes = curl_shapes(made.sag)
    assert shapes is not None
    base = wanted.base
    softest = {"thickness_mm": base.thickness_low_mm, "modulus_mpa": base.modulus_low_mpa}
    soft = base.model_copy(update=softest)
    place = np.argmax(shapes.softness) / len(shapes.softness)
    for curl in (shapes.base_curls_per_m[0], shapes.base_curls_per_m[-1]):
        known = np.asarray(plate_rises(wanted, film, soft, curl)) - shapes.at(curl)[0]
        found = shapes.of_base(curl, float(place)) / max(shapes.softness)
        assert np.abs(found - known).max() < 1e-5
    assert np.abs(known).max() > 0.05


def test_film_that_finds_no_shape_is_never_sharp() -> None:
    """A shape was looked for up to a curl of 4 and found up to 1, beyond which a quarter of the films lies."""
    wanted = job(**ONE)
    made = designed(wanted)[0]
    assert made.sag is not None
    flat = ((0.0,) * HEIGHT_CELLS,) * HEIGHT_CELLS
    films = tuple(CurledFilm(float(k), 0.0, float(k), flat) for k in (0, 1))
    sag = replace(
        made.sag,
        curled=films,
        curl_range_per_m=(0.0, 0.0, 2.0),
        sought_per_m=(0.0, 4.0),
        warm=None,
        bases=None,
    )
    whole = replace(sag, sought_per_m=(0.0, 1.0))
    known, every = (curl_shapes(one) for one in (sag, whole))
    assert known is not None
    assert every is not None
    assert (known.known_per_m, every.known_per_m) == ((-math.inf, 1.0), (-math.inf, math.inf))
    rates = [sharp_share(wanted, replace(made, sag=one)).most.value for one in (sag, whole)]
    # triangular, likeliest at 0, ending at 2: (2 - 1)² / (2 x 2) lies above 1
    assert rates[0] == pytest.approx(0.75 * rates[1], abs=0.02)
    assert rates[1] > 0.5


def test_where_no_other_curl_finds_a_shape_the_usual_film_does_not_speak_for_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def none(*_: object) -> None:
        raise NotConverged("no shape")

    monkeypatch.setattr("holders.design.held.film_ranges._bent", none)
    wanted = job(**ONE)
    made = designed(wanted)[0]
    assert made.sag is not None
    assert [film.across_per_m for film in made.sag.curled] == [wanted.base.curl_per_m]
    made = replace(
        made, sag=replace(made.sag, warm=None)
    )  # whose shape is another's: it is looked for by itself
    shapes = curl_shapes(made.sag)
    assert shapes is not None
    usual = wanted.base.curl_per_m
    assert [shapes.knows(curl) for curl in (usual - 0.5, usual, usual + 0.5)] == [False, True, False]
    assert sharp_share(wanted, made).most.value < 0.1


def test_a_lifted_lid_tilts_as_far_as_it_has_room() -> None:
    wanted = job(**ONE)
    made = designed(wanted)[0]
    assert made.sag is not None
    flat = ((0.0,) * HEIGHT_CELLS,) * HEIGHT_CELLS
    films = tuple(CurledFilm(float(k), 0.0, float(k), flat, lid=LidRest(0.1, 0.1, 0.2, 0.4)) for k in (0, 1))
    span = 0.0, 0.5, 1.0
    for room, most in ((np.inf, 0.4), (0.5, 0.1), (0.4, 0.0), (0.0, 0.0)):
        sag = replace(made.sag, curled=films, curl_range_per_m=span, warm=None, bases=None, lid_room_mm=room)
        heights = np.array(list(films_by_curl(replace(made, sag=sag))))
        assert heights.max() == pytest.approx(most, abs=0.1 * most + 1e-12)
        assert heights.min() == pytest.approx(-most, abs=0.1 * most + 1e-12)
        assert heights.mean() == pytest.approx(0.0, abs=1e-12)  # its middle stays where it is
