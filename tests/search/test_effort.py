"""What a holder takes to make, by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from holders.search import effort
from holders.search.effort import effort_of


def test_seconds_of_all_cuts_are_minutes(monkeypatch: pytest.MonkeyPatch) -> None:
    """Two sheets, cut in 90 s and 30 s, and one in 60 s: three minutes; a quarter of a 20 x 10 picture hidden."""
    for name in ("sheet_rows", "small_rows"):
        monkeypatch.setattr(effort, name, lambda *_: ())
    job: Any = SimpleNamespace(printer=None, material=None, preset=None)
    picture = SimpleNamespace(width=20.0, height=10.0)
    made: Any = SimpleNamespace(windows=(SimpleNamespace(seen=0.75, picture=picture),))
    nested: Any = [
        SimpleNamespace(
            cuts=[SimpleNamespace(seconds=s) for s in times],
            nesting=SimpleNamespace(sheets=[None] * len(times)),
        )
        for times in ((90.0, 30.0), (60.0,))
    ]
    found = effort_of(job, made, nested)
    assert found.minutes == pytest.approx(3.0)
    assert found.sheets == 3
    assert found.hidden_mm2 == pytest.approx(50.0)
