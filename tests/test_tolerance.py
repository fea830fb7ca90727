"""The refusal of comparisons on a knife's edge (``tests/tolerance.py``) itself."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from tests import tolerance
from tests.tolerance import HERE, Notes, known_offset, share_used, within


def judged(compare: Callable[[], None], folder: str = "film") -> list[tuple[float, str, str]]:
    """Run a comparison as a test of that folder would be run; what it noted, or the failure it ends in."""
    item = SimpleNamespace(path=HERE / folder / "test_any.py", user_properties=[])
    run = tolerance.Plugin(0).pytest_runtest_call(item)
    next(run)
    compare()
    with pytest.raises(StopIteration):
        run.send(None)
    return item.user_properties[0][1]


def _close(share: float) -> None:
    assert 1.0 + share * 0.01 == pytest.approx(1.0, rel=0.01)


def test_shares() -> None:
    assert share_used([0.5, -3.0], [1.0, 4.0]) == 0.75
    assert share_used(0.0, 0.0) == 0.0
    assert share_used(1e-9, 0.0) == np.inf
    assert share_used([np.nan, 1.0], 2.0) == 0.5


@pytest.mark.parametrize(
    ("compare", "share"),
    [
        (lambda: _close(0.6), 0.6),
        (lambda: np.testing.assert_allclose([1.0, 2.01], [1.0, 2.0], rtol=0.01, atol=0), 0.5),
        (lambda: within(np.array([[0.1, -0.3]]), 0.4), 0.75),
        (lambda: pytest.approx([2.0, 1.0], abs=1.0) == [2.0, 1.5], 0.5),
        (lambda: pytest.approx({"a": 1.0}, abs=0.4) == {"a": 1.2}, 0.5),
        (lambda: pytest.approx([1.0], rel=0.1) == np.array([1.05]), 0.5),
        (lambda: pytest.approx(1.0) == 1.0 + 0.7e-6, 0.7),
    ],
)
def test_each_comparison_is_noted(compare: Callable[[], None], share: float) -> None:
    ((used, place, why),) = judged(compare)
    assert abs(used - share) < 1e-6
    assert place.startswith(f"{Path(__file__).relative_to(HERE.parent)}:")
    assert why == ""


def test_a_comparison_on_the_edge_fails() -> None:
    with pytest.raises(pytest.fail.Exception, match="uses 90 %: at most 80 %"):
        judged(lambda: _close(0.9))
    assert judged(lambda: _close(0.9), folder="cli")  # other folders are listed, not judged
    with pytest.raises(pytest.fail.Exception, match="uses 90 %: at most 80 %"):
        judged(lambda: _close(0.9), folder="measure/curl")  # a folder in a folder
    assert judged(lambda: _close(0.9), folder="measures")


def test_a_known_offset_may_be_on_the_edge() -> None:
    def compare() -> None:
        with known_offset("the table is rounded: 1.0 for 1.009"):
            _close(0.9)

    ((used, _, why),) = judged(compare)
    assert used > tolerance.MOST
    assert why.startswith("the table is rounded")
    assert Notes.reason == ""


def test_wrong_values_still_fail() -> None:
    assert pytest.approx(1.0, rel=0.01) != 1.02
    assert not within([0.0, -2.0], 1.0)
    assert not within(np.nan, 1.0)
    with pytest.raises(AssertionError):
        np.testing.assert_allclose(1.0, 1.02, rtol=0.01)
