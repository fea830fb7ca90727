"""The energy's gradient and tangent against differences, in every class and under every edge condition."""

from __future__ import annotations

import numpy as np
import pytest

from holders.film.models import Kind, Lips, Membrane, Sheet, Support
from holders.film.solver.basis import Pieces, build, quadrature
from holders.film.solver.boundary_value_problem import BoundaryValueProblem, pose
from holders.film.solver.equilibrium import Equilibrium
from holders.film.solver.grid import plan
from holders.film.solver.interior import Minimum
from holders.film.solver.stability import softest
from tests.tolerance import within

SHEET = Sheet(
    width_mm=120,
    height_mm=100,
    thickness_mm=0.19,
    modulus_mpa=4500,
    poisson=0.38,
    density_kg_m3=1390,
    curl_x_per_m=1.0,
    curl_y_per_m=-0.5,
)
SUPPORTS = {
    "ledge": Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0)),
    "uneven": Support(kind=Kind.LEDGE, lips=Lips(left_mm=3.0, right_mm=5.0, head_mm=4.0, foot_mm=4.0)),
    "gripped": Support(kind=Kind.GRIPPED, lips=Lips.all_round(4.0)),
    "held all round": Support(kind=Kind.GRIPPED_HELD, lips=Lips.all_round(4.0)),
    "held at two ends": Support(kind=Kind.GRIPPED_HELD, lips=Lips(left_mm=4.0, right_mm=4.0)),
    "HELD": Support(kind=Kind.SIMPLY_SUPPORTED, membrane=Membrane.HELD),
    "STRAIGHT": Support(kind=Kind.CLAMPED, membrane=Membrane.STRAIGHT),
}


def posed(name: str, classes: tuple[str, str], moulded: bool = False) -> BoundaryValueProblem:
    sheet = SHEET.model_copy(update={"moulded": moulded})
    layout = plan(sheet, SUPPORTS[name], 6)
    own = tuple(
        c if axis.symmetric else "none" for c, axis in zip(classes, (layout.x, layout.y), strict=True)
    )
    return pose(layout, sheet, own, False)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", list(SUPPORTS))
@pytest.mark.parametrize("classes", [("even", "even"), ("odd", "even"), ("none", "none")])
def test_derivatives(name: str, classes: tuple[str, str]) -> None:
    one = posed(name, classes, moulded=classes == ("even", "even"))
    rng = np.random.default_rng(7)
    c = rng.normal(size=one.plate.size) * 3.0
    direction = rng.normal(size=one.plate.size)
    direction /= np.linalg.norm(direction)
    h = 1e-4
    here = one.problem.state(c)
    assert here.energy == pytest.approx(one.problem.energy(c), rel=1e-12)
    slope = (one.problem.energy(c + h * direction) - one.problem.energy(c - h * direction)) / (2 * h)
    assert here.gradient @ direction == pytest.approx(slope, rel=1e-5)
    ahead, behind = one.problem.state(c + h * direction), one.problem.state(c - h * direction)
    change = (ahead.gradient - behind.gradient) / (2 * h)
    tangent = one.problem.tangent(here)
    np.testing.assert_allclose(tangent @ direction, change, rtol=0, atol=1e-6 * np.abs(change).max())
    np.testing.assert_allclose(tangent, tangent.T, rtol=0, atol=1e-9 * np.abs(tangent).max())


def test_classes_see_the_same_tangent() -> None:
    """A symmetric shape judged class by class and all at once has the same softest disturbance."""
    even = posed("HELD", ("even", "even"))
    whole = posed("HELD", ("none", "none"))
    rng = np.random.default_rng(3)
    c = rng.normal(size=even.plate.size) * 0.5
    same = whole.plate.fit(even.plate.rows(*whole.plate.points) @ c)
    results = []
    for one, unknowns in ((even, c), (whole, same)):
        state = one.problem.state(unknowns)
        free = Minimum(unknowns, np.zeros(one.touch.count), state, 0, 0.0)
        results.append(softest(Equilibrium(one, free))[0].stiffness)
    assert results[0] == pytest.approx(results[1], rel=1e-6)
    assert even.problem.energy(c) == pytest.approx(whole.problem.energy(same), rel=1e-8)


def test_rigid_motion_costs_only_weight() -> None:
    one = posed("ledge", ("none", "none"))
    lift = one.plate.fit(np.ones(len(one.plate.points[0])))
    np.testing.assert_allclose(one.plate.rows(*one.plate.points) @ lift, 1.0, atol=1e-9)
    assert within(lift @ one.plate.bending @ lift, 1e-9)
    area = SHEET.width_mm * SHEET.height_mm / 100.0**2
    assert one.plate.load @ lift == pytest.approx(area, rel=1e-9)


def test_pieces_join_smoothly_to_the_second_derivative() -> None:
    basis = build(Pieces((-1.0, -0.9, 0.8, 1.0), (4, 8, 4), False), "none", ("clamped", "loose"))
    for cut in (-0.9, 0.8):
        for k in range(3):
            before, after = basis.at(np.array([cut - 1e-10]), k), basis.at(np.array([cut + 1e-10]), k)
            np.testing.assert_allclose(before, after, atol=1e-5)
    third = [basis.at(np.array([0.8 + s * 1e-10]), 3) for s in (-1, 1)]
    assert np.abs(third[0] - third[1]).max() > 1.0  # the shear may jump where the lip ends
    assert within(basis.at(np.array([-1.0])), 1e-10)
    assert within(basis.at(np.array([-1.0]), 1), 1e-9)
    assert not basis.at(np.array([-1.2, 1.1])).any()  # outside there is nothing


def test_quadrature_of_a_mirrored_line_is_that_of_the_whole() -> None:
    half, whole = Pieces((0.0, 0.9, 1.0), (8, 4), True), Pieces((-1.0, -0.9, 0.9, 1.0), (4, 8, 4), False)
    for power in (0, 2, 8):
        one, two = (float(w @ x**power) for x, w in (quadrature(half), quadrature(whole)))
        assert one == pytest.approx(two, rel=1e-12)
        assert one == pytest.approx(2 / (power + 1), rel=1e-12)
