"""Film that no ledge brings into focus: the ledge stands as near to the focus height as can be, and no higher."""

from __future__ import annotations

import pytest

from holders.design.held.film_in_holder import designed
from tests.presets_made import job


def test_sheets_far_too_thick_are_not_piled_up() -> None:
    """Once two sheets of 5 mm were chosen, 6.9 mm above the focus, as every height was equally bad."""
    made = job(
        route="laser",
        film={"format": "8x10"},
        material={"name": "acrylic-cast", "sheets_mm": [5.0]},
        bed={"name": "a4-wide", "focus_height_mm": 3.1},
    )
    holder, film = designed(made)
    assert film.best_fraction == 0.0
    assert holder.heights.ledge_height == pytest.approx(5.0)
    assert holder.heights.ledge_wanted == pytest.approx(3.1)
    assert holder.heights.film_reach == (0.0, 0.0)
    assert holder.sag is not None
    assert holder.sag.in_band_fraction == 0.0


def test_film_within_reach_brings_its_surface_to_the_choice() -> None:
    made = job(
        route="knife",
        film={"format": "8x10"},
        material={"name": "mounting-board", "sheets_mm": [0.55, 1.42, 3.04]},
        bed={"name": "a4-wide", "focus_height_mm": 3.1},
    )
    holder, _ = designed(made)
    assert holder.sag is not None
    assert holder.sag.reach_mm is not None
    low, high = holder.heights.film_reach
    # the film keeps its shape when the ledge moves from the best height to one that can be built
    assert holder.sag.reach_mm == pytest.approx((low, high), abs=1e-6)
    assert low == pytest.approx(-holder.sag.max_mm, abs=0.01)
    h = holder.heights
    assert h.band_low <= h.sharp_plane + low
    assert h.sharp_plane + high <= h.band_high
