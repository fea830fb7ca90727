"""Pairs of scans of a moved film: perspective against closed forms and scikit-image's registration."""

from __future__ import annotations

import dataclasses
import functools
from pathlib import Path

import numpy as np
import pytest
import tifffile
from skimage.registration import phase_cross_correlation

from tests.simulators.film_surface import FilmSurface, draw_rim
from tests.simulators.optics import Lens
from tests.simulators.sensor import Sensor
from tests.simulators.shifted_pair import (
    CLASSES,
    Pose,
    ShiftedPair,
    _looked_at,
    bands,
    draw_case,
    render,
    truth,
    wobble,
    write,
)

FLAT = FilmSurface(46.0, 26.0, ledge_mm=3.0, middle_mm=0.0)
EASY = ShiftedPair(
    surface=FLAT,
    centre_x=20.0,
    centre_y=16.0,
    left=-8.0,
    width_mm=74.0,
    height_mm=32.0,
    dpi=600,
    poses=(Pose(), Pose(shift_mm=20.0)),
    focus_mm=3.0,
    lens=Lens(0.02, 0.009),
    sensor=Sensor(noise=0.001, read_noise=0.0, streaks=0.0),
    grain=0.1,
    seed=3,
)


@functools.lru_cache(maxsize=4)
def scan(case: ShiftedPair, index: int) -> np.ndarray:
    return render(case, index).astype(float)


def moved(case: ShiftedPair, x_mm: float, y_mm: float, size: int = 64) -> tuple[float, float]:
    """Displacement of a window of the first scan in the second, mm across and along, by scikit-image."""
    a, b = scan(case, 0), scan(case, 1)
    pixel = 25.4 / case.dpi
    expected = 300.0 / (300.0 + case.surface.ledge_mm) if np.isfinite(case.lens_distance_mm) else 1.0
    guess = round(
        case.poses[1].shift_mm * expected / pixel
    )  # windows that nearly agree: their taper does not bias
    r, c = round(y_mm / pixel) - size // 2, round(x_mm / pixel) - size // 2
    taper = np.hanning(size)[:, None] * np.hanning(size)[None, :]
    one, two = a[r : r + size, c : c + size], b[r : r + size, c + guess : c + guess + size]
    step, _, _ = phase_cross_correlation(
        (one - one.mean()) * taper, (two - two.mean()) * taper, upsample_factor=100, normalization=None
    )
    return (guess - step[1]) * pixel, -step[0] * pixel


@pytest.mark.parametrize("height", [1.0, 3.0, 5.0])
def test_a_flat_film_moves_by_the_shift_less_its_height_over_the_distance(height: float) -> None:
    # similar triangles: a point at height z that is moved by s is seen to move by s D / (D + z)
    case = dataclasses.replace(EASY, surface=dataclasses.replace(FLAT, ledge_mm=height), focus_mm=height)
    across, along = moved(case, 28.0, 16.0)
    assert across == pytest.approx(20.0 * 300.0 / (300.0 + height), abs=0.003)
    assert along == pytest.approx(0.0, abs=0.003)


def test_a_tilted_plane_moves_by_its_own_height_at_each_place() -> None:
    # a plane z = 3 + 0.02 x about the window's centre, the same in both poses
    lean = (Pose(tilt_x=0.02), Pose(shift_mm=20.0, tilt_x=0.02))
    case = dataclasses.replace(EASY, poses=lean)
    for x in (14.0, 42.0):
        fx, _, z, _ = case.looks_at(lean[0], np.array([x]), np.array([16.0]))
        assert float(z[0]) == pytest.approx(3.0 + 0.02 * float(fx[0]), abs=1e-6)
        across, _ = moved(case, x, 16.0)
        assert across == pytest.approx(20.0 * 300.0 / (300.0 + float(z[0])), abs=0.005)


def test_seeing_and_looking_are_each_other_backward() -> None:
    case = draw_case(4, "mixed")
    for pose in case.poses:
        x, y = np.array([-9.0, 3.0, 10.0]), np.array([5.0, -7.0, 2.0])
        back = case.looks_at(pose, *case.seen_at(pose, x, y))
        assert back[0] == pytest.approx(x, abs=2e-4)
        assert back[1] == pytest.approx(y, abs=2e-4)


def test_heights_between_nodes_are_those_of_each_place() -> None:
    case = draw_case(4, "mixed")
    pose = case.poses[1]
    random = np.random.default_rng(6)
    x = np.linspace(6.0, case.width_mm - 6.0, 300).astype(np.float32)
    y = np.linspace(6.0, case.height_mm - 6.0, 200)
    across = random.normal(0, 0.004, 200)
    fast = _looked_at(case, pose, x, y, across)
    slow = case.looks_at(pose, x[None, :] + across[:, None], y[:, None])
    # at the window's edge heights have a kink, under the lip's shade
    w, h = case.surface.width_mm / 2 - 0.5, case.surface.height_mm / 2 - 0.5
    inside = (np.abs(slow[0]) < w) & (np.abs(slow[1]) < h)
    assert inside.mean() > 0.3
    # a hundredth of a pixel at 2400 per inch is 1e-4 mm
    for k in (0, 1, 3):
        assert np.abs(fast[k] - slow[k])[inside].max() < 5e-5
    assert np.abs(fast[2] - slow[2])[inside].max() < 3e-4


