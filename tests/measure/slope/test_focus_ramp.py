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
    assert ramp.height_at(ramp.slope_start_mm) == pytest.approx(0.0)
    assert ramp.height_at(ramp.slope_end_mm) == pytest.approx(6.0)
    for mark in ramp.marks():
        x = 0.5 * (mark.box.x0 + mark.box.x1)
        assert mark.height_mm == pytest.approx(6.0 * (x - 7.0) / 152.0)
        assert mark.box.y0 > ramp.track.y0
        assert mark.box.y1 < ramp.track.y1
    assert make_ramp(high_mm=10.0).marks()[-1].height_mm > 9.5


def test_the_stairs_corners_lie_on_the_slope_at_whole_layers():
    ramp = make_ramp(layer_mm=0.2)
    stairs = ramp.stairs()
    for x, end, z in stairs:
        assert z == pytest.approx(ramp.height_at(x), abs=1e-9)
        assert z / 0.2 == pytest.approx(round(z / 0.2), abs=1e-9)
        # further on, the stair stays below the target
        assert z <= ramp.height_at(min(end, ramp.slope_end_mm)) + 1e-9
    assert stairs[-1][2] == pytest.approx(6.0)


def test_laser_variants_lie_on_the_same_slope():
    ramp = make_ramp().from_sheet(2.93)
    assert ramp.low_mm == pytest.approx(3.73)
    profile = ramp.wedge_profile(2.93)
    (x_thin, z_thin), (x_end, z_end) = profile[4], profile[3]
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
        start_mm=-slope * RAMP.slope_start_mm, z0_mm=2.9, grain_mm=0.02, grain_contrast=0.25, na=0.03, dust=10,
        scratches=0, blur="gauss",
    )  # fmt: skip
    w = RAMP.window
    boxes = {"outer": (0.0, 0.0, RAMP.length_mm, RAMP.width_mm), "window": (w.x0, w.y0, w.x1, w.y1)}
    slots = [(m.box.x0, m.box.y0, m.box.x1, m.box.y1) for m in RAMP.marks()]
    return sim.ramp_scan(case, boxes, slots)


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
    "turned": lambda a: _turned(a, 4.0),
    "turned and mirrored": lambda a: _turned(a, -7.0)[:, ::-1],
    "part": lambda a: a[:, 1300:3000],
}


@pytest.mark.parametrize("name", CHANGES)
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
