"""Single steps of the search for what to do next."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from holders.search.candidates import film_keys
from holders.search.rescued import as_it_is


def test_what_shapes_any_film_of_a_holder_is_kept_whatever_stands_before_it() -> None:
    """A further film's curl and the lips shape film; how that film's back is coated does not."""
    keys = {"more_films.0.base.curl_per_m": 2.0, "lip.all_mm": 3.0, "more_films.0.base.back_coat": "no"}
    assert film_keys(keys) == {("more_films.0.base.curl_per_m", 2.0), ("lip.all_mm", 3.0)}


@pytest.mark.parametrize(("read", "drawn"), [((), None), ((), 3.1), ((3.0, 3.1, 3.2, 3.1), None)])
def test_without_four_readings_and_the_height_they_were_drawn_at_nothing_is_known(
    read: tuple[float, ...], drawn: float | None
) -> None:
    """Nothing is designed again for that: the stand-in has no preset to do it with."""
    coupon = SimpleNamespace(ledge_mm=read, ledge_drawn_mm=drawn)
    found: Any = SimpleNamespace(job=SimpleNamespace(preset=SimpleNamespace(coupon=coupon)))
    assert as_it_is(found) is None
