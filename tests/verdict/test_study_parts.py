"""What a study says of itself: whether it may be made, and which of its windows is looked at."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.design.resolve import design
from holders.preset.schema import Preset
from holders.study import Study, on_sheets, study
from holders.verdict.judge import judged
from holders.verdict.model import FilmChance
from tests.presets_made import changed, job

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


@pytest.mark.parametrize("count", [1, 3])
def test_a_window_is_asked_for_by_its_number_from_one(count: int, monkeypatch: pytest.MonkeyPatch) -> None:
    windows = [SimpleNamespace(kind=k, number=k + 1) for k in range(count)]
    made = found(design=SimpleNamespace(mine=windows[-1:], windows=windows))
    monkeypatch.setattr(Study, "of", lambda _, kind: ("looked at", kind))
    for number in range(1, count + 1):
        seen, window = made.at_window(number)
        assert (seen, window.number) == (("looked at", number - 1), number)  # type: ignore[attr-defined]
    assert made.at_window(None) == (made, windows[-1])
    has = "one window, number 1" if count == 1 else "windows 1 to 3"
    for number in (-1, 0, count + 1):
        with pytest.raises(InputError, match=f"this holder has {has}$") as refused:
            made.at_window(number)
        assert (refused.value.field, refused.value.value) == ("--window", number)


def test_a_record_that_is_not_at_hand_is_refused() -> None:
    with pytest.raises(InputError, match="not at hand here") as refused:
        study(Preset.model_validate(changed(film={"record": "low-weir.toml"})))
    assert refused.value.field == "film.record"


def test_only_cut_pieces_are_laid_on_sheets_and_those_too_large_say_why() -> None:
    printed = SimpleNamespace(route="print")
    assert on_sheets(ANY, printed) == ((), "")  # type: ignore[arg-type]
    board = job(
        route="laser", material={"name": "plywood-birch", "sheets_mm": [3.0]}, film={"format": "8x10"}
    )
    made = design(board)
    nested, why = on_sheets(board, made)
    assert why == ""
    assert sum(len(one.nesting.pieces) for one in nested) >= len(made.parts)
    small = board.material.model_copy(update={"sheet_width_mm": 100.0, "sheet_height_mm": 100.0})
    nested, why = on_sheets(replace(board, material=small), made)
    assert nested == ()
    assert "sheet" in why


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
