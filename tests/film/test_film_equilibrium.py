"""What the solver is made of: sums over points, the raised system, starts and contacts, work bounds, mirror images."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from holders.core.errors import NotConverged
from holders.film.models import Kind, Lips, Sheet, Support
from holders.film.solver import contact
from holders.film.solver.basis import build
from holders.film.solver.boundary_value_problem import cubic_roots, pose, starts
from holders.film.solver.branches import find_branches
from holders.film.solver.equilibrium import DEEPEST, Equilibrium, Solver, Start, freed, one_sided, same
from holders.film.solver.grid import plan
from holders.film.solver.interior import Effort, minimise
from holders.film.solver.linear import definite, factor_solve, raised_factor
from holders.film.solver.lines import contraction, film_line, pair
from holders.film.surface import evened, solve_surface

SHEET = Sheet(
    width_mm=101, height_mm=126, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
)
SQUARE = SHEET.model_copy(update={"width_mm": 120.0, "height_mm": 120.0})
LEDGE = Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0), ledge_height_mm=30.0)
UNEVEN = LEDGE.model_copy(update={"lips": Lips(left_mm=3.0, right_mm=5.0, head_mm=4.0, foot_mm=2.0)})


def test_contraction_is_the_plain_sum_over_all_points() -> None:
    rng = np.random.default_rng(5)

    def drawn() -> tuple[np.ndarray, ...]:
        return tuple(rng.normal(size=s) for s in ((7, 3), (7, 2), (6, 4), (6, 5)))

    several = [[drawn(), drawn()], [drawn(), drawn()]]  # two terms of each of two fields
    fields = rng.normal(size=(2, 7, 6))
    plain = sum(
        np.einsum("xy,xi,xj,ya,yb->iajb", field, *term)
        for field, terms in zip(fields, several, strict=True)
        for term in terms
    )
    pairs = tuple(tuple((pair(f, g), pair(h, k)) for f, g, h, k in terms) for terms in several)
    made = contraction(pairs, (3, 2, 4, 5)).of(fields)
    np.testing.assert_allclose(made, plain.reshape(12, 10), rtol=1e-12, atol=1e-12)


def test_raised_system_is_the_plain_one_where_that_is_definite() -> None:
    def solved(matrix: np.ndarray, side: np.ndarray) -> np.ndarray:
        return factor_solve(raised_factor(matrix), side)

    rng = np.random.default_rng(6)
    root = rng.normal(size=(8, 8))
    a, right = root @ root.T + np.eye(8), rng.normal(size=8)
    assert definite(a)
    np.testing.assert_allclose(solved(a, right), np.linalg.solve(a, right), rtol=1e-10)
    bent = a - 1.5 * np.linalg.eigvalsh(a)[0] * np.eye(8)
    assert not definite(bent)
    assert solved(bent, right) @ right > 0  # still a direction downhill
    with pytest.raises(NotConverged, match="finite"):
        solved(np.full((3, 3), np.nan), np.ones(3))


def test_basis_is_orthonormal_in_mass_plus_bending() -> None:
    layout = plan(SHEET, UNEVEN, 8)
    line = film_line(layout.x, "none")
    value, _, second = line.values
    gram = value.T @ (line.weights[:, None] * value) + second.T @ (line.weights[:, None] * second)
    np.testing.assert_allclose(
        gram, np.eye(len(gram)), atol=1e-6
    )  # rounding of the tilt, which bends nothing
    assert build(layout.x.pieces, "none").size == line.line.size


def test_a_freed_start_touches_nothing_and_stays_near() -> None:
    lid = LEDGE.model_copy(update={"kind": Kind.LID, "lid_play_mm": 0.3})
    here = pose(plan(SHEET, lid, 8), SHEET, ("even", "even"), False)
    rng = np.random.default_rng(8)
    for _ in range(5):
        shape = rng.normal(size=here.plate.size)
        made = freed(here, shape)
        assert (here.touch.rows @ made + here.touch.room).min() > 0


def test_a_start_inside_the_ledge_comes_to_the_same_rest() -> None:
    here = pose(plan(SHEET, LEDGE, 8), SHEET, ("even", "even"), False)
    clear = freed(here, starts(here)[0])
    sunk = clear - 3.0 * here.plate.fit(np.ones(len(here.plate.points[0])))
    assert (here.touch.rows @ sunk + here.touch.room).min() < -1
    one, two = (minimise(here.problem, here.touch, s, tol=1e-9, room=0.01) for s in (clear, sunk))
    assert two.state.energy == pytest.approx(one.state.energy, rel=1e-7)
    assert (here.touch.rows @ two.c + here.touch.room).min() > -1e-9


def test_nothing_reaches_between_the_contact_points() -> None:
    """On four times as many points each way the film reaches into ledge or glass by a micrometre at most."""
    curled = SHEET.model_copy(update={"curl_x_per_m": 4.0, "emulsion": "up"})
    low = UNEVEN.model_copy(update={"ledge_height_mm": 0.4})
    layout = plan(curled, low, 10)
    solver = Solver(layout, curled, 1e-8, Effort(50.0))
    here = solver.pose()
    rest = solver.solve_equilibrium(Start(here, starts(here)[0], False))
    left = contact.missed(layout, here.classes, rest.posed.floor, 4, rest.minimum.c, 4 * DEEPEST)
    assert left.count == 0
    assert rest.minimum.force.min() >= 0


def test_missed_points_are_those_reached_into() -> None:
    layout = plan(SHEET, LEDGE, 8)
    here = pose(layout, SHEET, ("even", "even"), False)
    level = -2.0 * here.plate.fit(np.ones(len(here.plate.points[0])))
    found = contact.missed(layout, here.classes, False, 2, level, DEEPEST)
    points = contact.net(layout.outline, here.classes, 2)
    assert found.count == points.ledge.sum()
    np.testing.assert_allclose(found.rows @ level + found.room, -2.0, atol=1e-8)
    assert contact.missed(layout, here.classes, False, 2, -level, DEEPEST).count == 0


def test_lips_made_alike_keep_their_sum() -> None:
    made = evened(Lips(left_mm=3.0, right_mm=5.0, head_mm=4.0))
    assert made == Lips(left_mm=4.0, right_mm=4.0, head_mm=4.0)


@pytest.mark.parametrize("curl", [0.0, 2.0])
def test_unlike_lips_are_found_the_same_with_and_without_scouts(curl: float) -> None:
    sheet = SHEET.model_copy(update={"curl_x_per_m": curl, "emulsion": "up"})
    direct = find_branches(plan(sheet, UNEVEN, 8), [], sheet, 1e-8, Effort(100.0))
    scouted = solve_surface(sheet, UNEVEN, resolution=8)
    unit = sheet.rigidity_nmm * sheet.thickness_mm**2 / sheet.width_mm**2
    assert scouted.energy_nmm == pytest.approx(direct[0].energy * unit, rel=1e-5)


def test_work_is_bounded() -> None:
    tough = SHEET.model_copy(update={"curl_x_per_m": 5.0, "curl_y_per_m": 4.0, "emulsion": "up"})
    with pytest.raises(NotConverged, match="did not converge within the bounds of work"):
        solve_surface(tough, UNEVEN, effort=Effort(0.05))
    shared = Effort(50.0)
    solve_surface(tough, UNEVEN, effort=shared)
    assert 0 < shared.left < 50


def test_mirror_images_are_one_shape_and_told() -> None:
    here = pose(plan(SHEET, LEDGE, 8), SHEET, ("none", "even"), False)
    px, py = here.plate.points
    lean = here.plate.fit(1.0 + px + 0.2 * py**2)
    other = here.plate.fit(1.0 - px + 0.2 * py**2)
    upright = here.plate.fit(1.0 + 0.3 * px**2)
    known = minimise(here.problem, here.touch, freed(here, upright), tol=1e-6)
    one, two, three = (
        Equilibrium(here, known.__class__(c, known.force, known.state, 0, 0.0))
        for c in (lean, other, upright)
    )
    assert same(one, two)
    assert not same(one, three)
    assert one_sided(one)
    assert not one_sided(three)


def test_a_square_that_rolls_up_either_way_is_one_branch() -> None:
    """Equal curls on a square: rolled about x or about y is the same shape turned, and no branch of its own."""
    surface = solve_surface(
        SQUARE.model_copy(update={"curl_x_per_m": 5.0, "curl_y_per_m": 5.0, "emulsion": "up"}), LEDGE
    )
    assert surface.branch.mirrored
    assert all(b.energy_nmm > surface.energy_nmm * 0.99 for b in surface.other_branches)
    oblong = solve_surface(
        SHEET.model_copy(update={"curl_x_per_m": 5.0, "curl_y_per_m": 5.0, "emulsion": "up"}), LEDGE
    )
    assert oblong.other_branches  # here the two differ
    assert not oblong.branch.mirrored


def test_one_surface_is_quick() -> None:
    """In work, which is the same on every machine: 0.126 billion multiplications took 9 ms, of the 50 ms meant."""
    curled = SHEET.model_copy(update={"curl_x_per_m": 1.0, "emulsion": "up"})
    effort = Effort(1.0)
    solve_surface(curled, LEDGE, effort=effort)
    assert 0 < 1.0 - effort.left < 0.2


@pytest.mark.parametrize(
    ("a", "b", "c"), [(2.0, -3.0, 0.4), (2.0, 3.0, -5.0), (1.0, 0.0, 8.0), (4.0, -1.0, 0.0)]
)
def test_cubic_roots_are_those_of_a_general_solver(a: float, b: float, c: float) -> None:
    roots = np.roots([a, 0.0, b, c])
    expected = np.sort(roots.real[np.abs(roots.imag) < 1e-9])
    np.testing.assert_allclose(np.sort(cubic_roots(a, b, c)), expected, atol=1e-12)


def test_what_rates_are_linear_in_gives_the_same_rates() -> None:
    here = pose(plan(SHEET, LEDGE, 6), SHEET, ("even", "even"), False)
    stress = here.problem.stress
    assert stress.coupled is not None
    c = np.random.default_rng(9).normal(size=here.plate.size)
    np.testing.assert_allclose(stress.coupled @ c, stress.rate(here.plate, here.plate.slope(c)), atol=1e-10)
    state = here.problem.state(c)
    plain = replace(here.problem, stress=replace(stress, coupled=None))
    np.testing.assert_allclose(here.problem.tangent(state), plain.tangent(plain.state(c)), atol=1e-9)
