"""The printed focus ramp, measured on its own solid: the height at every mark is what the analysis will read."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path
from shutil import which

import numpy as np
import pytest
import trimesh
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from holders.core.errors import InputError
from holders.design.model import Part
from holders.design.ramp_parts import cut_ramp, lid_frame, printed_ramp
from holders.face.cli.commands.ramping import printed_words, sheet_words
from holders.face.shared.ramp import ramp_bundle
from holders.geometry.outline import Vertex
from holders.measure.ramp import RampGeometry, make_ramp
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


def test_the_bay_is_open_at_the_high_end_for_a_long_ruler(ramp: RampGeometry, solid: trimesh.Trimesh) -> None:
    """A ruler as wide as the target meets nothing above its own line between slope's end and ramp's end."""
    bay = ramp.bay
    xs = np.linspace(ramp.slope_end_mm + 0.3, ramp.length_mm - 0.05, 23)
    for y in (bay.y0 + 0.4, (bay.y0 + bay.y1) / 2 + 0.013, bay.y1 - 0.4):
        assert profile(solid, y, xs).max() <= ramp.high_mm + 1e-6


def test_the_frame_slides_between_the_walls_and_leaves_the_window_free(ramp: RampGeometry) -> None:
    made = mesh(build(lid_frame(ramp)))
    lid = trimesh.Trimesh(made.vertices, made.triangles, process=True)
    assert lid.is_watertight
    (x0, y0, _), (x1, y1, _) = lid.bounds
    assert 0.3 <= y0 - ramp.bay.y0 <= 0.6
    assert 0.3 <= ramp.bay.y1 - y1 <= 0.6
    assert x0 > ramp.bay.x0
    assert x1 <= ramp.length_mm
    w = ramp.window
    xs = np.linspace(w.x0 + 0.2, w.x1 - 0.2, 19)
    assert (profile(lid, (w.y0 + w.y1) / 2 + 0.013, xs) == 0.0).all()
    # it lies on both ledges' edges of the film
    assert y0 < w.y0 - 2.0
    assert y1 > w.y1 + 2.0


def _vertices(part: Part) -> tuple[Vertex, ...]:
    region = part.slabs[0].region
    return region.outer.vertices


def test_the_sheets_put_together_by_their_text_give_the_heights_of_their_own_json(ramp: RampGeometry) -> None:
    sheet = 3.0
    own = ramp.from_sheet(sheet)
    rail, base, frame = cut_ramp(own, sheet)
    assert (rail.quantity, base.quantity, frame.quantity) == (2, 1, 1)
    assert len(base.slabs[0].region.holes) == len(own.marks()) + 1
    # the rail's outline stands on the base with its left end at the place that the text names
    near, far = own.rail_places(sheet)
    shape = np.array([(v.x, v.y) for v in _vertices(rail)])
    assert shape[:, 0].min() == pytest.approx(near.x0)
    assert shape[:, 1].min() == 0.0
    upper = shape[shape[:, 1] > 1e-9]
    order = np.argsort(upper[:, 0])
    for mark in own.marks():
        x = (mark.box.x0 + mark.box.x1) / 2
        if own.slope_start_mm < x < own.slope_end_mm:
            top = sheet + np.interp(x, upper[order, 0], upper[order, 1])
            assert mark.height_mm == pytest.approx(top, abs=1e-6)
    # each rail stands wholly on the base: beside the window, within the outline, and under the target's edges
    window = max(base.slabs[0].region.holes, key=lambda h: max(v.y for v in h.vertices))
    ys = [v.y for v in window.vertices]
    assert near.y1 < min(ys) < max(ys) < far.y0
    assert 0 < near.y0 < far.y1 < own.width_mm
    assert far.y1 - near.y0 < own.target_width_mm
    lines = [stroke for groove in base.grooves for stroke in groove.strokes]
    assert sorted({round(a[1], 6) for a, _ in lines}) == pytest.approx([near.y0, near.y1, far.y0, far.y1])


def test_sheet_that_leaves_no_slope_is_refused() -> None:
    with pytest.raises(InputError, match="sheet_mm"):
        make_ramp(high_mm=3.0).from_sheet(3.0)


def test_the_text_names_every_file_and_place(ramp: RampGeometry) -> None:
    names = set(ramp_bundle(ramp, 3.0))
    assert {
        "ramp.stl",
        "ramp.step",
        "rail.dxf",
        "base.dxf",
        "frame.dxf",
        "ramp.json",
        "ramp-from-sheet.json",
    } <= names
    told = " ".join(sheet_words(ramp, 3.0, Path("out")))
    own = ramp.from_sheet(3.0)
    near, far = own.rail_places(3.0)
    for number in (near.y0, near.y1, far.y0, far.y1, near.x0):
        assert f"{number:.1f}" in told
    for name in ("rail.dxf", "base.dxf", "frame.dxf", "ramp-from-sheet.json"):
        assert name in told
    assert "facing the glass" in " ".join(printed_words(ramp, Path("out")))


@pytest.mark.outside
@pytest.mark.skipif(which("admesh") is None, reason="admesh is not installed")
def test_another_program_finds_no_fault_in_ramp_and_frame(ramp: RampGeometry, tmp_path: Path) -> None:
    """ADMesh (Debian): no edge to repair, one part each."""
    for name in ("ramp.stl", "ramp-lid.stl"):
        path = tmp_path / name
        path.write_bytes(ramp_bundle(ramp, None)[name]())
        told = subprocess.run(["admesh", str(path)], capture_output=True, text=True, check=True).stdout
        assert re.search(r"Number of parts\s*:\s*1\b", told)
        for kind in ("Edges fixed", "Facets removed", "Facets added", "Facets reversed", "Degenerate facets"):
            assert re.search(rf"{kind}\s*:\s*0\b", told), kind
