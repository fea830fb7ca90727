"""The limit of the film's place among the sharp heights says what it is, also where nothing can keep it."""

from __future__ import annotations

from holders.checks.focus.heights import FocusError
from tests.checks.make_design import job, make, with_heights


def found(sigma: float) -> tuple[float, str, float]:
    made = with_heights(make(), focus_sigma=sigma)
    (one,) = FocusError().check(job(bed={"focus_sigma_mm": sigma}), made)
    assert isinstance(one.limit, float)
    return one.limit, one.where, made.heights.half_band


def test_a_limit_beyond_the_sharp_heights_says_that_no_ledge_passes() -> None:
    limit, words, half = found(0.35)
    assert limit > half
    assert f"more than the {half:.2f} mm from the middle of the sharp heights to their ends" in words
    limit, words, half = found(0.05)
    assert limit < half
    assert "twice the uncertainty" in words
    assert "no ledge passes" not in words
