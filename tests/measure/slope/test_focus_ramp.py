"""The ramp's shape and the reading of its marks."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile
from scipy import ndimage

from holders.core.errors import InputError
from holders.face.cli.commands.focusing import _keep
from holders.measure.bed.record import load_record
from holders.measure.ramp import WORD, WORD_RUN, load_ramp, make_ramp
from holders.measure.scan.opened import open_scan
from holders.measure.scan.view import look
from holders.measure.slope.measure import measure_focus
from holders.measure.slope.target.marks import read_marks


def _simulator():
    name = "focus_simulator"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name("simulator.py"))
        assert spec is not None
        assert spec.loader is not None
        sys.modules[name] = module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    return sys.modules[name]


sim = _simulator()


def test_every_run_of_the_word_is_found_once_only_either_way():
    runs = [WORD[i : i + WORD_RUN] for i in range(len(WORD) - WORD_RUN + 1)]
    both = runs + [r[::-1] for r in runs]
    assert len(set(both)) == len(both)
    assert not any(r == r[::-1] for r in runs)


def test_the_ramp_fits_a_small_printer_and_climbs_as_it_says():
    ramp = make_ramp()
    assert ramp.length_mm <= 170
    assert ramp.width_mm < 180
    assert ramp.height_at(ramp.slope_start_mm) == pytest.approx(0.8)
    assert ramp.height_at(ramp.slope_end_mm) == pytest.approx(6.0)
    for far, track in ((False, ramp.track), (True, ramp.far_track)):
        for mark in ramp.marks(far=far):
            x = 0.5 * (mark.box.x0 + mark.box.x1)
            assert mark.height_mm == pytest.approx(0.8 + 5.2 * (x - 7.0) / 152.0)
            assert mark.box.y0 > track.y0
            assert mark.box.y1 < track.y1
    assert make_ramp(high_mm=10.0).marks()[-1].height_mm > 9.5


def test_the_stairs_corners_lie_on_the_slope_at_whole_layers():
    ramp = make_ramp(layer_mm=0.2)
    assert ramp.low_mm == pytest.approx(0.8)
    stairs = ramp.stairs()
    for x, end, z in stairs:
        assert z == pytest.approx(ramp.height_at(x), abs=1e-9)
        assert z / 0.2 == pytest.approx(round(z / 0.2), abs=1e-9)
        # further on, the stair stays below the target
        assert z <= ramp.height_at(end) + 1e-9
    # they run on to both ends: 0.6 mm lies 1.15 mm from the low one, 6.2 mm 1.15 mm from the high one
    assert (stairs[0][0], stairs[0][2]) == pytest.approx((7.0 - 0.2 * 152.0 / 5.2, 0.6))
    assert (stairs[-1][0], stairs[-1][2]) == pytest.approx((159.0 + 0.2 * 152.0 / 5.2, 6.2))


def test_laser_variants_lie_on_the_same_slope():
    ramp = make_ramp().from_sheet(2.93)
    assert ramp.low_mm == pytest.approx(3.73)
    profile = ramp.wedge_profile(2.93)
    (x_thin, z_thin), (x_end, z_end) = profile[3], profile[2]
    assert (x_thin, x_end) == pytest.approx((1.0, 166.0))
    assert z_thin >= 0.5
    assert 2.93 + z_thin == pytest.approx(ramp.height_at(x_thin))
    assert 2.93 + z_end == pytest.approx(ramp.height_at(x_end))
    ramp = make_ramp()
    for k, plate in enumerate(ramp.stack(2.93), start=1):
        assert ramp.height_at(plate.x0) == pytest.approx(k * 2.93)
    with pytest.raises(InputError, match="stock_mm"):
        ramp.stack(9.0)


def test_json_goes_round_and_lies_are_refused(tmp_path):
    ramp = make_ramp(high_mm=8.0)
    file = tmp_path / "ramp.json"
    file.write_text(ramp.model_dump_json(indent=1), encoding="utf-8")
    assert load_ramp(file) == ramp
    for text in (
        "{",
        "[]",
        '{"kind": "other"}',
        '{"length_mm": 900}',
        '{"high_mm": "NaN"}',
        '{"slope_end_mm": 10}',
    ):
        file.write_text(text, encoding="utf-8")
        with pytest.raises(InputError):
            load_ramp(file)
    with pytest.raises(InputError):
        load_ramp(tmp_path / "none.json")


def test_a_file_that_is_no_json_is_named_and_not_recited(tmp_path: Path) -> None:
    file = tmp_path / "bed.toml"
    file.write_text('[bed]\nname = "a4-wide"\n', encoding="utf-8")
    with pytest.raises(InputError, match=r"ramp\.json") as told:
        load_ramp(file)
    assert "a4-wide" not in str(told.value)
    assert "bed.toml" in str(told.value)


DPI = 600.0
RAMP = make_ramp()


@pytest.fixture(scope="module")
def straight():
    slope = RAMP.slope
    case = sim.Case(
        kind="grain", number=5, dpi=DPI, length_mm=RAMP.length_mm, rise_mm=slope * RAMP.length_mm,
        start_mm=RAMP.height_at(0.0), z0_mm=2.9, grain_mm=0.02, grain_contrast=0.25, na=0.03, dust=10,
        scratches=0, blur="gauss",
    )  # fmt: skip
    return sim.ramp_scan(case, *drawn(RAMP))


def drawn(ramp, seen_at=lambda x, _z: x):
    """Boxes and slots as ``ramp_scan`` takes them; ``seen_at``: where a lens shows a point at x and height z."""
    w = ramp.window
    boxes = {"outer": (0.0, 0.0, ramp.length_mm, ramp.width_mm), "window": (w.x0, w.y0, w.x1, w.y1)}
    slots = []
    for far in (False, True)[: 2 if ramp.two_rows else 1]:
        z = ramp.mark_height_mm(far=far)
        slots += [
            (seen_at(m.box.x0, z), m.box.y0, seen_at(m.box.x1, z), m.box.y1) for m in ramp.marks(far=far)
        ]
    return boxes, slots


def _write(path, image, dpi=DPI):
    data = np.rint(image * 65535).astype(np.uint16)
    tifffile.imwrite(path, data, photometric="minisblack", resolution=(dpi, dpi), resolutionunit="INCH")
    return path


def _read(path):
    scan = open_scan(path)
    try:
        return read_marks(look(scan, None), RAMP)
    finally:
        scan.close()


def _turned(image, degrees):
    return np.clip(ndimage.rotate(image, degrees, reshape=True, order=3, mode="constant", cval=0.85), 0, 1)


CHANGES = {
    "straight": lambda a: a,
    "other way round": lambda a: a[::-1, ::-1],
    "mirrored along": lambda a: a[:, ::-1],
    "mirrored across": lambda a: a[::-1],
    "on end": lambda a: a.T,
    "across a portrait bed": lambda a: np.pad(a, ((900, 2600), (20, 30)), constant_values=0.85),
    "up a landscape bed": lambda a: np.pad(a, ((900, 2600), (20, 30)), constant_values=0.85).T,
    "turned": lambda a: _turned(a, 4.0),
    "turned and mirrored": lambda a: _turned(a, -7.0)[:, ::-1],
    "part": lambda a: a[:, 1300:3000],
}


LONG = {
    "mirrored across",
    "turned",
    "up a landscape bed",
    "mirrored along",
    "on end",
}


@pytest.mark.parametrize(
    "name", [pytest.param(k, marks=[pytest.mark.slow] if k in LONG else []) for k in CHANGES]
)
def test_height_from_any_lie_of_the_ramp(tmp_path, straight, name):
    path = _write(tmp_path / "s.tif", np.ascontiguousarray(CHANGES[name](straight)))
    result = measure_focus([path], geometry=RAMP)
    assert result.height == pytest.approx(2.9, abs=0.02)
    assert abs(result.height - 2.9) < 3 * result.height_sigma
    assert not result.at_edge
    assert result.marks_read >= WORD_RUN


def test_marks_show_scale_turn_and_mirroring(tmp_path, straight):
    path = _write(tmp_path / "s.tif", straight)
    seen = _read(path)
    assert seen.pixels_per_mm == pytest.approx(DPI / 25.4, rel=1e-3)
    assert seen.marks == len(RAMP.marks())
    assert seen.wrong == 0
    assert not seen.mirrored
    at = (50.0 + sim.RAMP_MARGIN_MM) * DPI / 25.4
    assert float(seen.x(np.array([at]), np.array([100.0]))[0]) == pytest.approx(50.0, abs=0.1)
    turned = _read(_write(tmp_path / "t.tif", _turned(straight, 5.0)[:, ::-1]))
    assert abs(np.degrees(np.arctan(turned.turn))) == pytest.approx(5.0, abs=0.1)
    assert turned.mirrored


def test_a_wrong_resolution_tag_is_seen_and_the_marks_believed(tmp_path, straight):
    result = measure_focus([_write(tmp_path / "s.tif", straight, dpi=1200.0)], geometry=RAMP)
    assert any("marks are believed" in w for w in result.warnings)
    assert result.height == pytest.approx(2.9, abs=0.02)
    assert result.dpi == pytest.approx(DPI, rel=2e-3)


def test_slots_spoiled_by_dust_do_not_move_the_ramp(tmp_path, straight):
    image = straight.copy()
    x, y = int((RAMP.marks()[9].box.x0 + 4.0) / 25.4 * DPI), int((RAMP.marks()[9].box.y0 + 4.0) / 25.4 * DPI)
    image[y - 4 : y + 160, x - 10 : x + 14] = 0.02
    seen = _read(_write(tmp_path / "s.tif", image))
    at = (50.0 + sim.RAMP_MARGIN_MM) * DPI / 25.4
    assert float(seen.x(np.array([at]), np.array([100.0]))[0]) == pytest.approx(50.0, abs=0.1)


def test_no_marks_no_guess(tmp_path, straight):
    window_only = straight[500:1000]
    for image in (window_only, straight[:, :400], np.full((300, 900), 0.5, np.float32)):
        with pytest.raises(InputError):
            measure_focus([_write(tmp_path / "s.tif", np.ascontiguousarray(image))], geometry=RAMP)


LENS_MM, AXIS_MM = 300.0, -60.0


@pytest.fixture(scope="module")
def in_perspective():
    """A slope across the bed far from the lens's axis: what lies at height z is seen nearer to it by z / D."""
    slope = RAMP.slope

    def seen_at(x, z):
        return AXIS_MM + (x - AXIS_MM) * (1.0 - z / LENS_MM)

    x0 = RAMP.slope_start_mm + (2.9 - RAMP.low_mm) / slope
    steep = slope / (
        1.0 - 2.9 / LENS_MM - (x0 - AXIS_MM) * slope / LENS_MM
    )  # dz / dx as seen, at the sharp place
    case = sim.Case(
        kind="grain", number=6, dpi=DPI, length_mm=RAMP.length_mm, rise_mm=steep * RAMP.length_mm,
        start_mm=2.9 - steep * seen_at(x0, 2.9), z0_mm=2.9, grain_mm=0.02, grain_contrast=0.25, na=0.03, dust=10,
        scratches=0, blur="gauss",
    )  # fmt: skip
    return sim.ramp_scan(case, *drawn(RAMP, seen_at))


