"""How a finding's numbers are written."""

from __future__ import annotations

import pytest

from holders.core.errors import CheckStops, HoldersError, InputError, MachineError, NotConverged
from holders.core.findings import Finding, amount, limit_words


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


def finding(
    measured: float | str, limit: float | str | None, level: str = "pass", code: str = "bow"
) -> Finding:
    return Finding(code=code, level=level, title="it bows", measured=measured, limit=limit, unit="mm")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("found", "words"),
    [
        (finding(3.0, 2.0), "at least 2 mm"),
        (finding(1.0, 2.0), "at most 2 mm"),
        (finding(3.0, 2.0, "stop"), "at most 2 mm"),
        (finding(1.0, 2.0, "stop"), "at least 2 mm"),
        (finding(2.001, 2.0), "limit 2 mm"),  # on the limit: no side to speak of
        (finding(2.003, 2.0), "at least 2 mm"),
        (finding(1.997, 2.0), "at most 2 mm"),
        (finding(2.45, 2.0, "warn"), "at most 2 mm"),
        (finding(1.55, 2.0, "warn"), "at least 2 mm"),
        (finding(2.6, 2.0, "warn"), "at most 2 mm"),
        (finding(0.1, 0.0, "warn"), "at most 0 mm"),
        (finding(9.0, 2.0, "pass", "layers"), "limit 2 mm"),
        (finding("7 x 9", 2.0), "limit 2 mm"),
        (finding(3.0, None), ""),
    ],
)
def test_a_limit_says_on_which_side_it_is_good(found: Finding, words: str) -> None:
    assert limit_words(found) == words


def test_exit_codes_are_those_of_the_contract() -> None:
    assert (InputError.exit_code, CheckStops.exit_code, MachineError.exit_code) == (2, 1, 3)
    assert (HoldersError.exit_code, NotConverged.exit_code) == (
        2,
        1,
    )  # what is told in words, and no shape found
