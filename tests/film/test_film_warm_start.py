"""A draft that starts from the film found a moment ago: the same film as one looked for anew, with less work."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from holders.film.models import Kind, Lips, Membrane, Sheet, Support
from holders.film.solver import branches
from holders.film.solver.equilibrium import Equilibrium
from holders.film.solver.grid import plan
from holders.film.solver.interior import Effort
from holders.film.solver.stability import STABLE, softest
from holders.film.surface import NEAR_MM, WarmStart, solve_surface

SHEET = Sheet(
    width_mm=203.0, height_mm=254.0, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
)
LEDGE = Support(kind=Kind.LEDGE, lips=Lips.all_round(3.0), ledge_height_mm=30.0)
LID = LEDGE.model_copy(update={"kind": Kind.LID, "lid_play_mm": 0.1})
CURLED = SHEET.model_copy(update={"curl_x_per_m": 1.2, "emulsion": "up"})
ARCHED = CURLED.model_copy(update={"emulsion": "down"})
BOTH_WAYS = SHEET.model_copy(update={"curl_x_per_m": 4.0, "curl_y_per_m": 3.0, "emulsion": "up"})


def lips(support: Support, mm: float) -> Support:
    return support.model_copy(update={"lips": Lips.all_round(mm)})


@pytest.mark.parametrize("support", [LEDGE, LID], ids=["ledge", "lid"])
@pytest.mark.parametrize(
    "sheet", [SHEET, CURLED, ARCHED, BOTH_WAYS], ids=["flat", "trough", "arch", "both ways"]
)
def test_the_same_film_as_one_looked_for_anew(sheet: Sheet, support: Support) -> None:
    recent = WarmStart()
    solve_surface(sheet, support, recent=recent, resolution=8)
    for mm in (3.1, 2.2, 4.9):
        near, far = Effort(50.0), Effort(50.0)
        followed = solve_surface(sheet, lips(support, mm), recent=recent, resolution=8, effort=near)
        anew = solve_surface(sheet, lips(support, mm), resolution=8, effort=far)
        assert followed.branch.name == anew.branch.name
        assert followed.energy_nmm == pytest.approx(anew.energy_nmm, rel=1e-5)
        # contact points between are looked for from elsewhere
        np.testing.assert_allclose(followed.z, anew.z, atol=2e-3)
        # curled both ways it comes to another branch, so all are looked for anew
        if sheet in (CURLED, ARCHED):
            assert near.left > far.left


def test_too_far_or_too_different_is_looked_for_anew() -> None:
    recent = WarmStart()
    solve_surface(CURLED, LEDGE, recent=recent, resolution=8)
    assert recent.near(CURLED, lips(LEDGE, 3.0 + NEAR_MM - 0.01), 8)
    assert recent.near(CURLED, LEDGE.model_copy(update={"ledge_height_mm": 25.0}), 8)
    assert not recent.near(CURLED, lips(LEDGE, 3.01 + NEAR_MM), 8)
    assert not recent.near(CURLED, LEDGE, 9)
    assert not recent.near(ARCHED, LEDGE, 8)
    changes: list[dict[str, object]] = [
        {"kind": Kind.LID},
        {"lid_play_mm": 0.2},
        {"lid_lips": Lips.all_round(3.0)},
        {"membrane": Membrane.HELD},
        {"lips": Lips(left_mm=3.0, right_mm=3.0)},  # two edges come free
    ]
    for change in changes:
        assert not recent.near(CURLED, LEDGE.model_copy(update=change), 8), change
    assert not WarmStart().near(CURLED, LEDGE, 8)


def test_many_small_steps_do_not_lead_far_from_where_it_was_looked() -> None:
    recent = WarmStart()
    looked = []
    for k in range(5):
        support = lips(LEDGE, 3.0 + 1.25 * k)
        looked.append(not recent.near(CURLED, support, 8))
        solve_surface(CURLED, support, recent=recent, resolution=8)
    assert looked == [True, False, False, True, False]


def test_nor_does_a_step_back_across_go_further_than_one_may() -> None:
    recent = WarmStart()
    for mm in (5.0, 2.1):
        solve_surface(CURLED, lips(LEDGE, mm), recent=recent, resolution=8)
    assert recent.near(CURLED, lips(LEDGE, 5.0), 8)
    assert not recent.near(CURLED, lips(LEDGE, 7.9), 8)  # near to where it was looked for, not to the last


def test_following_in_vain_takes_nothing_from_looking_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    recent = WarmStart()
    solve_surface(CURLED, LEDGE, recent=recent, resolution=8)
    plain, after = Effort(50.0), Effort(50.0)
    solve_surface(CURLED, lips(LEDGE, 3.5), resolution=8, effort=plain)
    monkeypatch.setattr(branches, "same", lambda *_: True)  # merged, as one branch that tips onto another
    monkeypatch.setattr(branches, "combinations", lambda found, _: [(found[0], found[0])])
    solve_surface(CURLED, lips(LEDGE, 3.5), recent=recent, resolution=8, effort=after)
    assert after.left == plain.left


def test_where_following_fails_it_is_looked_for_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    recent = WarmStart()
    solve_surface(CURLED, LEDGE, recent=recent, resolution=8)
    anew = solve_surface(CURLED, lips(LEDGE, 3.5), resolution=8)
    judged, asked = branches.Found.judged, []

    def first_unstable(rest: branches.Equilibrium, *enough: float) -> branches.Found:
        found = judged(rest, *enough)
        asked.append(rest)
        if len(asked) == 1:
            object.__setattr__(found, "soft", tuple(type(s)(-1.0, s.shape, s.classes) for s in found.soft))
        return found

    monkeypatch.setattr(branches.Found, "judged", first_unstable)
    found = solve_surface(CURLED, lips(LEDGE, 3.5), recent=recent, resolution=8)
    assert len(asked) > 1
    assert found.energy_nmm == anew.energy_nmm
    asked.clear()

    def lost(*_: object) -> branches.Equilibrium:
        raise branches.NotConverged("lost on the way")

    near = recent.near(CURLED, LEDGE, 8)
    solver = branches.Solver(near[0].posed.layout, CURLED, 1e-8, Effort(50.0))
    monkeypatch.setattr(branches.Solver, "solve_equilibrium", lost)
    assert branches._from_near(near, solver) == []


def test_forces_of_the_film_before_spare_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    def steps() -> int:
        recent, total = WarmStart(), 0
        solve_surface(SHEET, lips(LID, 2.0), recent=recent, resolution=8, tol=1e-4)
        for mm in (2.1, 2.2, 2.3):
            total += solve_surface(SHEET, lips(LID, mm), recent=recent, resolution=8, tol=1e-4).iterations
        return total

    known = steps()
    monkeypatch.setattr(Equilibrium, "forces", lambda *_: None)
    assert known < 0.8 * steps()


def test_forces_are_for_the_same_contacts_only() -> None:
    recent = WarmStart()
    solve_surface(SHEET, LEDGE, recent=recent, resolution=8)
    (rest,) = recent.near(SHEET, LEDGE, 8)
    posed = rest.posed
    forces = rest.forces(posed)
    assert forces is not None
    assert len(forces) == len(posed.contacts)
    assert forces.sum() == pytest.approx(rest.minimum.force.sum())
    assert rest.forces(replace(posed, contacts=posed.contacts[1:])) is None
    assert rest.forces(replace(posed, classes=("none", "none"))) is None
    # as many, but others: a ledge's lip grows past the lid's, or is drawn back behind it
    pressed = LID.model_copy(update={"lid_lips": Lips.all_round(2.5)})
    recent = WarmStart()
    solve_surface(SHEET, pressed, recent=recent, resolution=8)
    (rest,) = recent.near(SHEET, pressed, 8)
    there = branches.Solver(plan(SHEET, lips(pressed, 2.4), 8), SHEET, 1e-8, Effort(50.0))
    assert len(there.pose().contacts) == len(rest.posed.contacts)
    assert rest.forces(there.pose()) is None


def test_the_same_film_again_is_not_solved_again() -> None:
    recent, effort = WarmStart(), Effort(50.0)
    first = solve_surface(CURLED, LEDGE, recent=recent, resolution=8, tol=1e-5)
    left = effort.left
    assert solve_surface(CURLED, LEDGE, recent=recent, resolution=8, tol=1e-4, effort=effort) is first
    assert effort.left == left
    closer = solve_surface(CURLED, LEDGE, recent=recent, resolution=8, tol=1e-8, effort=effort)
    assert closer is not first
    assert closer.residual <= 1e-8
    assert effort.left < left
    other = LEDGE.model_copy(update={"lid_play_mm": 0.2})
    assert solve_surface(CURLED, other, recent=recent, resolution=8, tol=1e-4) is not closer


@pytest.mark.parametrize(
    ("emulsion", "curls", "kind"),
    [("up", (4, 6), ("odd", "odd")), ("up", (8, 6), ("odd", "even")), ("down", (6, 3), ("odd", "odd"))],
)
def test_what_is_only_asked_to_be_stable_is_found_unstable_in_any_symmetry(
    emulsion: str, curls: tuple[float, float], kind: tuple[str, str]
) -> None:
    sheet = SHEET.model_copy(
        update={"curl_x_per_m": curls[0], "curl_y_per_m": curls[1], "emulsion": emulsion}
    )
    solver = branches.Solver(plan(sheet, LEDGE, 6), sheet, 1e-6, Effort(50.0))
    rests = [solver.solve_equilibrium(start) for start in branches._cold(solver)]
    tipping = [rest for rest in rests if softest(rest)[0].stiffness < STABLE]
    assert tipping
    for rest in tipping:
        known = softest(rest)
        assert all(one.classes != rest.posed.classes for one in known)  # in its own symmetry it is stable
        assert known[0].classes == kind
        assert softest(rest, STABLE)[0].stiffness < STABLE
    for rest in rests:
        assert (softest(rest, STABLE)[0].stiffness > STABLE) == (softest(rest)[0].stiffness > STABLE)
