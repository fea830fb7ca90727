"""A target that grows sharper toward an end of the slope, with no top before it."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from holders.measure.slope.doubt import Judged, Opinion, judge_both
from holders.measure.slope.edges.curve import EdgeFit
from holders.measure.slope.edges.find import Edges
from holders.measure.slope.ends import TREND, by_trend, end_of_edges, without_a_flank
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.measure import leaning, measure_focus
from tests.simulators import slope_scan

ENDS = (1.0, 7.0)
CELLS = (np.linspace(1.05, 6.95, 90), np.zeros(90), np.zeros(90))
# a chart whose edges grow steeper to the low end: drop of log steepness well above their scatter, none to that end
RISING = EdgeFit(1.1, 0.2, -1, 0.01, 0.3, 85, 0.0, (0.0, 0.0), 6.0, CELLS, 1.3, isolated=True, gap=0.03)


def channel(edge: int, **other: float) -> SimpleNamespace:
    """One channel whose detail is greatest at ``edge``, or a flat one (``fall=0``)."""
    curve = SimpleNamespace(edge=edge, gain=1e4, freedom=50, shares=1.0, fall=3.0, trimmed=0.3, **{})
    for name, value in other.items():
        setattr(curve, name, value)
    return SimpleNamespace(curve=curve, tone=False, steady=True, coverage=0.7)


def test_edges_point_to_an_end_only_without_a_flank_before_it() -> None:
    assert end_of_edges(RISING, ENDS) == -1
    assert end_of_edges(replace(RISING, height=6.9, edge=1), ENDS) == 1
    assert end_of_edges(replace(RISING, height=1.3, edge=0), ENDS) == -1
    # a flank of twice the scatter, a top far from both ends, few edges, a drop that may be scatter
    assert end_of_edges(replace(RISING, height=1.3, edge=0, fall=0.7), ENDS) == 0
    assert end_of_edges(replace(RISING, height=2.0, edge=0), ENDS) == 0
    assert end_of_edges(replace(RISING, bins=30), ENDS) == 0
    assert end_of_edges(replace(RISING, drop=0.25), ENDS) == 0
    assert end_of_edges(None, ENDS) == 0


def test_a_trend_is_believed_where_nothing_speaks_against_it() -> None:
    plain, low, high = channel(0, fall=0.0), channel(-1), channel(1)
    found = by_trend(RISING, [plain], ENDS, wave=False)
    assert found is not None
    assert (found.edge, found.height, found.by, found.warnings) == (-1, 1.0, "edges", (TREND,))
    assert by_trend(RISING, [high], ENDS, wave=False) is None
    # edges that scatter as much as they fall need detail that says so too
    rough = replace(RISING, drop=0.35)
    assert by_trend(rough, [plain], ENDS, wave=False) is None
    assert by_trend(rough, [low], ENDS, wave=False) is not None
    # a smooth wave's edges keep their slope for their contrast: only a great change counts
    assert by_trend(replace(RISING, drop=0.25, scatter=0.01), [plain], ENDS, wave=True) is None
    assert by_trend(replace(RISING, scatter=0.01), [plain], ENDS, wave=True) is not None


def test_detail_alone_is_believed_of_ticks_only() -> None:
    ticks, texture = channel(-1, trimmed=0.6), channel(-1, trimmed=0.6)
    texture.steady = False
    found = by_trend(None, [ticks], ENDS, wave=False)
    assert found is not None
    assert (found.edge, found.by) == (-1, "detail")
    assert by_trend(None, [texture], ENDS, wave=False) is None
    assert by_trend(None, [channel(-1, trimmed=0.2)], ENDS, wave=False) is None
    assert by_trend(None, [ticks, channel(1, trimmed=0.6)], ENDS, wave=False) is None


def test_a_rough_height_near_an_end_without_a_flank_lies_at_that_end() -> None:
    rough = Judged(1.4, 0.05, 0, "detail")
    assert without_a_flank(rough, RISING, ENDS, roughly=True).edge == -1
    assert without_a_flank(rough, RISING, ENDS, roughly=False).edge == 0
    assert without_a_flank(replace(rough, height=1.7), RISING, ENDS, roughly=True).edge == 0


def test_a_lesser_flank_within_the_scatter_is_none() -> None:
    """Bars of several widths, whose edges differ, feigned a top 0.6 mm before the end: 1.67 where 0.66 was true."""
    feigned = replace(RISING, height=1.67, sigma=0.06, edge=0, fall=0.123, drop=0.965, scatter=0.104)
    assert judge_both(None, feigned) is None
    assert judge_both(None, replace(feigned, fall=0.25)) is not None


@pytest.mark.slow
@pytest.mark.parametrize("seed", [7001, 7016, 7019, 7021])
def test_focus_beyond_the_slope_is_said_to_be_there(seed: int, tmp_path) -> None:
    """Scans that once were refused with "no height is sharper than the others"."""
    facts = slope_scan.write(tmp_path / "scan.tif", seed, "beyond")
    slope = SlopeGeometry(
        rise_mm=facts["rise"],
        run_mm=facts["run"],
        start_height_mm=facts["start_height"],
        reverse=facts["reverse"],
    )
    found = measure_focus([tmp_path / "scan.tif"], geometry=slope)
    assert found.at_edge
    middle = 0.5 * (found.heights_seen[0] + found.heights_seen[1])
    assert (found.height < middle) == (facts["height"] < middle)
    assert found.doubts


def test_detail_on_one_side_of_an_unseen_width_is_doubted() -> None:
    """A tilt of 0.05 mm over the width, the prior of the curve through the edges, shifts ticks along one side."""
    said = Opinion(2.0, 0.01, 0, floor=0.008)

    def at(across: np.ndarray) -> Edges:
        n = len(across)
        return Edges(*(np.zeros(n),), across, *(np.zeros(n),) * 3, np.zeros(n, bool), np.zeros(n, int))

    assert leaning(said, at(np.linspace(-0.5, 0.5, 51))).total == pytest.approx(said.total)
    one_side = leaning(said, at(np.linspace(0.3, 0.5, 51)))
    assert one_side.total == pytest.approx((0.01**2 + 0.008**2 + (0.05 * 0.4) ** 2) ** 0.5)
    assert leaning(said, at(np.zeros(0))) == said
