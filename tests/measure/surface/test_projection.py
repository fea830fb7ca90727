"""Central projection against closed forms: similar triangles, a tilted plane, a cylinder."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.surface.projection import (
    height_from_move,
    mm_of_height_per_mm,
    seen_at,
    shift_from_move,
)

D = 300.0


def test_a_point_is_seen_where_similar_triangles_say() -> None:
    # x D / (D + z): 100 mm from the axis and 3 mm above the glass, 100 * 300 / 303
    assert float(seen_at(100.0, 3.0, D)) == pytest.approx(99.00990099)
    assert float(seen_at(-100.0, 3.0, D)) == pytest.approx(-99.00990099)
    assert float(seen_at(0.0, 3.0, D)) == 0.0


@pytest.mark.parametrize("shift", [-20.0, 8.0, 60.0])
def test_a_tilted_plane_comes_back_from_its_moves(shift: float) -> None:
    # the plane z = 2 + 0.01 x moves with the film, so that each of its points keeps its height
    x = np.linspace(-90, 90, 19)
    z = 2.0 + 0.01 * x
    move = seen_at(x + shift, z, D) - seen_at(x, z, D)
    assert height_from_move(move, shift, D) == pytest.approx(z, abs=1e-9)


def test_a_cylinder_comes_back_from_its_moves() -> None:
    # an arc of radius 2000 mm: z = 3 - (R - sqrt(R^2 - x^2)); at x = 60: 0.9002 mm by Pythagoras
    x = np.linspace(-60, 60, 25)
    z = 3.0 - (2000.0 - np.sqrt(2000.0**2 - x**2))
    assert 3.0 - z[0] == pytest.approx(0.9002, abs=1e-4)
    move = seen_at(x + 25.0, z, D) - seen_at(x, z, D)
    assert height_from_move(move, 25.0, D) == pytest.approx(z, abs=1e-9)


def test_height_per_move_is_the_slope_of_the_closed_form() -> None:
    move = float(seen_at(20.0, 3.0, D))
    step = 1e-4
    slope = float(height_from_move(move + step, 20.0, D) - height_from_move(move - step, 20.0, D)) / (
        2 * step
    )
    assert mm_of_height_per_mm(20.0, 3.0, D) == pytest.approx(slope, rel=1e-6)
    assert shift_from_move(move, 3.0, D) == pytest.approx(20.0)
