"""Lengths as people write them. An inch is 25.4 mm exactly (international yard and pound agreement of 1959)."""

from __future__ import annotations

import pytest

from holders.core.lengths import length_mm


@pytest.mark.parametrize("unit", ["in", "inch", "inches", '"', "″"])
def test_every_way_to_write_an_inch_is_one(unit: str) -> None:
    assert length_mm(f"2 {unit}") == pytest.approx(50.8, abs=1e-9)


@pytest.mark.parametrize(("text", "mm"), [("3 mm", 3.0), ("0.3 cm", 3.0), ("3,5", 3.5), ("0.003 m", 3.0)])
def test_metric_lengths(text: str, mm: float) -> None:
    assert length_mm(text) == pytest.approx(mm, abs=1e-12)
