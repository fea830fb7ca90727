"""The printed focus ramp, measured on its own solid: the height at every mark is what the analysis will read."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from holders.design.ramp_parts import cut_ramp, printed_ramp
from holders.measure.ramp import RampGeometry, make_ramp
from holders.output.bundle.ramp_files import ramp_files
from holders.solid.build import build
from holders.solid.mesh import mesh


@pytest.fixture(scope="module", params=[{}, {"high_mm": 10.0, "layer_mm": 0.2}])
def ramp(request: pytest.FixtureRequest) -> RampGeometry:
    return make_ramp(**request.param)


@pytest.fixture(scope="module")
def solid(ramp: RampGeometry) -> trimesh.Trimesh:
    made = mesh(build(printed_ramp(ramp)))
    return trimesh.Trimesh(made.vertices, made.triangles, process=True)


def test_one_watertight_body_for_a_small_printer(ramp: RampGeometry, solid: trimesh.Trimesh) -> None:
    assert solid.is_watertight
    joined = csr_matrix((np.ones(len(solid.edges)), solid.edges.T), shape=(len(solid.vertices),) * 2)
    assert connected_components(joined, directed=False)[0] == 1
    assert max(solid.extents) <= 176.0  # a 180 mm plate with 2 mm kept free
    assert solid.extents[2] == pytest.approx(ramp.wall_height_mm)


def profile(solid: trimesh.Trimesh, y: float, xs: np.ndarray) -> np.ndarray:
    """Height of the solid's top along y at each x: the solid's own triangles cut by an upright plane; 0 where open."""
    lines = trimesh.intersections.mesh_plane(solid, [0.0, 1.0, 0.0], [0.0, y, 0.0])
    x0, x1 = lines[:, :, 0].min(axis=1), lines[:, :, 0].max(axis=1)
    top = np.zeros(len(xs))
    for k, x in enumerate(xs):
        here = (x0 <= x) & (x <= x1)
        top[k] = max([0.0, *lines[here][:, :, 2].max(axis=1)])
    return top


def test_the_target_lies_at_its_height_over_every_mark(ramp: RampGeometry, solid: trimesh.Trimesh) -> None:
    ledge = ramp.ledges()[0]
    xs = np.arange(ramp.slope_start_mm + 0.517, ramp.slope_end_mm - 0.5, 0.0473)
    top = profile(solid, (ledge.y0 + ledge.y1) / 2 + 0.013, xs)
    line = ramp.low_mm + ramp.slope * (xs - ramp.slope_start_mm)
    # no tread rises over the target's line (a straight stiff target rests on their low-side corners) ...
    assert (top <= line + 0.003).all()
    # ... and near every mark one touches it, so the target is where the mark says
    reach = ramp.layer_mm / ramp.slope
    for mark in ramp.marks():
        x = (mark.box.x0 + mark.box.x1) / 2
        near = np.abs(xs - x) <= reach
        if near.any() and ramp.slope_start_mm + reach < x < ramp.slope_end_mm - reach:
            assert (line - top)[near].min() == pytest.approx(0.0, abs=0.005)
            assert mark.height_mm == pytest.approx(ramp.low_mm + ramp.slope * (x - ramp.slope_start_mm))


def test_marks_are_open_slots_through_the_floor(ramp: RampGeometry, solid: trimesh.Trimesh) -> None:
    marks = ramp.marks()
    y = (marks[0].box.y0 + marks[0].box.y1) / 2 + 0.011
    middles = np.array([(m.box.x0 + m.box.x1) / 2 + 0.007 for m in marks])
    assert (profile(solid, y, middles) == 0.0).all()
    between = (middles[1:] + middles[:-1]) / 2
    assert profile(solid, y, between) == pytest.approx(ramp.floor_mm)


def test_light_passes_the_window(ramp: RampGeometry, solid: trimesh.Trimesh) -> None:
    w = ramp.window
    xs = np.linspace(w.x0 + 1, w.x1 - 1, 57)
    assert (profile(solid, (w.y0 + w.y1) / 2 + 0.017, xs) == 0.0).all()


def test_sheets_for_laser_or_knife(ramp: RampGeometry) -> None:
    rail, strip = cut_ramp(ramp, 3.0)
    assert rail.quantity == 2
    assert len(strip.slabs[0].region.holes) == len(ramp.marks())
    names = set(ramp_files(ramp, 3.0, 0.18))
    assert {"ramp.stl", "ramp.step", "rail.dxf", "marks.dxf"} <= names
