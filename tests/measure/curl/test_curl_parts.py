"""A line of straight, curled and bent pieces is cut where they meet."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.curl.parts import cut, main_part, named
from holders.measure.curl.trace import arc_length
from tests.measure.curl.lines import curve


def parts_of(pieces: list[tuple[float, float]], noise: float = 0.01) -> tuple[list, float]:
    rng = np.random.default_rng(3)
    points = curve(pieces, 0.3)[::17]
    points = points + noise * rng.standard_normal(points.shape)
    found = cut(arc_length(points), points)
    main = main_part(found)
    return named(found, main), main.curl_per_m


def test_one_arc_is_one_part() -> None:
    found, curl = parts_of([(90.0, 5.0)])
    assert [p.kind for p in found] == ["curled"]
    assert abs(curl) == pytest.approx(5.0, abs=0.3)


def test_a_straight_line_is_straight() -> None:
    found, curl = parts_of([(90.0, 0.0)])
    assert [p.kind for p in found] == ["straight"]
    assert abs(curl) < 0.3


def test_straight_ends_are_told_from_the_curl_between() -> None:
    found, curl = parts_of([(25.0, 0.0), (60.0, 8.0), (20.0, 0.0)])
    assert [p.kind for p in found] == ["straight", "curled", "straight"]
    assert found[0].end_mm == pytest.approx(25.0, abs=4.0)
    assert found[1].end_mm == pytest.approx(85.0, abs=4.0)
    assert abs(curl) == pytest.approx(8.0, rel=0.06)


@pytest.mark.parametrize("bend", [-80.0, 90.0])
def test_a_bent_corner_is_a_bend(bend: float) -> None:
    found, curl = parts_of([(80.0, 4.0), (8.0, bend)])
    assert found[-1].kind == "bent"
    assert abs(curl) == pytest.approx(4.0, rel=0.08)


def test_a_dim_or_dirty_place_does_not_cut_the_arc() -> None:
    rng = np.random.default_rng(5)
    points = curve([(120.0, 4.0)], 0.2)[::17]
    points = points + 0.01 * rng.standard_normal(points.shape)
    points[160:168] += [0.25, 0.25]
    found = cut(arc_length(points), points)
    assert [p.kind for p in found] == ["curled"]


def test_a_fold_parts_the_arc() -> None:
    one = curve([(60.0, 4.0)], 0.0)
    two = curve([(60.0, 4.0)], 0.24 + 0.15)  # a fold of 8.6 degrees
    points = np.vstack([one, two - two[0] + one[-1]])[::17]
    assert len(cut(arc_length(points), points)) >= 2
