"""Two ways of judging sharpness made one, and the chance of being near."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy import stats

from holders.measure.slope.doubt import Opinion, chance_near, detail_says, edges_say, reconcile
from holders.measure.slope.edges.curve import EdgeFit


@pytest.mark.parametrize("sigma", [0.005, 0.03, 0.07, 0.2, 1.0])
def test_the_chance_is_that_of_students_law(sigma):
    law = stats.t(4, scale=sigma * 2.0 / stats.t(4).ppf(0.97725))
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


def test_what_edges_may_say_depends_on_their_flanks():
    def fit(**given):
        cells = (np.zeros(0), np.zeros(0), np.zeros(0))
        usual = EdgeFit(
            height=2.67, sigma=0.04, edge=0, fall=0.5, scatter=0.03, bins=90, tilt=0.0, lean=(0.0, 0.0), reach=5.0,
            cells=cells, drop=0.56, isolated=True, gap=0.01,
        )  # fmt: skip
        return edges_say(replace(usual, **given))

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
