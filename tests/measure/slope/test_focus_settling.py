"""A height that does not settle widens its own uncertainty; one that settles does not."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from holders.measure.slope import estimate
from holders.measure.slope.estimate import newton


def on_scores(monkeypatch: pytest.MonkeyPatch, slope: float) -> None:
    """Newton's step as if the score were ``slope`` times the distance from 3 mm."""
    monkeypatch.setattr(estimate.profile, "solve", lambda *_: None)
    monkeypatch.setattr(
        estimate.profile, "influence", lambda _u, _s, z: (np.array([slope * (3.0 - z)]), 1.0, None)
    )


@pytest.mark.parametrize("slope", [1.0, 0.8])
def test_a_settled_height_leaves_nothing_open(monkeypatch: pytest.MonkeyPatch, slope: float) -> None:
    on_scores(monkeypatch, slope)
    z, left = newton(SimpleNamespace(), 2.9, 1.0)  # type: ignore[arg-type]
    assert z == pytest.approx(3.0, abs=1e-5)
    assert left == 0.0


def test_a_height_that_goes_to_and_fro_says_how_far(monkeypatch: pytest.MonkeyPatch) -> None:
    on_scores(monkeypatch, 2.0)  # overshoots by as much as it was off, for ever
    _, left = newton(SimpleNamespace(), 2.9, 1.0)  # type: ignore[arg-type]
    assert left == pytest.approx(0.2)
