"""The ledge that a surface asks for, against cases that one sees at once."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.surface.ledge import best_ledge


def test_a_flat_film_is_put_into_the_middle_of_the_band() -> None:
    advice = best_ledge(np.full((5, 5), 2.0), 2.0, (2.4, 3.0))
    assert advice is not None
    assert advice.change_mm == pytest.approx(0.7, abs=0.011)
    assert (advice.sharp_now, advice.sharp_then) == (0.0, 1.0)
    assert not advice.limited


def test_a_film_deeper_than_the_band_keeps_its_largest_part() -> None:
    # three quarters of it lie within 0.2 mm, the rest 1 mm lower; a band of 0.4 mm takes the three quarters
    z = np.concatenate([np.linspace(2.8, 3.0, 75), np.full(25, 1.9)])
    advice = best_ledge(z, 3.0, (3.0, 3.4))
    assert advice is not None
    assert advice.sharp_then == pytest.approx(0.75)
    assert advice.change_mm == pytest.approx(0.3, abs=0.011)


def test_the_glass_stops_it_and_unknown_places_do_not_count() -> None:
    z = np.array([[1.0, np.nan], [1.5, 1.4]])
    advice = best_ledge(z, 1.5, (0.0, 0.5), 0.3)
    assert advice is not None
    assert advice.limited
    # lowered by 0.5 to 0.7 mm its lowest place is sharp and 0.3 mm or more from the glass; by more, others would be too
    assert advice.change_mm == pytest.approx(-0.6, abs=0.011)
    assert best_ledge(np.full(3, np.nan), 1.0, (0.0, 1.0)) is None
