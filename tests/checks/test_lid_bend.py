"""The bound on a lid's rails: the formula of a beam on two ends, by hand, and what it is said of."""

from __future__ import annotations

import pytest

from holders.design.model import Part, Slab
from holders.design.parts.roles import Role
from holders.fittings.lid.bend import rail_bow_mm
from holders.geometry.outline import Region, rectangle


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