def test_two_rows_of_marks_tell_the_lens_and_take_its_perspective_out(tmp_path, in_perspective):
    """By similar triangles the marks alone would be off by slope x (x - axis) x (z - z of the marks) / D = 0.035 mm."""
    path = _write(tmp_path / "s.tif", in_perspective)
    result = measure_focus([path], geometry=RAMP)
    assert result.lens.distance_mm == pytest.approx(LENS_MM, abs=2 * result.lens.sigma_mm)
    assert result.lens.sigma_mm < 0.1 * LENS_MM
    assert result.height == pytest.approx(2.9, abs=0.015)
    assert abs(result.height - 2.9) < 2 * result.height_sigma


def test_one_row_alone_leaves_the_perspective_in_doubt(tmp_path, in_perspective):
    """The near row only, as on ramps of the first version: the sigma must hold what is not seen."""
    image = in_perspective.copy()
    far = RAMP.far_track
    rows = [round((y + sim.RAMP_MARGIN_MM) / 25.4 * DPI) for y in (far.y0, far.y1)]
    image[rows[0] : rows[1]] = 0.01
    result = measure_focus([_write(tmp_path / "s.tif", image)], geometry=RAMP)
    assert result.lens is None
    assert 0.02 < abs(result.height - 2.9) < 2 * result.height_sigma


