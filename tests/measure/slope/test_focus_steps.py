"""Single steps of the measurement on a slope, on input whose answer is known in closed form."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.special import erf

from holders.measure.slope.edges.curve import _cells
from holders.measure.slope.edges.find import Edges
from holders.measure.slope.edges.resolution import _measured
from holders.measure.slope.edges.spread import lay_out
from holders.measure.slope.target.marks import _rows, _Slots
from holders.measure.slope.target.phase import _spacing
from holders.measure.slope.target.ticks import _lean


def test_edges_that_are_all_alike_leave_the_least_doubt_of_the_resolution():
    """A step blurred by a Gaussian of 0.8 pixels: half of the contrast where exp(-2 pi^2 s^2 f^2) sinc(f) is 1/2."""
    y, x = np.mgrid[0:40, 0:64]
    sub = (np.arange(8) + 0.5) / 8 - 0.5
    lean = np.radians(5.0)
    laid = []
    for shift in np.linspace(-0.5, 0.5, 16):
        off = x[..., None] + sub - 31.5 - shift - np.tan(lean) * (y[..., None] - 19.5)
        laid.append(
            lay_out(0.1 + 0.4 * (1.0 + erf(off * np.cos(lean) / (0.8 * np.sqrt(2.0)))).mean(axis=-1), 30)
        )
    found = _measured(laid, 30, 0.01)
    f = np.linspace(0.0, 0.5, 5001)
    expected = f[np.argmax(np.exp(-2.0 * np.pi**2 * 0.8**2 * f**2) * np.sinc(f) < 0.5)]
    assert found.mtf50_lp_mm == pytest.approx(expected / 0.01, rel=0.03)
    assert found.sigma == pytest.approx(0.02 * found.mtf50_lp_mm, rel=0.2)


def test_every_cell_counts_its_edges():
    rng = np.random.default_rng(1)
    n = 9000  # 25 a cell: none is below the four that a cell needs
    edges = Edges(
        height=rng.uniform(0.0, 6.0, n), across=rng.uniform(-0.5, 0.5, n), along=np.zeros(n),
        steepness=rng.uniform(5.0, 9.0, n), contrast=np.ones(n), lengthwise=np.zeros(n, bool),
        kind=np.zeros(n, int),
    )  # fmt: skip
    cells = _cells(edges, (0.0, 6.0))
    assert len(cells.n) == 90 * 4
    assert cells.n.sum() == n
    assert np.exp(cells.y).min() >= 5.0
    assert np.exp(cells.y).max() <= 9.0


def test_strips_without_ticks_do_not_lean():
    assert _lean(np.ones((8, 200), np.float32), 0.0) == 0.0


def test_ticks_lean_as_they_were_drawn():
    rows, along = np.mgrid[0:16, 0:400].astype(np.float32)
    light = np.cos(2 * np.pi * (along - 0.05 * rows) / 20.0).astype(np.float32)
    assert abs(_lean(light, 20.0)) == pytest.approx(0.05, abs=1e-3)


@pytest.mark.parametrize(
    ("distance", "believed"), [(179.0, False), (180.4, True), (300.0, True), (499.0, True), (501.0, False)]
)
def test_perspective_gives_the_lens_distance_within_what_is_believed(distance, believed):
    """Ticks over a slope s spread by (s / D) u^2 in perspective; a D outside of 180 to 500 mm is no flatbed's."""
    pitch, pixels, slope = 0.01, 10_000, 0.05
    length = pixels * pitch
    bend_px = slope / distance * length**2 / pitch
    view = SimpleNamespace(pitch_mm=pitch)
    placed = SimpleNamespace(part=SimpleNamespace(along=(0, pixels)), per_pixel_mm=slope * pitch)
    found = _spacing(np.array([0.0, float(pixels), bend_px, 0.0]), 0.01, view, placed, 0.5)
    assert found.bend_mm == pytest.approx(-slope / distance * length**2 / 4)
    if believed:
        assert found.distance_mm == pytest.approx(distance)
        assert found.sag_mm == 0.0
    else:
        assert found.distance_mm is None
        assert np.isinf(found.sag_sigma_mm)


def test_slots_on_one_line_are_a_row_and_others_are_not_in_it():
    """Thirty slots side by side, square to their row; one askew and one far off."""
    centre = np.array([[20.0 * k, 100.0] for k in range(30)] + [[310.0, 102.0], [300.0, 900.0]])
    axis = np.tile([0.0, 1.0], (32, 1))
    axis[30] = (1.0, 0.0)
    groups = _rows(_Slots(centre, np.full(32, 40.0), np.full(32, 8.0), axis))
    assert [group.tolist() for group in groups] == [list(range(30))]
