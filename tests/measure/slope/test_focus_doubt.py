"""Two ways of judging sharpness made one, and the chance of being near."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from holders.measure.slope.doubt import (
    Judged,
    Opinion,
    chance_near,
    detail_says,
    edges_alone,
    edges_say,
    judge_both,
    reconcile,
)
from holders.measure.slope.edges.curve import EdgeFit
from holders.measure.slope.ends import by_an_end
from holders.measure.slope.target.rows import rows_apart, rows_of_edges


@pytest.mark.parametrize("sigma", [0.005, 0.03, 0.07, 0.2, 1.0])
def test_the_chance_is_that_of_students_law(sigma):
    law = stats.t(2, scale=sigma * 2.0 / stats.t(2).ppf(0.97725))
    assert chance_near(sigma) == pytest.approx(law.cdf(0.1) - law.cdf(-0.1), abs=2e-4)
    # two sigma hold what they hold for a normal law
    assert chance_near(sigma, 2.0 * sigma) == pytest.approx(0.9545, abs=2e-4)


def test_agreement_is_averaged_by_certainty():
    found = reconcile(Opinion(2.00, 0.01, 0), Opinion(2.03, 0.03, 0))
    assert found.height == pytest.approx((2.00 / 1 + 2.03 / 9) / (1 + 1 / 9))
    assert found.sigma == pytest.approx(0.01 * 0.03 / (0.01**2 + 0.03**2) ** 0.5)
    assert found.warnings == ()


def test_disagreement_widens_and_warns():
    edges = Opinion(2.5, 0.02, 0)
    found = reconcile(Opinion(2.0, 0.01, 0), edges)
    assert found.height == edges.height
    assert found.sigma > 0.06
    assert "2.50" in found.warnings[0]
    assert "2.00" in found.warnings[0]
    loose = reconcile(Opinion(2.0, 0.01, 0), Opinion(2.5, 0.05, 0, firm=False))
    assert loose.height == 2.0
    assert loose.sigma > 0.15
    assert loose.warnings


def test_edges_decide_whether_the_top_was_seen():
    assert reconcile(Opinion(2.0, 0.01, 0), Opinion(6.1, 0.1, 1)).edge == 1
    inside = reconcile(Opinion(6.1, 0.1, 1), Opinion(2.0, 0.02, 0))
    assert inside.edge == 0
    assert inside.sigma > 0.06
    assert inside.warnings
    assert reconcile(Opinion(6.1, 0.1, 1), Opinion(2.0, 0.02, 0, firm=False)).sigma > 1.0


def test_one_alone_is_enough_and_none_is_none():
    assert reconcile(None, None) is None
    assert reconcile(None, Opinion(1.0, 0.02, 0)).by == "edges"
    assert reconcile(Opinion(1.0, 0.02, 0), None).by == "detail"


def test_detail_that_one_curve_does_not_explain_is_doubted():
    assert detail_says(1.0, 0.005, 0, 0.7).total > 0.09
    assert detail_says(1.0, 0.005, 0, 1.0).total < 0.02


def test_edges_with_a_top_on_one_side_only_contradict_but_are_not_averaged_in():
    """Film with strong pictures, measured 0.61 mm off by its detail with a sigma of 0.04 while its edges were right."""
    detail = Opinion(3.24, 0.03, 0, floor=0.032)
    found = reconcile(detail, Opinion(2.67, 0.07, 0, firm=False, floor=0.03, weak=True))
    assert found.height == detail.height
    assert found.sigma > 0.25
    assert "2.67" in found.warnings[0]
    near = reconcile(detail, Opinion(3.10, 0.07, 0, firm=False, floor=0.03, weak=True))
    assert (near.height, near.sigma, near.warnings) == (detail.height, detail.total, ())
    assert reconcile(None, Opinion(2.67, 0.07, 0, weak=True)) is None


def test_a_weak_top_clear_of_both_ends_is_believed_before_detail_at_an_end():
    """A ruler at 1200 dpi: contrast that blur turned round put its detail at the end, 5.01; the truth was 3.90."""
    cells = (np.linspace(0.05, 4.85, 90), np.zeros(90), np.zeros(90))
    weak = replace(USUAL, height=3.97, sigma=0.024, fall=0.04, drop=0.4, scatter=0.01, cells=cells)
    at_end = Opinion(5.01, 0.22, 1)
    found = judge_both(at_end, weak)
    assert (found.edge, found.height) == (0, 3.97)
    assert found.sigma > 0.4
    assert "at or beyond the end" in found.warnings[0]
    # alone it is a height, known roughly: bars far apart, whose spectrum says nothing
    assert (judge_both(None, weak).height, judge_both(None, weak).edge) == (3.97, 0)
    assert judge_both(None, weak).sigma > 0.05
    assert judge_both(None, weak, wave=True) is None
    # a single frequency feigns tops; a top close to the end, or known no better, may lie beyond it
    assert judge_both(at_end, weak, wave=True).edge == 1
    assert judge_both(at_end, replace(weak, height=4.5)).edge == 1
    assert judge_both(at_end, replace(weak, sigma=0.2)).edge == 1


def test_a_top_between_edges_far_apart_is_doubted():
    """A chart of few bars: its nearest edge lay 0.56 mm from the top, which was off by 0.45."""
    assert edges_say(replace(USUAL, gap=0.56)).total == pytest.approx(
        np.hypot(edges_say(USUAL).total, 0.28), abs=0.001
    )


def test_a_top_with_hardly_a_flank_before_an_end_is_at_that_end():
    """Within three sigma of it and within a twentieth of the heights seen; doubt from elsewhere does not count."""
    ends = (1.0, 7.0)
    assert by_an_end(Judged(1.2, 0.07, 0, "detail"), ends).edge == -1
    assert by_an_end(Judged(6.8, 0.07, 0, "detail"), ends).edge == 1
    assert by_an_end(Judged(1.2, 0.05, 0, "detail"), ends).edge == 0
    assert by_an_end(Judged(2.0, 0.5, 0, "detail"), ends).edge == 0
    assert by_an_end(Judged(4.0, 0.01, 1, "edges"), ends).edge == 1


USUAL = EdgeFit(
    height=2.67, sigma=0.04, edge=0, fall=0.5, scatter=0.03, bins=90, tilt=0.0, lean=(0.0, 0.0), reach=5.0,
    cells=(np.zeros(0), np.zeros(0), np.zeros(0)), drop=0.56, isolated=True, gap=0.01,
)  # fmt: skip


def test_edges_that_scatter_speak_roughly_where_nothing_else_does():
    rough = replace(USUAL, fall=0.25, drop=0.3, scatter=0.1)
    assert edges_say(rough) is None
    assert edges_alone(rough).height == 2.67
    assert edges_alone(rough).total > 0.07
    for less in (
        {"fall": 0.09, "scatter": 0.03},
        {"scatter": 0.13},
        {"bins": 40},
        {"isolated": False},
        {"edge": 1},
    ):
        assert edges_alone(replace(rough, **less)) is None
    assert edges_alone(None) is None


def test_edges_that_scatter_contradict_detail_that_lies_far_away():
    """A picture crisp near the low end: detail said 1.23 +- 0.04 mm, its scattering edges 4.22, the truth was 4.16."""
    rough = replace(USUAL, height=4.22, fall=0.34, drop=0.48, scatter=0.123)
    detail = Opinion(1.23, 0.033, 0, floor=0.024)
    assert judge_both(detail, rough).sigma > 1.4
    assert judge_both(detail, rough).warnings
    near = replace(detail, height=4.3)
    assert judge_both(near, rough) == reconcile(near, None)
    assert judge_both(None, rough).height == 4.22
    assert judge_both(None, replace(rough, bins=40)) is None


def test_rows_by_edges_need_two_parts_and_a_width():
    rows = ((0.1, 2.6, 0.01), (0.5, 2.67, 0.01), (0.9, 2.74, 0.01))
    found = rows_of_edges(replace(USUAL, rows=rows), 8.0)
    assert [(r.across, r.height) for r in found] == [(a, h) for a, h, _ in rows]
    assert all(0.015 < r.sigma < 0.03 for r in found)
    assert rows_apart(found) == pytest.approx(0.14)
    assert rows_of_edges(replace(USUAL, rows=rows), 3.0) == ()
    assert rows_of_edges(replace(USUAL, rows=rows[:1]), 8.0) == ()
    assert rows_of_edges(replace(USUAL, rows=rows, fall=0.03), 8.0) == ()  # a top on one side only
    assert rows_of_edges(None, 8.0) == ()


def test_what_edges_may_say_depends_on_their_flanks():
    def fit(**given):
        return edges_say(replace(USUAL, **given))

    assert fit().firm
    assert not fit().weak
    one_sided = fit(fall=0.06, scatter=0.075)
    assert one_sided.weak
    assert not one_sided.firm
    assert fit(fall=0.06, scatter=0.075, bins=20) is None
    assert fit(fall=0.06, drop=0.06, scatter=0.075) is None
    # one flank far away says nothing of an end
    assert fit(edge=-1, gap=0.2).edge == -1
    assert fit(edge=-1, gap=3.8) is None