def test_the_raised_row_alone_is_read_as_what_it_is(tmp_path, straight):
    image = straight.copy()
    rows = [round((y + sim.RAMP_MARGIN_MM) / 25.4 * DPI) for y in (RAMP.track.y0, RAMP.track.y1)]
    image[rows[0] : rows[1]] = 0.01
    for n, picture in enumerate((image, image[::-1, ::-1], image[::-1])):
        path = _write(tmp_path / f"{n}.tif", np.ascontiguousarray(picture))
        assert _read(path).far
        assert _read(path).mirrored == (n == 2)
        assert measure_focus([path], geometry=RAMP).height == pytest.approx(2.9, abs=0.02)


def test_several_ramps_in_one_scan_are_each_measured_at_their_place(tmp_path, straight):
    """Three, one of them upright, one turned round: the whole bed from one scan."""
    high, wide = straight.shape
    bed = np.full((high + wide + 200, 2 * wide + 300), 0.85, np.float32)
    bed[50 : 50 + high, 80 : 80 + wide] = straight
    bed[90 : 90 + high, 200 + wide : 200 + 2 * wide] = straight[::-1, ::-1]
    bed[high + 150 : high + 150 + wide, 600 : 600 + high] = straight.T
    result = measure_focus([_write(tmp_path / "s.tif", bed)], geometry=RAMP)
    assert len(result.places) == 3
    mm, margin = 25.4 / DPI, sim.RAMP_MARGIN_MM
    x, y = 0.5 * (RAMP.window.x0 + RAMP.window.x1) + margin, 0.5 * (RAMP.window.y0 + RAMP.window.y1) + margin
    wanted = [
        (80 * mm + x, 50 * mm + y), ((200 + 2 * wide) * mm - x, (90 + high) * mm - y),
        (600 * mm + y, (high + 150) * mm + x),
    ]  # fmt: skip
    for at in wanted:
        nearest = min(result.places, key=lambda p: np.hypot(p.x - at[0], p.y - at[1]))
        assert (nearest.x, nearest.y) == pytest.approx(at, abs=0.5)
        assert nearest.height == pytest.approx(2.9, abs=0.02)
    assert result.height == pytest.approx(2.9, abs=0.02)
    kept = tmp_path / "bed.toml"
    assert _keep(kept, (5.0, 7.0), "", result) == 3
    rows = load_record(kept).measured
    assert [(r.x_mm, r.y_mm) for r in rows] == [
        (round(p.x + 5.0, 1), round(p.y + 7.0, 1)) for p in result.places
    ]


