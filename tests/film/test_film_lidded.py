"""A lid that weighs something, against an independent shell code; and what must hold for any lid."""

from __future__ import annotations

import json
import math
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from holders.film.hold import Hold, MagnetPairs
from holders.film.lidded import POLISH, _polished, raised, tilt_bound_mm
from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.ranges import curl_shapes
from holders.film.solver.interior import Effort
from holders.film.surface import solve_surface
from tests.tolerance import within

# a geometrically exact thin shell on bicubic Hermite elements, with its own contact: tests/simulators/lidded_shell.py
CASES: dict[str, Any] = json.loads(
    (Path(__file__).parents[1] / "simulators" / "lidded_cases.json").read_text()
)
LEVEL = [name for name, case in CASES.items() if not any(case["lid"]["centre_mm"])]
SHORT = ["6x9-up-light", "4x5-both-heavy", "5x7-down", "8x10-both", "6x9-rests"]


def case(name: str) -> tuple[Sheet, Support]:
    film, lid = CASES[name]["film"], CASES[name]["lid"]
    sheet = Sheet(
        width_mm=film["x_mm"],
        height_mm=film["y_mm"],
        thickness_mm=film["thickness_mm"],
        modulus_mpa=film["youngs_mpa"],
        poisson=film["poisson"],
        density_kg_m3=film["density_kg_m3"],
        curl_x_per_m=film["curl_x_per_m"],
        curl_y_per_m=film["curl_y_per_m"],
        emulsion="up",  # positive curl lifts the edges there as well
    )
    support = Support(
        kind=Kind.LID,
        lips=Lips.all_round(CASES[name]["ledge_lip_mm"]),
        lid_lips=Lips.all_round(lid["lip_mm"]),
        lid_play_mm=lid["play_mm"],
        ledge_height_mm=30.0,
        hold=Hold(weight_n=lid["weight_n"]),
    )
    return sheet, support


def agrees(name: str) -> Surface:
    found, known = solve_surface(*case(name)), CASES[name]["result"]
    assert found.lid is not None
    assert abs(found.lid.rise_mm - known["lift_mm"]) <= max(0.02, 0.03 * known["lift_mm"])
    assert abs(found.max_rise_mm - known["highest_mm"]) <= max(0.01, 0.02 * known["highest_mm"])
    return found


@pytest.mark.parametrize("name", SHORT)
def test_lift_and_highest_point_are_those_of_the_shell(name: str) -> None:
    agrees(name)


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(set(LEVEL) - set(SHORT)))
def test_every_level_lid_of_the_shell(name: str) -> None:
    agrees(name)


def test_a_tilted_lid_stays_within_the_bound_stated_for_it() -> None:
    """Its weight off the middle: the film lies within one rise of where the level lid has it."""
    found, known = solve_surface(*case("4x5-tilted")), CASES["4x5-tilted"]["result"]
    assert found.lid is not None
    bound = tilt_bound_mm(found.lid.rise_mm)
    assert abs(known["tilt_x_mm"]) + abs(known["tilt_y_mm"]) <= bound
    assert abs(known["highest_mm"] - found.max_rise_mm) <= bound
    assert found.lid.rise_mm == pytest.approx(known["lift_mm"], abs=0.02)


def test_push_and_weight_are_in_balance_and_a_heavier_lid_rises_less() -> None:
    sheet, support = case("5x7-up-light")
    rises = []
    for weight in (0.05, 0.2, 0.6, 2.0):
        film = solve_surface(sheet, support.model_copy(update={"hold": Hold(weight_n=weight)}))
        assert film.lid is not None
        rises.append(film.lid.rise_mm)
        if film.lid.rise_mm:
            assert film.pressed_down_n == pytest.approx(weight, rel=6e-3)
            assert film.lid.unbalanced <= 5e-3
        else:
            assert film.lid.needed_n <= weight
    assert rises == sorted(rises, reverse=True)
    assert rises[-1] == 0.0
    assert rises[0] > 0.1


def test_just_enough_weight_keeps_it_down() -> None:
    sheet, support = case("4x5-up-light")
    needed = solve_surface(sheet, support).lid.needed_n
    enough = solve_surface(sheet, support.model_copy(update={"hold": Hold(weight_n=1.001 * needed)}))
    assert enough.lid is not None
    assert enough.lid.rise_mm == 0.0
    assert enough.lid.needed_n == pytest.approx(needed, rel=1e-6)