def test_film_that_rises_is_displaced_by_its_place_times_the_rise() -> None:
    # x D / (D + z): dz moves a point at X by X dz / D to first order
    still = dataclasses.replace(EASY, poses=(Pose(), Pose(film_moved_mm=0.1)))
    x0, _ = still.seen_at(still.poses[0], np.array(0.0), np.array(0.0))
    x1, _ = still.seen_at(still.poses[1], np.array(0.0), np.array(0.0))
    assert float(x0 - x1) == pytest.approx(20.0 * 0.1 / 303.0 * 300 / 303, rel=0.01)
    assert np.nanmax(truth(still)["moved"]) == pytest.approx(0.1, abs=0.002)


def test_a_contact_sensor_sees_no_height() -> None:
    case = dataclasses.replace(EASY, lens_distance_mm=float("inf"))
    across, _ = moved(case, 28.0, 16.0)
    assert across == pytest.approx(20.0, abs=0.003)
    assert not truth(case)["parallax"]


def test_the_window_is_where_truth_says() -> None:
    image = scan(EASY, 0)
    facts = truth(EASY)
    left, top, right, bottom = (v / 25.4 * 600 for v in facts["window"])
    row = image[image.shape[0] // 2]
    dark = row < 0.02 * np.percentile(row, 90)
    lit = np.flatnonzero(~dark)
    assert lit[-1] == pytest.approx(right, abs=3.0)  # to the right of the axis the ledge's upper edge hides
    assert lit[0] == pytest.approx(left, abs=3.0)
    column = image[:, image.shape[1] // 2]
    lit = np.flatnonzero(column > 0.02 * np.percentile(column, 90))
    assert (lit[0], lit[-1]) == pytest.approx((top, bottom), abs=3.0)
    assert np.isnan(facts["z"][0]).all()
    assert np.nanmin(facts["z"]) == pytest.approx(3.0)
    assert facts["seen"].mean() > 0.4


def test_wobble_has_its_size_and_differs_by_its_own_part() -> None:
    case = dataclasses.replace(EASY, wobble_mm=0.01)
    first, second = wobble(case, 0), wobble(case, 1)
    assert np.array_equal(first, second)
    assert float(first[0].std()) == pytest.approx(0.01, rel=0.25)
    own = dataclasses.replace(case, poses=(Pose(), Pose(wobble_mm=0.004)))
    assert float((wobble(own, 1)[0] - first[0]).std()) == pytest.approx(0.004, rel=0.3)


def test_bands_join_without_a_seam() -> None:
    quiet = dataclasses.replace(EASY, sensor=Sensor(noise=0, read_noise=0, streaks=0), dust_per_cm2=2.0)
    parts = list(bands(quiet, 0))
    assert len(parts) == 2
    image = np.concatenate(parts).astype(float)
    seam = np.abs(np.diff(image, axis=0)).mean(axis=1)
    assert seam[511] < 2.0 * np.median(seam[480:540])


def test_a_rim_is_off_its_ledge_by_what_it_is_drawn_with_and_agrees_at_the_corners() -> None:
    # a Coons patch passes through its four sides; spread over many draws, at any place of them
    random = np.random.default_rng(2)
    rims = [dataclasses.replace(FLAT, rim=draw_rim(random, 0.025)) for _ in range(600)]
    for x, y in ((-23.0, 4.0), (10.0, 13.0), (23.0, -13.0)):
        spread = np.std([float(r.height(np.array(x), np.array(y))) for r in rims])
        assert spread == pytest.approx(0.025, rel=0.1)
    one = rims[0]
    assert float(one.height(np.array(-23.0), np.array(-12.999))) == pytest.approx(
        float(one.height(np.array(-22.999), np.array(-13.0))), abs=1e-4
    )
    assert float(one.height(np.array(0.0), np.array(-13.0))) == pytest.approx(
        3.0 + float(one._round(np.array(23.0))), abs=1e-12
    )


@pytest.mark.parametrize("kind", CLASSES)
def test_every_class_is_drawn_as_it_says(kind: str) -> None:
    for seed in range(8):
        case = draw_case(seed, kind)
        facts = truth(case, 2.0)
        assert facts["parallax"] == (kind != "contact_sensor")
        assert (abs(facts["along"]) > abs(facts["shift"])) == (kind == "along")
        assert len(case.poses) == (3 if kind in ("moving", "mixed") else 2)
        assert np.nanmin(facts["z"]) > 0
        assert facts["seen"].sum() > 0.85 * np.isfinite(facts["z"]).sum()
        moved_by = float(np.nanmax(np.abs(facts["moved"])))
        assert 0.01 < moved_by < 0.25
        assert (abs(case.poses[1].film_moved_mm) >= 0.02) or kind not in ("moving", "mixed")


def test_a_sheet_as_wide_as_the_bed_leaves_it_by_a_few_millimetres() -> None:
    for seed in range(6):
        case = draw_case(seed, "plain", window="8x10", dpi=600)
        assert case.left >= -108.0
        assert case.left + case.width_mm <= 108.0 + 1e-9
        facts = truth(case, 2.0)
        assert facts["seen"].sum() > 0.85 * np.isfinite(facts["z"]).sum()


def test_files_are_written_in_bands_with_their_resolution(tmp_path: Path) -> None:
    path = write(tmp_path / "a.tif", EASY, 1)
    with tifffile.TiffFile(path) as file:
        page = file.pages[0]
        assert page.tags["XResolution"].value[0] == 600
        assert np.array_equal(page.asarray(), scan(EASY, 1))
