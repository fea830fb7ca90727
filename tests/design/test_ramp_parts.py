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
from holders.design.ramp_parts import (
    HORN_FLARE_MM,
    HORN_MM,
    HORN_OUT_MM,
    LID_PLAY_MM,
    NECK_TOP_MM,
    cut_ramp,
    frame_layers,
    frame_top_mm,
    hook_places,
    horn_places,
    lid_frame,
    printed_ramp,
    spacer_places,
)
from holders.face.shared.ramp import ON_PAGE, TARGET_MM, RampWish, lower_ramp, ramp_bundle, refuse_too_high
from holders.face.shared.ramp_steps import printed_words, ramp_steps, sheet_words
from holders.geometry.outline import Vertex
from holders.measure.ramp import RampGeometry, make_ramp
from holders.solid.build import build
from holders.solid.mesh import mesh

LOW = {"high_mm": 4.5, "frame_mm": 5.0, "far_mm": 5.0}  # for a lid that leaves 12 mm


@pytest.fixture(scope="module", params=[{}, {"high_mm": 10.0, "layer_mm": 0.2}])
def ramp(request: pytest.FixtureRequest) -> RampGeometry:
    return make_ramp(**request.param)


@pytest.fixture(scope="module", params=[{}, {"high_mm": 10.0, "layer_mm": 0.2}, LOW])
def printed(request: pytest.FixtureRequest) -> RampGeometry:
    """Ramps to be printed, one of them too low to be cut from sheet of 3 mm."""
    return make_ramp(**request.param)


@pytest.fixture(scope="module")
def solid(printed: RampGeometry) -> trimesh.Trimesh:
    made = mesh(build(printed_ramp(printed)))
    return trimesh.Trimesh(made.vertices, made.triangles, process=True)


def test_one_watertight_body_for_a_small_printer(printed: RampGeometry, solid: trimesh.Trimesh) -> None:
    assert solid.is_watertight
    joined = csr_matrix((np.ones(len(solid.edges)), solid.edges.T), shape=(len(solid.vertices),) * 2)
    assert connected_components(joined, directed=False)[0] == 1
    assert max(solid.extents) <= 176.0  # a 180 mm plate with 2 mm kept free
    assert solid.extents[2] == pytest.approx(printed.wall_height_mm)


def profile(solid: trimesh.Trimesh, y: float, xs: np.ndarray) -> np.ndarray:
    """Height of the solid's top along y at each x: the solid's own triangles cut by an upright plane; 0 where open."""
    lines = trimesh.intersections.mesh_plane(solid, [0.0, 1.0, 0.0], [0.0, y, 0.0])
    x0, x1 = lines[:, :, 0].min(axis=1), lines[:, :, 0].max(axis=1)
    top = np.zeros(len(xs))
    for k, x in enumerate(xs):
        here = (x0 <= x) & (x <= x1)
        top[k] = max([0.0, *lines[here][:, :, 2].max(axis=1)])
    return top


def test_the_target_lies_at_its_height_over_every_mark(printed: RampGeometry, solid: trimesh.Trimesh) -> None:
    ledge = printed.ledges()[0]
    xs = np.arange(printed.slope_start_mm + 0.517, printed.slope_end_mm - 0.5, 0.0473)
    top = profile(solid, (ledge.y0 + ledge.y1) / 2 + 0.013, xs)
    line = printed.low_mm + printed.slope * (xs - printed.slope_start_mm)
    # no tread rises over the target's line (a straight stiff target rests on their low-side corners) ...
    assert (top <= line + 0.003).all()
    # ... and near every mark one touches it, so the target is where the mark says
    reach = printed.layer_mm / printed.slope
    for mark in printed.marks():
        x = (mark.box.x0 + mark.box.x1) / 2
        near = np.abs(xs - x) <= reach
        if near.any() and printed.slope_start_mm + reach < x < printed.slope_end_mm - reach:
            assert (line - top)[near].min() == pytest.approx(0.0, abs=0.005)
            assert mark.height_mm == pytest.approx(
                printed.low_mm + printed.slope * (x - printed.slope_start_mm)
            )


def test_marks_are_open_slots_through_the_floor(printed: RampGeometry, solid: trimesh.Trimesh) -> None:
    marks = printed.marks()
    y = (marks[0].box.y0 + marks[0].box.y1) / 2 + 0.011
    middles = np.array([(m.box.x0 + m.box.x1) / 2 + 0.007 for m in marks])
    assert (profile(solid, y, middles) == 0.0).all()
    between = (middles[1:] + middles[:-1]) / 2
    assert profile(solid, y, between) == pytest.approx(printed.floor_mm)