def test_a_ramp_of_the_first_version_is_still_read(tmp_path):
    """Its json as it was written then: marks on one side, the low end closed."""
    text = """{"kind": "focus ramp", "version": 1, "length_mm": 166.0, "low_mm": 0.0, "high_mm": 6.0,
        "slope_start_mm": 7.0, "slope_end_mm": 159.0, "target_width_mm": 35.0, "target_clearance_mm": 0.3,
        "ledge_mm": 5.0, "wall_mm": 2.4, "track_mm": 9.0, "floor_mm": 1.0, "layer_mm": 0.1,
        "target_offset_mm": 0.0}"""
    (tmp_path / "ramp.json").write_text(text, encoding="utf-8")
    old = load_ramp(tmp_path / "ramp.json")
    assert not old.two_rows
    assert old.width_mm == pytest.approx(51.8)
    case = sim.Case(
        kind="grain", number=7, dpi=DPI, length_mm=166.0, rise_mm=old.slope * 166.0, start_mm=-old.slope * 7.0,
        z0_mm=2.9, grain_mm=0.02, grain_contrast=0.25, na=0.03, dust=10, scratches=0, blur="gauss",
    )  # fmt: skip
    path = _write(tmp_path / "s.tif", sim.ramp_scan(case, *drawn(old)))
    assert measure_focus([path], geometry=old).height == pytest.approx(2.9, abs=0.02)
