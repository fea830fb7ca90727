"""Of simulated users who are promised a good scan with some chance, as many get one (simulators/users.py)."""

from __future__ import annotations

from collections import defaultdict

import pytest

from holders.core.errors import HoldersError
from holders.preset.load import parse
from holders.study import study
from tests.simulators.users import good_scans, random_preset

NEAR = 0.03  # between what is stated and what came of it, in each tenth
LEAST = 2500  # users in a tenth that is judged


def told_and_got(
    number: int, films: int, users_each: int, formats: tuple[str, ...] = ()
) -> tuple[float, float, int]:
    """Stated chance of a random holder, the share of good scans, and of how many users."""
    text = random_preset(number, formats) if formats else random_preset(number)
    found = study(parse(text, "user"), text, extremes=False)
    return (found.verdict.chance, *good_scans(found, films, users_each, seed=number))


def test_users_of_small_holders_get_what_they_are_promised() -> None:
    """Two holders in the short form, whose films are few: within five in a hundred on average."""
    rows = [told_and_got(number, 24, 50, ("4x5",)) for number in (8, 21)]
    off = [got - told for told, got, _ in rows]
    assert abs(sum(off)) / len(off) <= 0.05
    assert all(0.02 < told < 0.98 for told, _, _ in rows), "a chance that can be missed either way"


@pytest.mark.slow
def test_every_tenth_that_is_reached_is_as_good_as_it_says() -> None:
    tenths: dict[int, list[tuple[float, float, int]]] = defaultdict(list)
    for number in range(120):
        try:
            row = told_and_got(number, 48, 40)
        except HoldersError:
            continue
        tenths[min(9, int(10 * row[0]))].append(row)
    judged = 0
    for rows in tenths.values():
        users = sum(row[2] for row in rows)
        if users < LEAST:
            continue
        judged += 1
        assert abs(sum((got - told) * count for told, got, count in rows)) / users <= NEAR
    assert judged >= 8
