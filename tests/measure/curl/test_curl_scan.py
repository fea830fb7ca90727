"""Curl from pictures of stood film: our own plain ones, and those of the simulator written apart from the estimator."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from holders.core.errors import InputError
from holders.measure.curl.drawn import measured_and_drawn
from holders.measure.curl.picture import sheet_of
from holders.measure.curl.scan import measure_film, measure_scan
from scripts.judge_curl import judged
from tests.simulators.edge_scan import EXAMPLES, EdgePicture, EdgeScene, render, write_tiff


def scan_of(folder: Path, edge: EdgeScene, name: str = "scan") -> Path:
    file = folder / f"{name}.tif"
    write_tiff(file, render(edge))
    return file


@pytest.mark.parametrize("seed", [12, 27, 36, 76])
def test_simulated_scans_short(tmp_path: Path, seed: int) -> None:
    """Some of those of scripts/judge_curl.py: strongly curled, short, with a bent corner, with straight ends."""
    found = judged(seed, tmp_path)
    assert found.good, found.words
    assert found.inside, found.words


@pytest.mark.slow
def test_simulated_scans_long(tmp_path: Path) -> None:
    found = [judged(seed, tmp_path) for seed in range(200)]
    assert all(f.good for f in found), [f.words for f in found if not f.good]
    assert sum(f.inside for f in found) >= 0.95 * len(found)


@pytest.mark.parametrize("name", ["along_off_axis", "kinked_dirty_rgb"])
def test_the_simulators_examples(tmp_path: Path, name: str) -> None:
    edge = EXAMPLES[name]
    found = measure_scan(scan_of(tmp_path, edge)).result
    assert abs(found.curl_per_m - edge.curl_per_m) <= max(0.05, 0.03 * edge.curl_per_m)
    assert abs(found.curl_per_m - edge.curl_per_m) <= 2 * found.sigma


def test_chord_and_rise_are_those_of_the_film_and_agree_with_the_curl(tmp_path: Path) -> None:
    edge = EdgeScene(curl_per_m=6.0, angle_deg=85.0)
    picture = render(edge)
    write_tiff(tmp_path / "a.tif", picture)
    found = measure_scan(tmp_path / "a.tif").result
    assert found.chord_mm == pytest.approx(picture.truth["chord_mm"], abs=0.5)
    assert found.rise_mm == pytest.approx(picture.truth["rise_mm"], abs=0.1)
    radius = found.chord_mm**2 / (8 * found.rise_mm) + found.rise_mm / 2  # geometry
    assert found.curl_per_m == pytest.approx(1000 / radius, rel=1e-9)


def test_straight_ends_and_a_bend_are_named(tmp_path: Path) -> None:
    found = measure_scan(scan_of(tmp_path, EXAMPLES["straight_ends"])).result
    assert [p.kind for p in found.parts] == ["straight", "curled", "straight"]
    assert any("straight at" in words for words in found.warnings)
    found = measure_scan(scan_of(tmp_path, EXAMPLES["bent_corner"])).result
    assert "bent" in [p.kind for p in found.parts]


def test_the_wall_does_not_count(tmp_path: Path) -> None:
    """The same arc with its wall leaning far over the picture and hardly at all."""
    edge = EdgeScene(curl_per_m=4.0, angle_deg=90.0, wall=0.25, falloff_mm=30.0, dust=0, fibres=0)
    for off in (0.0, -55.0):
        found = measure_scan(scan_of(tmp_path, replace(edge, off_axis_mm=off))).result
        assert found.curl_per_m == pytest.approx(4.0, abs=0.06)


def test_far_from_the_middle_is_said(tmp_path: Path) -> None:
    far = scan_of(tmp_path, EdgeScene(angle_deg=90.0))
    assert not any("middle of the bed" in w for w in measure_scan(far).result.warnings)
    assert any("middle of the bed" in w for w in measure_scan(far, axis_mm=150.0).result.warnings)


def test_hardly_curled_film_asks_for_a_stand(tmp_path: Path) -> None:
    found = measure_scan(scan_of(tmp_path, EdgeScene(curl_per_m=0.8))).result
    assert any("card stand" in w for w in found.warnings)


def test_the_sign_comes_from_the_hollow_side_only(tmp_path: Path) -> None:
    file = scan_of(tmp_path, EdgeScene())
    plain, toward, away = (measure_scan(file, hollow=h).result for h in (None, "emulsion", "base"))
    assert plain.curl_per_m == toward.curl_per_m == -away.curl_per_m > 0
    assert (plain.signed, toward.signed, away.signed) == (False, True, True)


def test_two_scans_are_along_and_across_by_their_length(tmp_path: Path) -> None:
    long = measure_scan(scan_of(tmp_path, EdgeScene(curl_per_m=2.5), "long"))
    short = measure_scan(
        scan_of(tmp_path, EdgeScene(curl_per_m=7.0, length_mm=61.5, height_mm=90.0), "short")
    )
    for film in (measure_film([short, long]), measure_film([short, long], ("across", "along"))):
        answer = film.to_answer()
        assert answer["along"]["curl_per_m"] == pytest.approx(2.5, rel=0.03)
        assert answer["across"]["curl_per_m"] == pytest.approx(7.0, rel=0.03)
        assert answer["curl_per_m"] == answer["across"]["curl_per_m"]
    with pytest.raises(InputError, match="--order"):
        measure_film([long, long])


def test_nothing_and_too_much_light_are_refused(tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    dark = np.asarray(np.clip(8 + rng.normal(0, 1.5, (600, 500)), 0, 255), np.uint8)
    light = np.asarray(np.clip(230 + rng.normal(0, 1.5, (600, 500)), 0, 255), np.uint8)
    dots = dark.copy()
    for _ in range(150):
        y, x = rng.integers(5, 590), rng.integers(5, 490)
        dots[y : y + 3, x : x + 3] = 200
    for pixels, words in ((dark, "no bright line"), (light, "lid"), (dots, "line")):
        file = tmp_path / "n.tif"
        write_tiff(file, EdgePicture(pixels, 300.0, {}))
        with pytest.raises(InputError, match=words):
            measure_scan(file)


def test_a_scan_is_read_in_small_pieces() -> None:
    """No read asks for more than a bounded share of a large scan, whatever its size."""

    class Huge:
        """A bed at 4800 dpi, of which only the sizes asked for matter."""

        asked = 0

        class info:  # noqa: N801
            width, height, channels, bits, row_step = 41000, 55000, 3, 16, 1
            path, dpi_x, dpi_y, white_is_zero = "huge.tif", 4800.0, 4800.0, False

        def read(self, rows: tuple[int, int], cols: list[tuple[int, int]]) -> np.ndarray:
            shape = (rows[1] - rows[0], sum(b - a for a, b in cols), 3)
            self.asked = max(self.asked, math.prod(shape) * 2)
            raise StopIteration

    huge = Huge()
    sheet = sheet_of(huge, None)  # type: ignore[arg-type]
    with pytest.raises(StopIteration):
        sheet.window((0.0, sheet.width_mm), (0.0, sheet.height_mm), 0.2)
    assert 0 < huge.asked < 64 * 2**20


def test_the_picture_shows_the_arc_on_the_film(tmp_path: Path) -> None:
    from io import BytesIO

    from PIL import Image

    edge = EdgeScene(angle_deg=90.0)
    scan = render(edge)
    write_tiff(tmp_path / "a.tif", scan)
    found, png = measured_and_drawn(tmp_path / "a.tif")
    assert found.curl_per_m == pytest.approx(edge.curl_per_m, rel=0.03)
    shown = np.asarray(Image.open(BytesIO(png))).astype(int)
    amber = (np.abs(shown - [255, 176, 32]).sum(axis=2) < 30).nonzero()
    true = scan.truth["foot_px"] * shown.shape[0] / scan.pixels.shape[0]
    apart = [np.hypot(true[:, 0] - x, true[:, 1] - y).min() for y, x in list(zip(*amber, strict=True))[::50]]
    assert len(apart) > 10
    assert max(apart) < 6
