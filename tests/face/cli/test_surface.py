"""``holders surface`` and ``inspect --second`` on the command line: the promised keys, exit codes, and refusals."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

import numpy as np
import pytest
import tifffile
from scipy import ndimage
from typer.testing import CliRunner, Result

from holders.face.cli.main import app
from holders.face.shared.expected import expected_of
from holders.face.shared.surface import known_with, with_measured
from holders.measure.bed.lens import MeasuredLens
from holders.measure.bed.record import append_lens, load_record
from holders.measure.surface.measure import Known
from holders.measure.surface.outcome import SurfaceResult
from tests.kept import shipped_study
from tests.measure.finished.scans import scan_of

ROOT = Path(__file__).parents[3]
PRESET = ROOT / "presets" / "8x10-printed.toml"
# CONTRACT.md, `surface --json`
KEYS = {
    "x", "y", "z", "sigma", "ledge", "sag", "shift", "lens_distance", "in_band_fraction", "warnings"
}  # fmt: skip


def call(command: str, *args: str | Path) -> Result:
    return CliRunner().invoke(app, [command, *(str(a) for a in args)])


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures go to ``out`` in a folder of the test's own."""
    monkeypatch.chdir(tmp_path)


def bowl_pair(folder: Path, across: float = 12.0, raised: float = 0.0) -> list[Path]:
    """Two scans at 300 per inch of a film 60 x 48 mm that sags by 0.6 mm at 3 mm, lens at 300 mm over the middle."""
    random = np.random.default_rng(2)
    pixel = 25.4 / 300
    film = ndimage.gaussian_filter(random.standard_normal((700, 900)), 1.6)
    film = 0.5 + 0.12 * film / film.std()
    y, x = np.mgrid[0:640, 0:940] * pixel
    paths = []
    for name, shift, up in (("a", 0.0, 0.0), ("b", across, raised)):
        fx = x - 6 - shift
        fy = y - 3
        for _ in range(3):
            bowl = np.clip(fx * (60 - fx) / 900, 0, 1) * np.clip(fy * (48 - fy) / 576, 0, 1)
            fx = (x - 40) * (1 + (3.0 + up - 0.6 * bowl) / 300) + 40 - 6 - shift
        light = ndimage.map_coordinates(film, [fy / pixel + 20, fx / pixel + 20], order=3, mode="nearest")
        light[(fx < 0) | (fx > 60) | (fy < 0) | (fy > 48)] = 0.002
        light = light + 0.002 * random.standard_normal(light.shape)
        paths.append(folder / f"{name}.tif")
        tifffile.imwrite(
            paths[-1], np.clip(light * 65535, 0, 65535).astype(np.uint16), resolution=(300, 300), resolutionunit=2
        )  # fmt: skip
    return paths


def test_json_has_what_was_promised_and_the_sag(tmp_path: Path) -> None:
    done = call(
        "surface", *bowl_pair(tmp_path), "--ledge", "3", "--lens-distance", "300", "--shift", "12", "--json"
    )
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    assert set(told) >= KEYS
    assert np.array(told["z"], float).shape == (len(told["y"]), len(told["x"]))
    assert told["shift"] == pytest.approx(12.0, abs=0.02)
    assert told["sag"]["max"] == pytest.approx(0.6, abs=0.12)  # 0.06 mm at 20 mm, as 1 / shift below
    assert told["in_band_fraction"] is None  # nobody said what is sharp
    assert told["warnings"] == []


def test_without_json_it_says_and_draws(tmp_path: Path) -> None:
    done = call("surface", *bowl_pair(tmp_path), "--ledge", "3")
    assert done.exit_code == 0, done.stderr
    assert "below the ledge" in done.stdout
    assert "--lens-distance" in done.stdout
    assert (tmp_path / "out" / "a-surface.svg").read_bytes().startswith(b"<?xml")


def test_a_raised_holder_measures_the_lens_and_the_record_serves_the_next_time(tmp_path: Path) -> None:
    raised = bowl_pair(tmp_path, across=0.6, raised=4.0)
    record = tmp_path / "bed.toml"
    done = call("surface", *raised, "--raised", "4", "--ledge", "3", "--record", record, "--json")
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    assert abs(told["lens_distance"] - 300.0) < 2 * told["lens_distance_sigma"]
    assert told["lens_distance_sigma"] < 9.0
    later = call("surface", *bowl_pair(tmp_path), "--ledge", "3", "--bed-record", record, "--json")
    assert json.loads(later.stdout)["lens_distance"] == pytest.approx(told["lens_distance"], abs=0.1)
    assert json.loads(later.stdout)["warnings"] == []


def test_what_cannot_be_used_is_refused_in_one_line(tmp_path: Path) -> None:
    first, second = bowl_pair(tmp_path)
    for args in ((first, tmp_path / "none.tif"), (first, second, "--lens-distance", "-1"), (first, first)):
        done = call("surface", *args)
        assert done.exit_code == 2
        assert done.stderr.startswith("holders: ")
        assert done.stderr.count("\n") == 1