def test_the_raised_row_is_open_slots_through_a_plate_at_its_height(
    printed: RampGeometry, solid: trimesh.Trimesh
) -> None:
    """Cut upright along the row: through a slot nothing lies above the glass, between two only the plate does."""
    marks = printed.marks(far=True)
    y = (marks[0].box.y0 + marks[0].box.y1) / 2 + 0.011
    middles = np.array([(m.box.x0 + m.box.x1) / 2 + 0.007 for m in marks])
    assert (profile(solid, y, middles) == 0.0).all()
    between = (middles[1:] + middles[:-1]) / 2
    assert profile(solid, y, between) == pytest.approx(printed.far_mm + printed.floor_mm)
    lines = trimesh.intersections.mesh_plane(solid, [0.0, 1.0, 0.0], [0.0, y, 0.0])
    wide = np.abs(np.diff(lines[:, :, 0], axis=1))[:, 0] > 0.5
    inner = (
        wide
        & (lines[:, :, 0].min(axis=1) > marks[0].box.x0)
        & (lines[:, :, 0].max(axis=1) < marks[-1].box.x1)
    )
    undersides = lines[inner][:, :, 2].min(axis=1)
    assert undersides.min() == pytest.approx(printed.far_mm)
    assert printed.mark_height_mm(far=True) - printed.mark_height_mm(far=False) == pytest.approx(
        printed.far_mm
    )


def test_light_passes_the_window(printed: RampGeometry, solid: trimesh.Trimesh) -> None:
    w = printed.window
    xs = np.linspace(w.x0 + 1, w.x1 - 1, 57)
    assert (profile(solid, (w.y0 + w.y1) / 2 + 0.017, xs) == 0.0).all()


def test_the_bay_is_open_at_the_low_end_too(printed: RampGeometry, solid: trimesh.Trimesh) -> None:
    """The target's line, drawn on past the slope's low end, meets nothing, and does not reach the glass."""
    bay = printed.bay
    xs = np.linspace(0.05, printed.slope_start_mm - 0.05, 23)
    line = printed.low_mm + printed.slope * (xs - printed.slope_start_mm)
    for y in (bay.y0 + 0.4, (bay.y0 + bay.y1) / 2 + 0.013, bay.y1 - 0.4):
        assert (profile(solid, y, xs) < line).all()


def test_without_room_for_a_sill_the_low_end_is_open_down_to_the_glass() -> None:
    ramp = make_ramp(low_mm=0.0)
    made = mesh(build(printed_ramp(ramp)))
    solid = trimesh.Trimesh(made.vertices, made.triangles, process=True)
    assert solid.is_watertight
    xs = np.linspace(0.05, ramp.slope_start_mm, 23)
    for y in (ramp.bay.y0 + 0.4, ramp.bay.y1 - 0.4):
        assert (profile(solid, y, xs) == 0.0).all()


def test_a_band_from_horn_to_horn_presses_the_frames_ends(
    printed: RampGeometry, solid: trimesh.Trimesh
) -> None:
    """Both horns of an end stand beside a bar across the frame; their heads reach out over their necks."""
    lid = lid_frame(printed).slabs[0].region
    for x in horn_places(printed):
        assert min(v.x for v in lid.outer.vertices) < x < max(v.x for v in lid.outer.vertices)
        assert not min(v.x for v in lid.holes[0].vertices) < x < max(v.x for v in lid.holes[0].vertices)
        for side in (-1.0, 1.0):
            edge = 0.0 if side < 0 else printed.width_mm
            neck, head = edge + side * (HORN_OUT_MM - 0.2), edge + side * (HORN_OUT_MM + HORN_FLARE_MM - 0.2)
            assert profile(solid, neck, np.array([x]))[0] > 0.0
            lines = trimesh.intersections.mesh_plane(solid, [0.0, 1.0, 0.0], [0.0, head, 0.0])
            here = np.abs(lines[:, :, 0].mean(axis=1) - x) < 10.0
            assert lines[here][:, :, 2].min() > NECK_TOP_MM  # the head hangs free above the band


