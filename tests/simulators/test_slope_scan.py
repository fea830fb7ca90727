"""Scans of a slope: geometry against closed forms, every class as it says."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
import tifffile
from skimage.registration import phase_cross_correlation

from tests.simulators import slope_scan
from tests.simulators.optics import Lens
from tests.simulators.sensor import Sensor
from tests.simulators.slope_scan import CLASSES, Field, SlopeScan, draw, draw_case, geometry, render, truth

QUIET = Sensor(noise=0, read_noise=0, streaks=0)
FLAT = SlopeScan(
    target="ruling",
    length_mm=30.0,
    width_mm=6.0,
    rise=0.0,
    start=0.0,
    sensor=QUIET,
    field=Field(0.0),
    vignetting=0.0,
)


def test_heights_are_straight_from_the_low_end() -> None:
    for reverse in (False, True):
        for across in (False, True):
            scan = dataclasses.replace(
                FLAT, start=0.5, rise=3.0, across=across, reverse=reverse, x_mm=0.0, lens_distance_mm=1e9
            )
            _, _, z, _ = geometry(scan)
            line = z[z.shape[0] // 2] if across else z[:, z.shape[1] // 2]
            low = line[::-1] if reverse else line
            share = (np.arange(line.size) + 0.5) / line.size
            assert low == pytest.approx(0.5 + 3.0 * share, abs=2e-3)


def test_a_raised_target_moves_toward_the_lens_axis() -> None:
    # by similar triangles a point at X and height z is seen on the glass at X D / (D + z); 2 mm at X = 80: 0.53 mm
    low = dataclasses.replace(FLAT, target="chart", x_mm=80.0, across=True, lens=Lens(0.0, 0.01), seed=4)
    high = dataclasses.replace(low, start=2.0)
    # the middle of the picture keeps its place in s (see _mean_shift), so look at the distance between two places
    s0, s1 = geometry(low)[0][10], geometry(high)[0][10]
    assert np.diff(s1).mean() / np.diff(s0).mean() == pytest.approx(1.0, abs=2e-3)
    x0, x1 = geometry(low)[3], geometry(high)[3]
    assert np.allclose(x1, x0 * (1 + 2.0 / 300.0), rtol=1e-5)
    along = dataclasses.replace(low, across=False, width_mm=4.0, length_mm=12.0)
    shift, _, _ = phase_cross_correlation(
        render(along).astype(float),
        render(dataclasses.replace(along, start=2.0)).astype(float),
        upsample_factor=50,
    )
    expected = 80.0 * 2.0 / 302.0 / 25.4 * 1200
    # ours moves toward the axis, which is at the left: content must be moved right again
    assert shift[1] == pytest.approx(expected, rel=0.02)
    assert shift[0] == pytest.approx(0.0, abs=0.05)


def test_ticks_lie_one_millimetre_apart() -> None:
    scan = dataclasses.replace(
        FLAT, target="ruler", length_mm=60.0, across=True, lens=Lens(0.0, 0.01), seed=2
    )
    row = render(scan).astype(float)
    row = row[row.shape[0] // 2 - 20 : row.shape[0] // 2 + 20].mean(axis=0)
    spectrum = np.abs(np.fft.rfft((row - row.mean()) * np.hanning(row.size), 16 * row.size))
    frequency = np.fft.rfftfreq(16 * row.size, 25.4 / 1200)
    near = (frequency > 0.8) & (frequency < 1.2)
    assert frequency[near][np.argmax(spectrum[near])] == pytest.approx(1.0, abs=0.003)


@pytest.mark.parametrize("height", [1.6, 3.4])
def test_the_sharpest_place_of_a_fine_ruling_is_the_true_height(height: float) -> None:
    # contrast of the ruling in short pieces, fitted by a parabola: independent of how the blur was made
    lens = Lens(0.02, 0.008)
    scan = dataclasses.replace(
        FLAT,
        rise=5.0,
        length_mm=60.0,
        across=True,
        lens=lens,
        field=Field(height),
        lens_distance_mm=1e9,
        seed=5,
    )
    image = render(scan).astype(float)
    pieces = np.array_split(np.arange(image.shape[1]), 60)
    contrast = np.array([image[:, piece].std(axis=1).mean() for piece in pieces])
    top = int(np.argmax(contrast))
    near = slice(top - 4, top + 5)
    place = np.array([piece.mean() for piece in pieces])[near] / image.shape[1] * 5.0
    a, b, _ = np.polyfit(place, contrast[near], 2)
    assert -b / (2 * a) == pytest.approx(height, abs=0.05)
    assert truth(scan)["height"] == pytest.approx(height, abs=1e-3)


def test_a_sagging_target_is_in_focus_elsewhere() -> None:
    scan = dataclasses.replace(FLAT, rise=4.0, sag_mm=0.4, field=Field(2.0 - 0.4), lens_distance_mm=1e9)
    facts = truth(scan)  # at the middle the target is 0.4 lower than its straight line
    assert facts["height"] == pytest.approx(1.6, abs=1e-6)
    assert facts["nominal_height_at_focus"] == pytest.approx(2.0, abs=2e-3)
    assert facts["shape_bias"] == pytest.approx(0.4, abs=2e-3)
    middle = scan.shape_at(np.array([0.0, 0.5, 1.0]), np.zeros(3))
    assert middle == pytest.approx([0.0, 1.6, 4.0])


def test_a_curved_field_is_crossed_where_target_and_focus_meet() -> None:
    field = Field(2.0, tilt=0.002, curvature=5e-5)
    scan = dataclasses.replace(
        FLAT, rise=4.0, length_mm=100.0, across=True, field=field, lens_distance_mm=1e9
    )
    # 2 + 0.002 x + 2.5e-5 x^2 = 2 + 0.04 x has its root at x = 0
    assert truth(scan)["height"] == pytest.approx(2.0, abs=2e-3)
    side = dataclasses.replace(scan, x_mm=30.0)  # now 2 + 0.002 x + 2.5e-5 x^2 = 2 + 0.04 (x - 30)
    x = (0.038 - np.sqrt(0.038**2 - 4 * 2.5e-5 * 1.2)) / (2 * 2.5e-5)
    assert truth(side)["height"] == pytest.approx(0.04 * (x - 30) + 2.0, abs=2e-3)


@pytest.mark.parametrize("kind", CLASSES)
def test_every_class_is_drawn_as_it_says(kind: str) -> None:
    for seed in range(12):
        case = draw_case(seed, kind)
        facts = truth(case)
        assert facts["inside"] == (kind != "beyond")
        ends = facts["start_height"], facts["start_height"] + facts["rise"]
        if kind == "beyond":
            assert not ends[0] - 0.1 < facts["height"] < ends[1] + 0.1
        else:
            assert ends[0] < facts["height"] < ends[1]
        assert facts["spread"] < 0.12
        bias = abs(facts["shape_bias"])
        assert bias < 0.75 if kind == "sagging" else bias < 0.05
    assert abs(draw_case(3, "asymmetric").lens.asymmetry) >= 0.05
    assert draw_case(3, "narrow").width_mm <= 4.0


def test_a_case_is_repeated_by_its_seed_and_written_with_its_resolution(tmp_path: Path) -> None:
    image, facts = draw(2, "narrow")
    again, _ = draw(2, "narrow")
    assert np.array_equal(image, again)
    assert slope_scan.write(tmp_path / "a.tif", 2, "narrow")["height"] == facts["height"]
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        assert file.pages[0].tags["XResolution"].value[0] == facts["dpi"]
    lengths = max(image.shape[:2]) * 25.4 / facts["dpi"]
    assert lengths == pytest.approx(facts["run"], abs=0.05)
