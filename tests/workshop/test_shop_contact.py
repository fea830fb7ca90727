"""Which supports of a frame push: the law of contact on a matrix of its own, and large frames in bounded time."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import NotConverged
from holders.design.model import Part, Rect, Slab
from holders.design.parts import factored
from holders.design.parts.factored import Triplets, solver_of
from holders.design.parts.grillage import Beam, deflect
from holders.design.parts.members import NEAR_MM, SectionMaterial, beams_of, stretches_of
from holders.geometry.outline import Region, rectangle
from holders.workshop.stiffness.contact_set import Flexible, at_rest
from holders.workshop.stiffness.onfeet import Stand, lying, with_foot
from tests.workshop.test_shop_onfeet import CORNERS, stood

FORCE_N, GAP_MM = 1e-6, 1e-6


def lattice(columns: int, rows: int, pitch: float = 40.0, load: float = 4e-3) -> Stand:
    """A grid of equal beams on feet in its corners, soft enough to come down on the glass in many places."""
    nodes = tuple((pitch * i, pitch * j) for j in range(rows + 1) for i in range(columns + 1))
    across = [
        (j * (columns + 1) + i, j * (columns + 1) + i + 1) for j in range(rows + 1) for i in range(columns)
    ]
    along = [
        (j * (columns + 1) + i, (j + 1) * (columns + 1) + i) for j in range(rows) for i in range(columns + 1)
    ]
    beams = tuple(Beam(a, b, 2e5, 1e5, load) for a, b in across + along)
    feet = (0, columns, rows * (columns + 1), len(nodes) - 1)
    return Stand(nodes, beams, feet, 1.0)


def forces_on(
    stand: Stand, depth: np.ndarray, slopes: tuple[np.ndarray, np.ndarray], kappa: float
) -> np.ndarray:
    """What every node's support would have to push (N), from the slope-deflection equations of each beam.

    End moments 2 E I (2 a + b - 3 psi) / l and shears (Hibbeler, Structural Analysis, slope-deflection; from memory).
    """
    push = np.zeros(len(stand.nodes))
    for beam in stand.beams:
        (x0, y0), (x1, y1) = stand.nodes[beam.start], stand.nodes[beam.end]
        long = float(np.hypot(x1 - x0, y1 - y0))
        c, s = (x1 - x0) / long, (y1 - y0) / long
        a, b = (c * slopes[0][n] + s * slopes[1][n] for n in (beam.start, beam.end))
        psi = (depth[beam.end] - depth[beam.start]) / long
        shear = 6 * beam.bending / long**2 * (a + b - 2 * psi)
        half = stand.load_share * beam.load * long / 2
        push[beam.start] += half - shear
        push[beam.end] += half + shear
    del kappa  # even along a beam: a pair of end moments, and no shear
    return push


@settings(max_examples=15, deadline=None)
@given(st.integers(1, 5), st.integers(1, 5), st.floats(0.0, 0.3), st.floats(0.2, 4.0))
def test_supports_only_push_and_only_where_they_touch(
    columns: int, rows: int, kappa: float, share: float
) -> None:
    """The law of Signorini: no support pulls, nothing goes through, and what pushes touches."""
    made = lattice(columns, rows)
    stand = Stand(made.nodes, made.beams, made.feet, made.room_mm, share)
    found = lying(stand, 1.0, kappa)
    push = forces_on(stand, found.depth, (found.slope_x, found.slope_y), kappa)
    gap = np.where(np.isin(np.arange(len(push)), stand.feet), 0.0, stand.room_mm) - found.depth
    assert push.min() > -FORCE_N
    assert gap.min() > -GAP_MM
    assert np.abs(push * gap).max() < FORCE_N
    weight = share * 40.0 * sum(beam.load for beam in stand.beams)
    assert push.sum() == pytest.approx(weight, rel=1e-6)


def test_the_sparse_way_gives_what_the_dense_one_does(monkeypatch: pytest.MonkeyPatch) -> None:
    made = lattice(4, 5)
    dense = deflect(made.nodes, made.beams, (0,), made.feet)
    monkeypatch.setattr(factored, "DENSE_UP_TO", 0)
    sparse = deflect(made.nodes, made.beams, (0,), made.feet)
    np.testing.assert_allclose(sparse.w, dense.w, rtol=1e-8, atol=1e-10)
    np.testing.assert_allclose(sparse.push, dense.push, rtol=1e-7, atol=1e-10)


@pytest.mark.parametrize("most", [0, 400])
def test_what_nothing_holds_is_refused(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    monkeypatch.setattr(factored, "DENSE_UP_TO", most)
    one = np.array([0, 0, 1, 1])
    loose = Triplets(one, np.array([0, 1, 0, 1]), np.array([1.0, -1.0, -1.0, 1.0]), 2)
    with pytest.raises(NotConverged, match="hang together"):
        solver_of(loose)


def test_one_factor_serves_cold_warm_and_aged() -> None:
    """Half the modulus sags twice as deep, from the same factor."""
    stand = stood(CORNERS)
    grid = Flexible(stand.nodes, stand.beams, stand.feet)
    cold = at_rest(grid, grid.weight, 1e9)
    aged = at_rest(grid, 2 * grid.weight, 1e9)
    np.testing.assert_allclose(aged.answer, 2 * cold.answer, rtol=1e-9, atol=1e-12)


def test_a_large_soft_frame_comes_to_rest_soon() -> None:
    """As many nodes as sixty windows have, on the glass in most places: once 45 s and no end."""
    stand = lattice(24, 32)
    start = time.process_time()
    found = lying(stand)
    assert time.process_time() - start < 5.0
    assert len(found.grounded) > 200
    assert found.deepest_mm == pytest.approx(stand.room_mm, abs=GAP_MM)


def test_a_line_beside_another_makes_no_beam_of_no_length() -> None:
    """A hand that grips at the very middle of a rail, but for rounding: once a division by zero."""
    part = Part(
        "f", "f", "knife", "m", 1,
        (Slab("s", 0.0, 5.0, Region(rectangle(0, 0, 200, 280), tuple(rectangle(x, 20, 70, 240) for x in (20, 110)))),),
    )  # fmt: skip
    holes = [Rect(20, 20, 70, 240), Rect(110, 20, 70, 240)]
    plain = stretches_of([part], holes, ((60.0, 100.0, 140.0), ()))
    near = stretches_of([part], holes, ((60.0, 100.0 + 1e-8, 140.0), ()))
    assert len(near) == len(plain)
    for stretches in (plain, near):
        nodes, beams = beams_of(stretches, SectionMaterial(2000.0, 0.38, 1270.0))
        assert min(math.dist(nodes[b.start], nodes[b.end]) for b in beams) > NEAR_MM
    # a foot that stands a hair beside a node is that node's
    stand = stood([(10.0, 10.0)])
    moved = with_foot(stand, (10.0, 270.0 - 1e-5))
    assert len(moved.nodes) == len(stand.nodes)
