"""A weight on a lid is two steel bars that weigh so much, lie wholly on its long rails, and stand on the sheet."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from holders.design.model import Design
from holders.design.parts.roles import own_lids
from holders.design.resolve import design
from holders.fittings.lid.fitted import LidFrame
from holders.fittings.lid.weights import BEHIND_MM, PairOfBars, pair_of_bars
from holders.geometry.outline import points
from holders.preset.load import parse
from holders.preset.resolve import Job
from holders.preset.shipped import preset_path
from holders.study import job_of

STEEL_G_MM3, G = 7.85e-3, 9.80665  # density of mild steel: handbook value, from memory


@pytest.fixture(scope="module")
def strips() -> tuple[Job, Design, LidFrame, PairOfBars]:
    path = preset_path(Path("35mm-channel"))
    job = job_of(parse(path.read_text(), str(path)))[0]
    made = design(job, uncut=True)
    lid = made.find(LidFrame)
    assert lid is not None
    assert lid.laid is not None
    return job, made, lid, lid.laid


def test_the_two_bars_weigh_what_the_film_was_computed_with(
    strips: tuple[Job, Design, LidFrame, PairOfBars],
) -> None:
    _, _, lid, pair = strips
    grams = 2 * pair.length_mm * pair.bar.width_mm * pair.bar.height_mm * STEEL_G_MM3
    assert grams * G / 1000 == pytest.approx(lid.extra_n, rel=0.01)


def test_they_lie_wholly_on_the_long_rails(strips: tuple[Job, Design, LidFrame, PairOfBars]) -> None:
    job, made, _, pair = strips
    assert made.total_height + pair.bar.height_mm <= job.bed.lid_room_mm
    for part in own_lids(made):
        region = max(part.slabs, key=lambda slab: slab.z1).region
        top = shapely.Polygon(points(region.outer, 0.01), [points(hole, 0.01) for hole in region.holes])
        (hole,) = top.interiors
        left, low, right, high = hole.bounds
        wide, gap, y = pair.bar.width_mm, BEHIND_MM, (low + high - pair.length_mm) / 2
        for x in (left - gap - wide, right + gap):
            assert top.buffer(0.01).contains(shapely.box(x, y, x + wide, y + pair.length_mm))


def test_the_sheet_says_which_bars_and_where(strips: tuple[Job, Design, LidFrame, PairOfBars]) -> None:
    job, made, lid, pair = strips
    (row,) = lid.to_buy(job, made)
    assert (row.what, row.quantity) == (pair.called, 2 * len(made.windows))
    (loading,) = lid.loading("film")
    assert "one along each long rail" in loading
    assert "take the bars off" in loading


def test_rails_too_narrow_for_any_bar_leave_it_open(strips: tuple[Job, Design, LidFrame, PairOfBars]) -> None:
    _, made, lid, _ = strips
    assert pair_of_bars(lid.extra_n, own_lids(made), room_mm=0.5) is None
    assert pair_of_bars(500.0, own_lids(made), room_mm=50.0) is None
