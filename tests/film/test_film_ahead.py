"""Films solved ahead by a helper are those that would be solved here, and where they are solved changes nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from holders.core.errors import NotConverged
from holders.core.workers import Refused, WorkerDied
from holders.film import surface
from holders.film.hold import Hold
from holders.film.lidded import Still
from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.solver.contact import rows_in
from holders.film.solver.equilibrium import Solver
from holders.film.solver.grid import plan
from holders.film.solver.interior import Effort
from holders.film.solver.plate import assemble
from holders.film.surface import solve_ahead, solve_surface

SHEET = Sheet(
    width_mm=96.0, height_mm=120.0, thickness_mm=0.18, modulus_mpa=4500.0, poisson=0.33, density_kg_m3=1390.0
)
LID = Support(kind=Kind.LID, ledge_height_mm=3.0, lips=Lips.all_round(2.0), hold=Hold(weight_n=0.3))
CURLS = (0.4, 0.8, 1.2)


class Beside:
    """A helper that answers at the second look; ``fails`` instead of doing its third order."""

    def __init__(self, fails: Callable[[], Any] | None = None) -> None:
        self.orders: list[Any] = []
        self.fails, self.looks = fails, 0

    def ask(self, task: Callable[..., Any], *order: Any) -> None:
        self.orders.append((task, order))
        self.looks = 0

    @property
    def ready(self) -> bool:
        self.looks += 1
        return self.looks > 1

    def answer(self) -> Any:
        if self.fails is not None:
            return self.fails()
        task, order = self.orders[-1]
        known = surface._place(order[0])
        found = task(*order)
        known.clear()  # it was solved in another process
        return found


@pytest.fixture(autouse=True)
def nothing_known() -> Iterator[None]:
    surface._place.cache_clear()
    yield
    surface._place.cache_clear()


def films() -> list[tuple[Sheet, Support]]:
    return [(SHEET.model_copy(update={"curl_x_per_m": curl}), LID) for curl in CURLS]


def solved() -> list[Surface]:
    return [
        solve_surface(*film, tol=1e-6, resolution=6, effort=Effort(15.0), opens=False) for film in films()
    ]


def alike(one: Surface, other: Surface) -> bool:
    arrays = ("x", "y", "z", "deflection")
    same = all(np.array_equal(getattr(one, name), getattr(other, name)) for name in arrays)
    bare = [replace(film, **dict.fromkeys(arrays, np.zeros(0))) for film in (one, other)]
    return same and repr(bare[0]) == repr(bare[1])


@pytest.mark.parametrize("end", ["does its share", "is refused", "dies"])
def test_films_solved_ahead_are_the_same_to_the_last_bit(end: str, monkeypatch: pytest.MonkeyPatch) -> None:
    here = solved()
    surface._place.cache_clear()

    def dies() -> Any:
        raise WorkerDied

    beside = Beside({"does its share": None, "is refused": lambda: Refused("no", 2), "dies": dies}[end])
    monkeypatch.setattr(surface, "helper", lambda: beside)
    solve_ahead(films(), 1e-6, 6, 15.0)
    assert beside.orders
    if end == "does its share":
        work: list[int] = []
        monkeypatch.setattr(surface, "_sought", lambda *_: work.append(1))
        assert all(alike(*pair) for pair in zip(here, solved(), strict=True))
        assert not work  # all were there
    else:
        assert all(alike(*pair) for pair in zip(here, solved(), strict=True))


def test_without_a_helper_and_of_one_film_nothing_is_solved_ahead(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: Any) -> Any:
        raise AssertionError("nobody asked for it")

    monkeypatch.setattr(surface, "_remembered", never)
    solve_ahead(films(), 1e-6, 6, 15.0)
    beside = Beside()
    monkeypatch.setattr(surface, "helper", lambda: beside)
    solve_ahead(films()[:1], 1e-6, 6, 15.0)
    # equilibria from which a lid is followed up stay where they were found
    still = LID.model_copy(update={"hold": None})
    solve_ahead([(sheet, still) for sheet, _ in films()], 1e-6, 6, 15.0)
    assert not beside.orders


def test_a_film_that_takes_too_much_is_left_to_be_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    beside = Beside(lambda: Refused("it did not converge", 3))
    monkeypatch.setattr(surface, "helper", lambda: beside)
    solve_ahead(films(), 1e-6, 6, 1e-4)
    with pytest.raises(NotConverged):
        solve_surface(*films()[0], tol=1e-6, resolution=6, effort=Effort(1e-4), opens=False)
    assert solved()[0].converged


def test_a_film_found_as_its_work_ran_out_is_found_again_where_it_is_known(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The last branch that was looked for took more than was left; those found before it stand."""
    (first,) = [solve_surface(*film, tol=1e-6, resolution=6, opens=False) for film in films()[:1]]
    surface._place.cache_clear()

    def overdrawn(*given: Any) -> tuple[Still, tuple[()]]:
        given[4].left -= 15.003
        return Still(first.pressed_down_n, lambda: first), ()

    monkeypatch.setattr(surface, "_sought", overdrawn)
    bare = LID.model_copy(update={"hold": None, "kind": Kind.LEDGE})
    for _ in range(2):
        effort = Effort(15.0)
        found = solve_surface(SHEET, bare, tol=1e-6, resolution=6, effort=effort, opens=False)
        assert found.pressed_down_n == first.pressed_down_n
    with pytest.raises(NotConverged):
        solve_surface(SHEET, bare, tol=1e-6, resolution=6, effort=Effort(14.0), opens=False)


def test_another_class_s_functions_at_a_net_s_points_are_those_computed_point_by_point() -> None:
    layout = plan(SHEET, LID, 8)
    for classes in (("even", "even"), ("odd", "even")):
        touch = Solver(layout, SHEET, 1e-6, Effort(1.0)).pose(classes).touch
        some = touch.where(np.arange(touch.count) % 3 == 0)
        between = replace(some, x=some.x + 1e-4)
        for other in (("even", "odd"), ("odd", "odd")):
            plate = assemble(layout.outline, SHEET.poisson, *other)
            for points in (some, between):
                one, by_one = rows_in(layout.outline, classes, other, points), plate.rows(points.x, points.y)
                # by other routines of BLAS a product of another size adds in another order: rounding alone
                assert np.abs(one - by_one).max() <= 16 * np.finfo(float).eps * np.abs(by_one).max()
