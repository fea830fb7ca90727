"""Short forms leave no value untried, and lose none unseen."""

from __future__ import annotations

import pytest

from tests.short import each_once, some


def test_every_value_of_every_axis_always_runs() -> None:
    given = (["a", "b"], [1, 2, 3], ["x"])
    cases = each_once(*given)
    assert len(cases) == 6
    always = [case.values for case in cases if not case.marks]
    assert [set(axis) for axis in zip(*always, strict=True)] == [set(axis) for axis in given]
    assert len(always) == 3


def test_what_is_kept_must_be_there() -> None:
    quick, waiting = some(["a", "b"], "a")
    assert quick == "a"
    assert [mark.name for mark in waiting.marks] == ["slow"]
    with pytest.raises(ValueError, match="'c'"):
        some(["a", "b"], "c")