def test_a_band_runs_free_from_horn_to_frame_and_pulls_down(
    printed: RampGeometry, solid: trimesh.Trimesh
) -> None:
    """A straight line from above each neck to the frame's upper edge, on film, clears all walls and climbs 10 degrees.

    So a stretched band presses with a sixth of its pull or more at each side.
    """
    for x in horn_places(printed):
        top = printed.low_mm + printed.slope * (x - printed.slope_start_mm) + 0.1 + printed.frame_mm
        for side in (-1.0, 1.0):
            edge = printed.bay.y0 + LID_PLAY_MM if side < 0 else printed.bay.y1 - LID_PLAY_MM
            outer = 0.0 if side < 0 else printed.width_mm
            ys = np.linspace(outer - side * 1.1, edge, 40)
            # up the wall's outer face where it stands, then straight to the frame
            z = np.array([profile(solid, float(y), np.array([x + HORN_MM / 2 + 0.5]))[0] for y in ys])
            bend = max(NECK_TOP_MM, z[0])
            line = bend + (top - bend) * np.abs(ys - outer) / abs(edge - outer)
            assert (z <= line + 1e-6).all()
            assert top - bend >= np.tan(np.radians(10.0)) * abs(edge - outer)


def test_the_target_is_carried_under_both_bars_that_are_pulled_down(ramp: RampGeometry) -> None:
    """Treads lie on the slope's line on both sides of a band, so that the frame does not bow up between its ends."""
    corners = np.array([x for x, _, _ in ramp.stairs()])
    for low, high in ((ramp.bay.x0, ramp.window.x0), (ramp.window.x1, ramp.length_mm)):
        assert ((corners > low) & (corners < high)).any()
    low, high = horn_places(ramp)
    assert corners.min() <= low
    assert corners.max() >= high - HORN_MM / 2


def test_the_bay_is_open_at_the_high_end_for_a_long_ruler(
    printed: RampGeometry, solid: trimesh.Trimesh
) -> None:
    """A ruler as wide as the target meets nothing above its own line between slope's end and printed's end."""
    bay = printed.bay
    xs = np.linspace(printed.slope_end_mm + 0.3, printed.length_mm - 0.05, 23)
    line = printed.low_mm + printed.slope * (xs - printed.slope_start_mm)
    for y in (bay.y0 + 0.4, (bay.y0 + bay.y1) / 2 + 0.013, bay.y1 - 0.4):
        assert (profile(solid, y, xs) <= line + 1e-6).all()


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
    rail, base, spacer, plate, hook, frame = cut_ramp(own, sheet)
    assert [p.quantity for p in (rail, base, spacer, plate, hook, frame)] == [2, 1, 2, 1, 2, 3]
    assert (
        len(base.slabs[0].region.holes) == len(own.marks()) + 2
    )  # the slots, the window, the light of the far row
    assert len(plate.slabs[0].region.holes) == len(own.marks(far=True))
    # base, one spacer, then the plate: its middle lies where the json says
    assert own.mark_height_mm(far=True) == pytest.approx(sheet + sheet + sheet / 2)
    # spacers and hooks stand on the base and shade no slot
    for box in (*spacer_places(own), *hook_places(own, sheet)):
        assert box.x0 >= 0.0
        assert box.x1 <= own.length_mm
        for mark in (*own.marks(), *own.marks(far=True)):
            apart = (box.x1 < mark.box.x0, box.x0 > mark.box.x1, box.y1 < mark.box.y0, box.y0 > mark.box.y1)
            assert any(apart)
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
    middle = 0.5 * (own.bay.y0 + own.bay.y1)
    window = next(
        h
        for h in base.slabs[0].region.holes
        if min(v.y for v in h.vertices) < middle < max(v.y for v in h.vertices)
    )
    ys = [v.y for v in window.vertices]
    assert near.y1 < min(ys) < max(ys) < far.y0
    assert 0 < near.y0 < far.y1 < own.width_mm
    assert far.y1 - near.y0 < own.target_width_mm
    lines = [stroke for groove in base.grooves for stroke in groove.strokes]
    along = sorted({round(a[1], 6) for a, b in lines if a[1] == b[1]})
    assert along == pytest.approx([near.y0, near.y1, far.y0, far.y1])
    across = sorted({round(a[0], 6) for a, b in lines if a[0] == b[0]})
    blocks = [*spacer_places(own), *hook_places(own, sheet)]
    assert across == pytest.approx(sorted([*(b.x1 for b in blocks[::2]), *(b.x0 for b in blocks[1::2])]))


