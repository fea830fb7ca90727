"""A film that is remembered is the film that would be found: at any height, and at the same price in work."""

from __future__ import annotations

import numpy as np
import pytest

from holders.core.errors import NotConverged
from holders.film import surface as module
from holders.film.hold import Hold
from holders.film.models import Kind, Lips, Sheet, Support
from holders.film.solver.interior import Effort
from holders.film.surface import solve_surface

SHEET = Sheet(width_mm=101.6, height_mm=127.0, thickness_mm=0.18, modulus_mpa=4500.0, poisson=0.38,
              density_kg_m3=1390.0, curl_x_per_m=-3.0, curl_y_per_m=0.0, emulsion="down")  # fmt: skip
LID = Support(kind=Kind.LID, lips=Lips.all_round(3.0), hold=Hold(weight_n=0.05))
COARSE = 7


@pytest.mark.parametrize("height", [0.05, 3.0])  # on the glass, and clear of it
@pytest.mark.parametrize("support", [Support(kind=Kind.LEDGE, lips=Lips.all_round(3.0)), LID])
def test_a_remembered_film_is_the_film_there(support: Support, height: float) -> None:
    there = support.model_copy(update={"ledge_height_mm": height})
    solve_surface(SHEET, support.model_copy(update={"ledge_height_mm": 6.0}), resolution=COARSE)
    known = solve_surface(SHEET, there, resolution=COARSE)
    module._place.cache_clear()
    alone = solve_surface(SHEET, there, resolution=COARSE)
    assert np.abs(known.z - alone.z).max() < 1e-9
    assert (known.support, known.lid) == (there, alone.lid)
    assert known.touches_glass == alone.touches_glass == (height < 1.0)


def test_what_is_remembered_costs_the_same_work() -> None:
    module._place.cache_clear()
    first, again, too_little = Effort(20.0), Effort(20.0), Effort(1e-3)
    solve_surface(SHEET, LID, resolution=COARSE, effort=first)
    solve_surface(SHEET, LID, resolution=COARSE, effort=again)
    assert again.left == pytest.approx(first.left, abs=1e-12)
    with pytest.raises(NotConverged):
        solve_surface(SHEET, LID, resolution=COARSE, effort=too_little)