def test_flat_film_without_weight_lifts_nothing_and_a_lid_without_hold_cannot_move() -> None:
    sheet, support = case("4x5-up-light")
    flat = sheet.model_copy(update={"curl_x_per_m": 0.0, "curl_y_per_m": 0.0, "density_kg_m3": 1.0})
    light = solve_surface(flat, support.model_copy(update={"hold": Hold(weight_n=0.02)}))
    assert light.lid is not None
    assert light.lid.rise_mm == 0.0
    assert solve_surface(sheet, support.model_copy(update={"hold": None})).lid is None


@pytest.mark.parametrize("start", [0.1, 0.45, 0.6, 1.0])
def test_a_push_that_falls_ever_more_steeply_is_balanced_within_the_work_allowed(start: float) -> None:
    """Made up so that push and weight are equal at 0.5 mm; a step that keeps one end for ever does not get there."""
    asked = []

    def at(rise: float, resolution: int) -> Any:
        asked.append(resolution)
        return SimpleNamespace(pressed_down_n=0.2 * math.exp(1.0 - math.exp(20.0 * (rise - 0.5))))

    rise, _, off = _polished(Hold(weight_n=0.2), at, 12, start, None)
    assert rise == pytest.approx(0.5, abs=5e-4)
    assert off <= 5e-3
    assert len(asked) < POLISH


def test_catches_stop_a_cover() -> None:
    sheet, support = case("5x7-down")
    cover = support.model_copy(
        update={"kind": Kind.COVER, "lid_lips": None, "hold": Hold(weight_n=0.01, most_rise_mm=0.3)}
    )
    film = solve_surface(sheet, cover)
    assert film.lid is not None
    assert film.lid.rise_mm == 0.3
    assert film.max_rise_mm == pytest.approx(0.3, abs=0.005)
    stopped = solve_surface(sheet, raised(cover.model_copy(update={"hold": None}), 0.3))
    assert film.max_sag_mm == pytest.approx(stopped.max_sag_mm, abs=1e-3)


def test_magnets_hold_what_they_cannot_fetch() -> None:
    """Down they hold; lifted, the same magnets are too far off: both are equilibria, and that is said."""
    sheet, support = case("5x7-down")
    needed = solve_surface(sheet, support).lid.needed_n
    pairs = MagnetPairs(pairs=2, diameter_mm=4.0, thickness_mm=1.0, gap_mm=0.2)
    hold = Hold(weight_n=0.002, magnets=pairs)
    assert hold.force_n() > needed
    film = solve_surface(sheet, support.model_copy(update={"hold": hold}))
    assert film.lid is not None
    assert film.lid.rise_mm == 0.0
    opens = film.lid.opens_mm
    assert opens is None or solve_surface(
        sheet, raised(support.model_copy(update={"hold": None}), opens)
    ).pressed_down_n == pytest.approx(hold.force_n(opens), rel=0.05)


@pytest.mark.parametrize("curl_per_m", [21.0, 24.27])
def test_a_strip_of_strong_curl_under_a_pressed_cover_is_found_within_the_usual_work(
    curl_per_m: float,
) -> None:
    """It is followed down from a little room; at rest it is the film that is found from nothing, with other work."""
    support = Support(
        kind=Kind.COVER,
        ledge_height_mm=3.2,
        lips=Lips(left_mm=5.25, right_mm=5.25, head_mm=2.0, foot_mm=2.0),
        hold=Hold(weight_n=0.588528, most_rise_mm=0.65),
    )
    strip = Sheet(  # six frames of 35 mm, triacetate
        width_mm=34.98, height_mm=228.0, thickness_mm=0.13, modulus_mpa=3800.0, poisson=0.39, density_kg_m3=1290.0,
        curl_x_per_m=curl_per_m, emulsion="down",
    )  # fmt: skip
    (found,) = curl_shapes(strip, support, [(curl_per_m, 0.0)])
    assert found.lid is not None
    assert found.lid.needed_n > support.hold.weight_n  # type: ignore[union-attr]
    still = support.model_copy(update={"hold": None, "lid_play_mm": found.lid.rise_mm})
    anew = solve_surface(strip, still, tol=1e-6, resolution=8, effort=Effort(100.0))
    within(float(np.abs(found.z - anew.z).max()), 0.002)
    if found.lid.rise_mm < 0.65:
        assert found.lid.unbalanced < 5e-3
        assert anew.pressed_down_n == pytest.approx(0.588528, rel=0.02)