@pytest.mark.parametrize("sheet", [1.0, 2.0, 3.0, 4.0])
def test_cut_and_put_together_the_bands_pull_the_frame_down(sheet: float) -> None:
    """From the hook's waist and from over the raised plate a band climbs to the frame's upper edge by 10 degrees.

    The tab is free below, and nothing lies in the strands' way; the rails carry the target under both of them.
    """
    own = make_ramp().from_sheet(sheet)
    rail, _, _, plate, hook, _ = cut_ramp(own, sheet)
    tops = sorted({v.y for v in _vertices(hook)})
    waist_top = sheet + tops[2]
    plate_top = own.far_mm + sheet
    tab = [v.x for v in _vertices(plate) if v.y == pytest.approx(own.width_mm)]
    assert len(tab) == 6  # at either end a tab's corners and where the long edge begins beyond its notch
    strands = sorted(tab)[:2]
    lid = lid_frame(own).slabs[0].region
    bar = (min(v.x for v in lid.outer.vertices), min(v.x for v in lid.holes[0].vertices))
    assert bar[0] < strands[0] < strands[1] < bar[1]
    shape = _vertices(rail)
    assert min(v.x for v in shape) <= strands[0]
    assert max(v.x for v in shape) == pytest.approx(own.length_mm)
    frame_top = (
        own.low_mm - own.slope * (own.slope_start_mm - strands[0]) + 0.1 + frame_layers(own, sheet) * sheet
    )
    near = own.bay.y0 + LID_PLAY_MM - sheet
    far = own.width_mm - (own.bay.y1 - LID_PLAY_MM)
    assert frame_top - waist_top >= np.tan(np.radians(10.0)) * near
    assert frame_top - plate_top >= np.tan(np.radians(10.0)) * far
    # free below the tab: the spacers end before it
    back = max(v.y for v in _vertices(plate) if v.y < own.width_mm - 0.5)
    assert all(box.y1 < back for box in spacer_places(own))


def test_the_text_asks_for_a_target_that_lies_on_both_ledges(ramp: RampGeometry) -> None:
    """Pushed to one wall, the narrowest one still lies 2 mm or more on the ledge of the other side."""
    least = ramp.least_target_mm
    assert ramp.bay.y0 + least >= ramp.window.y1 + 2.0
    assert f"{least:g} to {ramp.target_width_mm:g} mm wide" in " ".join(printed_words(ramp, Path("out")))


def test_sheet_that_leaves_no_slope_is_refused() -> None:
    with pytest.raises(InputError, match="sheet_mm"):
        make_ramp(high_mm=3.0).from_sheet(3.0)


def test_a_ramp_that_would_not_go_below_the_lid_is_refused_and_the_cure_fits() -> None:
    # by hand: 6 mm at 159 mm, 5.2 mm in 152 mm: 6.24 at the end; a frame of 8 mm and a ruler of 2 on it
    assert frame_top_mm(make_ramp()) == pytest.approx(14.24, abs=0.005)
    refuse_too_high(RampWish(), None, 16.3)
    with pytest.raises(InputError, match=r"16\.2 mm high") as refused:
        refuse_too_high(RampWish(), None, 15.0)
    lower = re.search(r"--high ([0-9.]+),", str(refused.value))
    assert lower is not None
    refuse_too_high(RampWish(high=float(lower[1])), None, 15.0)
    with pytest.raises(InputError, match=r"lid-room.* hold the lid open") as refused:
        refuse_too_high(RampWish(), None, 9.0)
    assert "--" not in refused.value.way_out
    # cut from sheet of 3 mm its frame is thicker
    cut = frame_top_mm(make_ramp().from_sheet(3.0), 3.0)
    assert cut > frame_top_mm(make_ramp())
    with pytest.raises(InputError, match="lid-room"):
        refuse_too_high(RampWish(), 3.0, cut + TARGET_MM - 0.1)


@pytest.mark.parametrize(("room", "high", "frame"), [(15.0, 4.5, 8.0), (14.0, 6.0, 5.0), (12.0, 4.5, 5.0)])
def test_below_a_low_lid_a_ramp_is_proposed_that_still_shows_the_usual_focus(
    room: float, high: float, frame: float
) -> None:
    """By hand: height at the high end is 7/152 of the climb above --high; frame and 2 mm of ruler come on top."""
    found = lower_ramp(RampWish(), None, room)
    assert found is not None
    assert (found.high, found.frame) == (high, frame)
    assert high + 7.0 / 152.0 * (high - 0.8) + frame + 2.0 <= room
    with pytest.raises(InputError) as refused:
        refuse_too_high(RampWish(), None, room)
    assert (f"--frame {frame:g}" in refused.value.way_out) == (frame != 8.0)
    with pytest.raises(InputError) as refused:
        refuse_too_high(RampWish(), None, room, ON_PAGE)
    assert refused.value.field == "ramp.lid_room"
    assert "--" not in refused.value.way_out


