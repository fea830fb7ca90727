"""The reference shell checked against plate tables, closed forms, balance of forces, and finer meshes."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.sparse import csr_matrix

from tests.simulators.lidded_shell import Film, Lid, Mesh, Model
from tests.simulators.shell.least_energy import least_energy

CASES: dict[str, Any] = json.loads((Path(__file__).parent / "lidded_cases.json").read_text())

# Simply supported square plate, edges free to move in the plane, nu = 0.3: centre deflection over thickness at
# Q = q a^4 / (E t^4). Source: a separate Ritz computation (no publication), section 1.5 of the project's table of
# reference values; its small-deflection end agrees with Timoshenko and Woinowsky-Krieger, "Theory of Plates and
# Shells", table 8 (0.00406, from memory): 0.00406 * 12 * (1 - 0.3^2) = 0.0443.
FREE_SQUARE = {
    1: 0.0443,
    2: 0.0886,
    5: 0.2198,
    10: 0.4290,
    20: 0.7953,
    50: 1.5608,
    100: 2.3536,
    200: 3.3794,
    500: 5.2547,
}
TRIACETATE = Film(61.5, 90.0, 0.13, 3400.0, 0.38, 1290.0)


@pytest.mark.parametrize("load", [1, 10, 100, 500])
def test_simply_supported_square_with_free_edges(load: int) -> None:
    film = Film(100.0, 100.0, 0.1, 4000.0, 0.3, 1000.0)
    pressure = load * 4000.0 * (0.1 / 100.0) ** 4
    model = Model(
        film, None, 3.0, Mesh(1, 10), quarter=True, held=True, weightless=True, pressure_mpa=pressure
    )
    state, found = model.solve("flat")
    assert found.converged
    assert state.z_mm[0, 0] / 0.1 == pytest.approx(FREE_SQUARE[load], rel=1.5e-3)


@pytest.mark.slow
@pytest.mark.parametrize("load", FREE_SQUARE)
def test_the_whole_table_of_the_free_square(load: int) -> None:
    film = Film(100.0, 100.0, 0.1, 4000.0, 0.3, 1000.0)
    pressure = load * 4000.0 * (0.1 / 100.0) ** 4
    model = Model(
        film, None, 3.0, Mesh(1, 16), quarter=True, held=True, weightless=True, pressure_mpa=pressure
    )
    assert model.solve("flat")[0].z_mm[0, 0] / 0.1 == pytest.approx(FREE_SQUARE[load], rel=1.5e-3)


@pytest.mark.parametrize("curl", [6.0, -6.0, 20.0])
def test_a_free_curled_sheet_is_a_cylinder(curl: float) -> None:
    """Curled one way only, a free sheet is stress-free on a cylinder: rise (1 - cos(k L / 2)) / k."""
    film = replace(TRIACETATE, curl_y_per_m=curl)
    model = Model(film, None, 3.0, Mesh(1, 8), quarter=True, weightless=True)
    free = np.setdiff1d(model.problem.free, [2])  # the centre's height: node 0, value, axis z
    problem = replace(model.problem, matrix=csr_matrix((0, model.size)), offset=np.zeros(0), free=free)
    found = least_energy(problem, np.zeros(model.size))
    k = curl * 1e-3
    edge = model.heights(np.array([0.0, 30.75]), np.array([45.0, 45.0])) @ found.u
    assert found.converged
    flat = model.shell.sheet.bending * k**2 / 2 * 61.5 * 90.0 / 4
    assert 0 <= found.energy < 1e-6 * flat
    assert edge == pytest.approx((1 - np.cos(k * 45.0)) / k, rel=1e-4)


@pytest.mark.parametrize(("curl", "weight", "lip"), [(4.0, 0.02, 3.0), (4.0, 0.005, 3.0), (3.0, 0.006, 5.0)])
def test_a_strip_under_a_lid_is_a_beam(curl: float, weight: float, lip: float) -> None:
    """nu = 0, ledge and lid along two edges: Euler's beam, pushed down at its tips by half the lid's weight each.

    Curvature in the span k1 = k - F c / EI; tip k1 s c / 2 + k c^2 / 2 - F c^3 / (3 EI); middle -k1 s^2 / 8. The
    beam's slopes are taken small: the slope's square (0.3 %) is the tolerance.
    """
    film = Film(60.0, 20.0, 0.13, 3400.0, 0.0, 1290.0, curl)
    lid = Lid(weight, lip, tilt=False)
    state, _ = Model(film, lid, lip, Mesh(1, 8), quarter=True, weightless=True, sides="x").solve("flat")
    stiffness, force, k, span = 3400 * 0.13**3 / 12 * 20, weight / 2, curl * 1e-3, 60 - 2 * lip
    k1 = k - force * lip / stiffness
    tip = k1 * span / 2 * lip + k * lip**2 / 2 - force * lip**3 / 3 / stiffness
    assert state.converged
    assert state.lift_mm == pytest.approx(tip, rel=5e-3)
    assert state.lowest_mm == pytest.approx(-k1 * span**2 / 8, rel=5e-3)
    assert state.lid_force_n == pytest.approx(weight, rel=1e-6)


@pytest.mark.parametrize("play", [0.0, 0.1])
def test_forces_balance(play: float) -> None:
    film = replace(TRIACETATE, curl_x_per_m=3.0)
    state, _ = Model(film, Lid(0.3, 3.0, play), 3.0, Mesh(1, 8), quarter=True).solve("roll_x")
    assert state.converged
    assert state.lid_force_n + state.rest_force_n == pytest.approx(0.3, rel=1e-5)
    assert state.ledge_force_n == pytest.approx(state.lid_force_n + film.weight_n, rel=1e-5)
    assert (state.rest_force_n > 0) == (state.lift_mm < 1e-4)
    assert state.z_mm.max() >= play - 1e-3


def test_whole_and_quarter_agree() -> None:
    film = replace(TRIACETATE, curl_x_per_m=3.0)
    whole, quarter = (
        model.read(least_energy(model.problem, model.start(start), gap_mm=5e-6), start)
        for model, start in (
            (Model(film, Lid(0.05, 3.0), 3.0, Mesh(1, 6)), "flat"),
            (Model(film, Lid(0.05, 3.0), 3.0, Mesh(1, 6), quarter=True), "roll_x"),
        )
    )
    assert whole.converged
    assert quarter.converged
    assert whole.lift_mm == pytest.approx(quarter.lift_mm, abs=4e-5)
    assert whole.energy_n_mm == pytest.approx(quarter.energy_n_mm, rel=1e-5)
    assert abs(whole.tilt_x_mm) + abs(whole.tilt_y_mm) < 1e-4


def test_a_lid_heavier_on_one_side_tilts_down_there() -> None:
    film = replace(TRIACETATE, curl_x_per_m=4.0)
    state, _ = Model(film, Lid(0.03, 3.0, centre_mm=(6.0, 0.0)), 3.0, Mesh(1, 6)).solve("flat")
    assert state.converged
    assert state.tilt_x_mm < -1e-3
    assert abs(state.tilt_y_mm) < 1e-4


@pytest.mark.parametrize("name", CASES)
def test_reference_cases_are_sound(name: str) -> None:
    """Every written case balances, and its meshes agree to 1 % or 0.01 mm, whichever is larger."""
    case = CASES[name]
    result, film, lid = case["result"], Film(**case["film"]), case["lid"]
    assert result["lid_force_n"] + result["rest_force_n"] == pytest.approx(lid["weight_n"], rel=1e-4)
    assert result["ledge_force_n"] == pytest.approx(result["lid_force_n"] + film.weight_n, rel=1e-4)
    for key, error in case["error"].items():
        assert error <= max(0.01, 0.01 * abs(result[key])), key
    for row in case["meshes"]:
        assert row["lift_mm"] == pytest.approx(result["lift_mm"], rel=0.01, abs=0.01)


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_reference_cases_come_out_again(name: str) -> None:
    case = CASES[name]
    lid = Lid(**{**case["lid"], "centre_mm": tuple(case["lid"]["centre_mm"])})
    row = case["meshes"][0]
    model = Model(
        Film(**case["film"]), lid, case["ledge_lip_mm"], Mesh(**row["mesh"]), quarter=row["quarter"]
    )
    state, _ = model.solve("flat")
    assert state.converged
    for key in ("lift_mm", "highest_mm", "lowest_mm"):
        assert getattr(state, key) == pytest.approx(row[key], abs=1e-4), key
