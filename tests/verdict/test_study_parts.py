"""What a study says of itself: whether it may be made, and which of its windows is looked at."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.study import Study
from holders.verdict.judge import judged
from holders.verdict.model import FilmChance

ANY: Any = None
STOP = Finding(code="fit", level="stop", title="The holder is wider than the glass")
WARN = Finding(code="bow", level="warn", title="It bows")


def found(*findings: Finding, design: Any = None) -> Study:
    return Study(ANY, design, ANY, findings, (), ANY, "")


def test_a_holder_may_be_made_unless_a_finding_says_stop() -> None:
    assert found().ok is True
    assert found(WARN).ok is True
    assert found(WARN).stops == ()
    assert found(WARN, STOP).ok is False
    assert found(WARN, STOP).stops == (STOP,)


def test_the_first_window_is_looked_at_where_none_is_asked_for() -> None:
    windows = [SimpleNamespace(kind=0, number=number) for number in (1, 2)]
    made = found(design=SimpleNamespace(mine=windows, windows=windows))
    assert made.at_window(None)[1].number == 1  # type: ignore[attr-defined]
    with pytest.raises(InputError, match="windows 1 to 2"):
        made.at_window(3)


def chances(*films: tuple[str, float]) -> str:
    """The verdict on a holder of several films, by the odds of the worst."""
    odds: Any = SimpleNamespace(
        chance=min(chance for _, chance in films), ring_free=1.0,
        sharp=SimpleNamespace(most=SimpleNamespace(value=0.5), spoiled_by="curl"),
    )  # fmt: skip
    return judged(odds, (), [FilmChance(*film) for film in films]).text


def test_of_two_films_the_worse_is_named_first() -> None:
    assert chances(("4x5", 0.9), ("5x7", 0.7)).startswith(
        "70 of 100 scans of the 5x7 (90 of the 4x5) will be sharp"
    )


def test_of_two_films_alike_both_are_named() -> None:
    assert chances(("4x5", 0.7), ("4x5", 0.7)).startswith(
        "70 of 100 scans of the 4x5 (70 of the 4x5) will be sharp"
    )


def test_one_film_alone_is_not_named() -> None:
    assert chances(("4x5", 0.7)).startswith("70 of 100 scans will be sharp")