def test_the_text_names_every_file_and_place(ramp: RampGeometry) -> None:
    names = set(ramp_bundle(ramp, 3.0))
    assert {
        "ramp.stl",
        "ramp.step",
        "rail.dxf",
        "base.dxf",
        "frame.dxf",
        "spacer.dxf",
        "plate.dxf",
        "hook.dxf",
        "ramp.json",
        "ramp-from-sheet.json",
    } <= names
    told = " ".join(sheet_words(ramp, 3.0, Path("out")))
    own = ramp.from_sheet(3.0)
    near, far = own.rail_places(3.0)
    block, hook = spacer_places(own)[0], hook_places(own, 3.0)[0]
    for number in (near.y0, near.y1, far.y0, far.y1, near.x0, block.x1, block.y0, block.y1, hook.x1):
        assert f"{number:.1f}" in told
    # a plate turned over has its slots in another order, which the text tells by
    assert [mark.bit for mark in own.marks(far=True)][:7] == [0] * 6 + [1]
    assert [mark.bit for mark in own.marks(far=True)][::-1][:7] != [0] * 6 + [1]
    assert "six narrow" in told
    for name in (
        "rail.dxf",
        "base.dxf",
        "frame.dxf",
        "spacer.dxf",
        "plate.dxf",
        "hook.dxf",
        "ramp-from-sheet.json",
    ):
        assert name in told
    assert "facing the glass" in " ".join(printed_words(ramp, Path("out")))
    # the same steps lie beside the files, for who made them on the page
    steps = ramp_bundle(ramp, 3.0)["steps.txt"]().decode()
    assert steps.split("\n\n") == [
        *ramp_steps(ramp, 3.0, Path())[:-1],
        ramp_steps(ramp, 3.0, Path())[-1] + "\n",
    ]
    assert "ramp-from-sheet.json" in steps


@pytest.mark.outside
@pytest.mark.skipif(which("admesh") is None, reason="admesh is not installed")
def test_another_program_finds_no_fault_in_ramp_and_frame(printed: RampGeometry, tmp_path: Path) -> None:
    """ADMesh (Debian): no edge to repair, one part each."""
    for name in ("ramp.stl", "ramp-lid.stl"):
        path = tmp_path / name
        path.write_bytes(ramp_bundle(printed, None)[name]())
        told = subprocess.run(
            ["admesh", str(path)], capture_output=True, text=True, errors="replace", check=True
        ).stdout
        assert re.search(r"Number of parts\s*:\s*1\b", told)
        for kind in ("Edges fixed", "Facets removed", "Facets added", "Facets reversed", "Degenerate facets"):
            assert re.search(rf"{kind}\s*:\s*0\b", told), kind


@pytest.mark.outside
@pytest.mark.skipif(which("prusa-slicer") is None, reason="no slicer here")
@pytest.mark.parametrize("wish", [LOW, pytest.param({}, marks=pytest.mark.slow)], ids=["low", "usual"])
def test_a_slicer_takes_ramp_and_frame_without_mending_them(wish: dict[str, float], tmp_path: Path) -> None:
    """Debian's general slicer: whole bodies, and as many layers as they are high."""
    ramp = make_ramp(**wish)
    for name, height in (("ramp.stl", ramp.wall_height_mm), ("ramp-lid.stl", ramp.frame_mm)):
        path = tmp_path / name
        path.write_bytes(ramp_bundle(ramp, None)[name]())
        told = subprocess.run(
            ["prusa-slicer", "--info", str(path)], capture_output=True, text=True, check=True
        ).stdout
        assert "manifold = yes" in told
        assert "number_of_parts =  1" in told
        command = [
            "prusa-slicer", "--export-gcode", "--bed-shape=0x0,180x0,180x180,0x180", "--center=90,90",
            "--nozzle-diameter=0.4", f"--layer-height={ramp.layer_mm:g}", f"--first-layer-height={ramp.layer_mm:g}",
            "--filament-diameter=1.75", "--skirts=0", "-o", str(path.with_suffix(".gcode")), str(path),
        ]  # fmt: skip
        subprocess.run(command, capture_output=True, check=True, timeout=300)
        tops = {
            float(z)
            for z in re.findall(r"^;Z:([\d.]+)", path.with_suffix(".gcode").read_text(), re.MULTILINE)
        }
        assert len(tops) == round(height / ramp.layer_mm)
