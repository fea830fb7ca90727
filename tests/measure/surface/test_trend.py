"""The trend by which windows are looked for: a plane moved by a turn, seen along one row of a long film only."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.surface.opening import Opening, Side
from holders.measure.surface.search import Moves2D, trend

STRIP = Opening(Side(4.0, 0.0, True), Side(214.0, 0.0, True), Side(4.0, 0.0, True), Side(28.0, 0.0, True))


def moves(y: float, bend_mm: float) -> Moves2D:
    """A strip turned by 2 mrad and slid 20 mm, seen at 20 places of one row; it bows by ``bend_mm``."""
    x = np.linspace(12.0, 206.0, 20)
    random = np.random.default_rng(4)
    u = 20.0 - 0.002 * y + bend_mm * ((x - 109.0) / 105.0) ** 2 + 0.002 * random.standard_normal(20)
    v = 0.002 * x + 0.002 * random.standard_normal(20)
    sigma = np.full(20, 0.002)
    return Moves2D(x, np.full(20, y), u, v, sigma, sigma)


@pytest.mark.parametrize("y", [18.7, 10.0])
def test_one_row_of_places_does_not_bend_the_trend_beside_it(y: float) -> None:
    two = [moves(9.0, 0.0), moves(23.0, 0.0)]
    both = Moves2D(
        *(np.concatenate([getattr(m, n) for m in two]) for n in ("x", "y", "u", "v", "sigma_u", "sigma_v"))
    )
    rough = trend(both, STRIP, 1)
    fine = trend(moves(y, 0.1), STRIP, 3, rough)
    x, down = (v.ravel() for v in np.meshgrid(np.linspace(6.0, 212.0, 30), np.linspace(6.0, 26.0, 6)))
    u, v = fine(x, down)
    # registration looks for a window within 1.5 pixels of the trend: 0.06 mm at 600 per inch
    true_u = 20.0 - 0.002 * down + 0.1 * ((x - 109.0) / 105.0) ** 2
    assert float(np.abs(u - true_u).max()) < 0.03
    assert float(np.abs(v - 0.002 * x).max()) < 0.03
