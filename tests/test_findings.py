"""How a finding's numbers are written."""

from __future__ import annotations

import pytest

from holders.core.findings import amount


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (None, "mm", ""),
        (28.011, "%", "28 %"),
        (0.38123, "mm", "0.381 mm"),
        (296.04, "mm", "296.0 mm"),
        (-0.5, "", "-0.5"),
        ("7 x 9", "mm", "7 x 9 mm"),
    ],
)
def test_three_digits_and_the_unit(value: float | str | None, unit: str, words: str) -> None:
    assert amount(value, unit) == words