def result(z: np.ndarray, **more: object) -> SurfaceResult:
    """A measured surface with these heights over 100 x 120 mm."""
    values: dict[str, object] = {
        "x_mm": np.linspace(5, 105, z.shape[1]), "y_mm": np.linspace(8, 128, z.shape[0]), "z_mm": z,
        "sigma_mm": np.where(np.isfinite(z), 0.03, np.nan), "ledge_mm": 3.0, "ledge_known": True, "shift_mm": 20.0,
        "shift_sigma_mm": 0.004, "lens_distance_mm": 300.0, "lens_sigma_mm": 3.0, "parallax": True, "band_mm": None,
        "least_gap_mm": 0.0, "root_mm": np.full((z.size, 1), 0.02),
        "predicted_mm": None, "noise_px": 0.01, "windows": 500, "kept": 0.99, "wobble_mm": 0.002,
        "warnings": (),
    } | more  # fmt: skip
    return SurfaceResult(**values)  # type: ignore[arg-type]


def test_the_lowest_point_is_as_unsure_as_the_lowest_of_many_places() -> None:
    # the least of 40 normal numbers lies 2.161 standard deviations down: Harter, Biometrika 48 (1961), from memory;
    # its own variance is 0.22, from memory
    flat = result(np.full((8, 5), 2.9), root_mm=0.02 * np.eye(40))
    assert flat.sag_sigma_mm is not None
    assert flat.sag_sigma_mm[0] == pytest.approx(0.02 * np.sqrt(2.161**2 + 0.22), rel=0.05)
    # a dip that stands out is where the lowest point is, whatever the other places do
    deep = np.full((8, 5), 2.9)
    deep[4, 2] = 2.0
    dipped = result(deep, root_mm=0.02 * np.eye(40))
    assert dipped.sag_sigma_mm is not None
    assert dipped.sag_sigma_mm[0] == pytest.approx(0.02, rel=0.15)


def test_a_preset_gives_ledge_lens_band_and_expected_surface() -> None:
    studied = shipped_study(PRESET)
    known = known_with(Known(), studied)
    heights = studied.design.heights
    assert known.ledge_mm == heights.sharp_plane
    assert known.lens_distance_mm == studied.job.bed.lens_distance_mm
    assert not known.lens_measured
    assert known.band_mm == (heights.band_low, heights.band_high)
    rim = known.predicted.over(np.array([0.0, 1.0, 0.5]), np.array([0.5, 0.5, 0.5]))
    assert rim[2] < rim[0] - 0.05  # it sags
    assert known_with(Known(ledge_mm=2.0, lens_distance_mm=280.0), studied).lens_distance_mm == 280.0


def test_measured_heights_take_the_place_of_predicted_ones() -> None:
    expected = expected_of(shipped_study(PRESET))
    z = np.full((7, 6), 2.5)
    z[2, 3], z[0, 0] = 2.1, np.nan
    judged = with_measured(expected, result(z))
    assert judged.heights_mm[2, 3] == 2.1
    assert judged.heights_mm[0, 0] == 2.5  # its nearest neighbour's
    assert judged.heights_x_mm[-1] == pytest.approx(expected.window_mm[0])
    nothing = result(np.full((7, 6), np.nan))
    assert with_measured(expected, nothing) is expected


def test_a_second_scan_judges_sharpness_by_where_film_was_measured(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    expected = expected_of(shipped_study(PRESET))
    scan = scan_of(tmp_path / "a.tif", expected, 0.0, 100.0, 3)
    seen: dict[str, object] = {}

    def measured(*paths: object, known: Known, **_more: object) -> SurfaceResult:
        seen["paths"], seen["known"] = paths, known
        return result(np.full((7, 6), 2.5))

    def inspected(*_args: object, design: object, **_more: object) -> object:
        seen["design"] = design
        raise KeyboardInterrupt  # what follows has its own tests

    monkeypatch.setattr("holders.measure.surface.measure.measure_surface", measured)
    monkeypatch.setattr("holders.measure.finished.look.inspect_scan", inspected)
    call("inspect", scan, "--preset", PRESET, "--second", scan)
    assert [str(p) for p in seen["paths"]] == [str(scan), str(scan)]  # type: ignore[attr-defined]
    assert np.all(seen["design"].heights_mm == 2.5)  # type: ignore[attr-defined]
    assert not seen["known"].lens_measured  # type: ignore[attr-defined]
    record = tmp_path / "bed.toml"
    append_lens(record, MeasuredLens(distance_mm=281.0, sigma_mm=3.0, date=dt.date(2026, 1, 2)))
    call("inspect", scan, "--preset", PRESET, "--second", scan, "--bed-record", record)
    assert seen["known"].lens_measured  # type: ignore[attr-defined]
    assert seen["known"].lens_distance_mm == 281.0  # type: ignore[attr-defined]
    for args, named in (("--second", "--preset"), ("--bed-record", "--second")):
        done = call("inspect", scan, args, scan)
        assert done.exit_code == 2
        assert named in done.stderr


def test_a_self_test_goes_into_the_record_and_serves_the_next_time(tmp_path: Path) -> None:
    scans, record = bowl_pair(tmp_path), tmp_path / "bed.toml"
    done = call("surface", *scans, "--flat", "--record", record, "--json")
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    (row,) = load_record(record).distortion
    assert list(row.slopes) == told["slopes"]
    plain = json.loads(call("surface", *scans, "--ledge", "3", "--lens-distance", "300", "--json").stdout)
    with_it = call(
        "surface", *scans, "--ledge", "3", "--lens-distance", "300", "--bed-record", record, "--json"
    )
    assert with_it.exit_code == 0, with_it.stderr
    assert json.loads(with_it.stdout)["z"] != plain["z"]
