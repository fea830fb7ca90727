"""Film of which little is said, and film that sags nowhere."""

from __future__ import annotations

import numpy as np

from holders.film.models import Kind, Lips, Sheet, Support
from holders.film.surface import solve_surface

SHEET = Sheet(
    width_mm=60.0, height_mm=90.0, thickness_mm=0.13, modulus_mpa=4000.0, poisson=0.35, density_kg_m3=1390.0
)


def test_a_sheet_of_whose_curl_nothing_is_said_is_flat() -> None:
    assert SHEET.natural_curvature_per_mm == (0.0, 0.0)


def test_film_that_arches_over_its_ledge_sags_nowhere() -> None:
    """Curled by 3 per metre with its emulsion down it stands on its rims: no sag is 0, never less."""
    arch = SHEET.model_copy(update={"curl_x_per_m": 3.0, "emulsion": "down"})
    film = solve_surface(arch, Support(kind=Kind.LEDGE, lips=Lips.all_round(3.0)), resolution=8)
    assert film.max_rise_mm > 0.9
    assert np.min(film.deflection) > -1e-6
    assert 0.0 <= film.max_sag_mm < 1e-6
