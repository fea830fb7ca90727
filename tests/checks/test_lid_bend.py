"""The bound on a lid's rails: the formula of a beam on two ends, by hand, and what it is said of."""

from __future__ import annotations

import pytest

from holders.design.held.film_in_holder import designed
from holders.design.held.held_film import sheet_of
from holders.design.model import Part, Slab
from holders.design.parts.roles import Role
from holders.fittings.lid.bend import free_rise_mm, rail_bow_mm
from holders.fittings.lid.check import LidFit
from holders.geometry.outline import Region, rectangle
from tests.presets_made import job


def frame(rail_mm: float, high_mm: float, width: float = 100.0, length: float = 254.0) -> Part:
    hole = rectangle(rail_mm, 20.0, width - 2 * rail_mm, length - 40.0)
    slab = Slab("lid", 3.0, 3.0 + high_mm, Region(rectangle(0.0, 0.0, width, length), (hole,)))
    return Part("lid", "lid", "print", "petg", 1, (slab,), role=Role.LID)


def test_a_long_thin_rail_bows_as_a_beam_on_two_ends() -> None:
    """254 x 10 x 6 mm of 2000 MPa under 1 N in all: 5 F L³ / (384 E I) with I = 180 mm⁴ is 0.593 mm (by hand)."""
    assert rail_bow_mm([frame(10.0, 6.0)], 2000.0, 2.0) == pytest.approx(0.593, abs=0.0005)
    assert rail_bow_mm([frame(10.0, 3.0)], 2000.0, 2.0) == pytest.approx(4.742, abs=0.0005)


def test_the_weakest_rail_of_all_lids_counts_and_pieces_do_not() -> None:
    bare = Slab("lid", 3.0, 9.0, Region(rectangle(0.0, 0.0, 100.0, 120.0)))
    piece = Part("lid-piece-1", "lid", "print", "petg", 1, (bare,), role=Role.LID)
    assert rail_bow_mm([piece], 2000.0, 2.0) is None
    assert rail_bow_mm([frame(10.0, 6.0), frame(10.0, 3.0), piece], 2000.0, 2.0) == pytest.approx(
        4.742, abs=0.0005
    )


def test_film_lifts_no_rail_farther_than_it_rises_by_itself() -> None:
    """A narrow strip without weight on two ledges lies on an arc: its edges or middle rise k c^2 / 8 at most.

    k = 1 per m on the 202 mm of an 8x10 sheet is 5.1 mm; its weight takes nearly all of that. With rails that bend like
    paper the bound is that of the film, with stiff ones that of the rail (beam on two ends).
    """
    tables = {"film": {"format": "8x10"}, "base": {"curl_per_m": 1.0}, "layout": {"count": 1}}
    thin = job(**tables, lid={"thickness_mm": 0.8, "play_mm": 0.0})
    made, _ = designed(thin, ranges=False)
    free = free_rise_mm(sheet_of(thin, made.mine[0]), made)
    assert free is not None
    assert made.sag is not None
    assert made.sag.lid is not None
    assert 0.0 < free < 1e-3 * 202**2 / 8
    lids = [part for part in made.parts if part.role is Role.LID]
    bow = rail_bow_mm(lids, thin.material.modulus_mpa, made.sag.lid.needed_n)
    assert bow is not None
    assert bow > 10 * free
    words = [f.where for f in LidFit().check(thin, made) if "rail bow at most" in f.where]
    assert [w.count(f"at most {free:.2f} mm") for w in words] == [1]
