"""The simulator of edge scans checked against plane geometry and the pinhole, and its pictures against its truth."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from scipy.optimize import least_squares

from tests.simulators.edge_scan import EdgeScene, foot_line, render, wall_points, write_tiff

CLEAN = EdgeScene(dust=0, fibres=0, noise=0.0, gradient=0.0, gamma=1.0, bits=16, wall=0.0)


def fitted_curl(points_mm: np.ndarray) -> float:
    """Curvature (1/m) of the circle nearest to points, by least squares of the distances."""
    middle = points_mm.mean(axis=0)
    around = points_mm - middle
    axis = np.linalg.svd(around, full_matrices=False)[2]
    flat = around @ axis.T
    bend = np.polyfit(flat[:, 0], flat[:, 1], 2)

    def apart(p: np.ndarray) -> np.ndarray:
        offset, tilt, k = p
        x, y = flat[:, 0], flat[:, 1] - offset
        along, across = x * np.cos(tilt) + y * np.sin(tilt), y * np.cos(tilt) - x * np.sin(tilt)
        return np.asarray(
            across - k / 2 * (along**2 + across**2)
        )  # Pratt's form of a circle through the origin

    return float(abs(least_squares(apart, [bend[2], bend[1], 2 * bend[0]]).x[2]) * 1e3)


@pytest.mark.parametrize(("curl", "length"), [(1.0, 200.0), (5.0, 90.0), (20.0, 60.0)])
def test_truth_is_a_circles_chord_and_rise(curl: float, length: float) -> None:
    k = curl * 1e-3
    truth = render(replace(CLEAN, curl_per_m=curl, length_mm=length, height_mm=5.0, dpi=100.0)).truth
    assert truth["chord_mm"] == pytest.approx(2 / k * np.sin(k * length / 2), rel=1e-5)
    assert truth["rise_mm"] == pytest.approx((1 - np.cos(k * length / 2)) / k, rel=1e-4)


@pytest.mark.parametrize(
    ("angle", "off", "side", "dpi"), [(0.0, 0.0, 1, 300.0), (85.0, 70.0, -1, 300.0), (33.0, -50.0, 1, 400.0)]
)
def test_the_picture_shows_the_foot_where_the_truth_says(
    angle: float, off: float, side: int, dpi: float
) -> None:
    scan = render(replace(CLEAN, angle_deg=angle, off_axis_mm=off, side=side, dpi=dpi, height_mm=30.0))
    light = scan.pixels.astype(float)
    bright = light > 0.3 * light.max()
    rows, columns = np.nonzero(bright)
    foot = scan.truth["foot_px"]
    apart = np.hypot(foot[:, 0, None] - columns[None, ::7], foot[:, 1, None] - rows[None, ::7]).min(axis=0)
    assert apart.max() < 0.13 / 2 * dpi / 25.4 + 1.5
    points = np.stack([columns, rows], axis=1) * 25.4 / dpi
    assert fitted_curl(points) == pytest.approx(5.0, rel=0.01)


def test_the_hollow_faces_where_the_truth_says() -> None:
    for angle, side, name in ((0.0, 1, "down"), (0.0, -1, "up"), (90.0, 1, "left"), (90.0, -1, "right")):
        truth = render(replace(CLEAN, angle_deg=angle, side=side, dpi=75.0)).truth
        foot, ends = truth["foot_px"], truth["ends_px"]
        toward = ends.mean(axis=0) - foot[len(foot) // 2]
        assert truth["side"] == name
        assert toward @ truth["hollow_xy"] == pytest.approx(5.04 * 75 / 25.4, rel=0.01)


def test_the_wall_leans_toward_the_axis_as_through_a_pinhole() -> None:
    scene = replace(
        CLEAN, angle_deg=90.0, off_axis_mm=60.0, curl_per_m=0.0, height_mm=61.5, distance_mm=300.0
    )
    foot, _ = foot_line(scene)
    top = wall_points(scene, foot, np.array([61.5]))[0]
    assert top[:, 0] - foot[:, 0] == pytest.approx(60.0 * 300.0 / 361.5 - 60.0, abs=1e-9)
    assert top[:, 1] == pytest.approx(foot[:, 1])


def test_straight_ends_and_a_bent_corner_are_outside_the_arc() -> None:
    scene = replace(CLEAN, curl_per_m=8.0, straight_start_mm=15.0, straight_end_mm=10.0, dpi=100.0)
    truth = render(scene).truth
    k, arc = 8e-3, 65.0
    assert truth["arc_chord_mm"] == pytest.approx(2 / k * np.sin(k * arc / 2), rel=1e-3)
    assert truth["arc_rise_mm"] == pytest.approx((1 - np.cos(k * arc / 2)) / k, rel=2e-3)
    assert truth["rise_mm"] > truth["arc_rise_mm"]


@pytest.mark.parametrize(("bits", "rgb"), [(8, False), (16, False), (8, True), (16, True)])
def test_written_tiff_reads_back(tmp_path: Path, bits: int, rgb: bool) -> None:
    scan = render(replace(EdgeScene(dpi=150.0), bits=bits, rgb=rgb, fingerprints=1))
    write_tiff(tmp_path / "a.tiff", scan, compressed=True)
    with tifffile.TiffFile(tmp_path / "a.tiff") as file:
        assert np.array_equal(file.asarray(), scan.pixels)
        assert (
            file.pages[0].tags["XResolution"].value[0] / file.pages[0].tags["XResolution"].value[1] == 150.0
        )
    assert scan.pixels.dtype == (np.uint8 if bits == 8 else np.uint16)
    assert (scan.pixels.ndim == 3) is rgb


def test_the_same_seed_gives_the_same_picture() -> None:
    scene = EdgeScene(dpi=100.0, fingerprints=1)
    assert np.array_equal(render(scene).pixels, render(scene).pixels)
    assert not np.array_equal(render(scene).pixels, render(replace(scene, seed=5)).pixels)


def test_unknown_bits_are_refused() -> None:
    with pytest.raises(ValueError, match="bits"):
        render(replace(CLEAN, bits=12))


def test_a_whole_beds_picture_has_the_film_where_it_stands() -> None:
    """In a whole bed's picture the film's middle is off the picture's middle by its distance from the axis."""
    scan = render(replace(CLEAN, frame_mm=(216.0, 100.0), off_axis_mm=-30.0, dpi=100.0, stands=2, light=0.0))
    assert scan.pixels.shape == (394, 850)
    assert (scan.truth["ends_px"].mean(axis=0)[0] + 0.5) * 25.4 / 100 == pytest.approx(78.0, abs=0.01)
    cards = np.count_nonzero(scan.pixels / 65535 > (0.3 + 0.015) / 2) * (25.4 / 100) ** 2
    assert cards == pytest.approx(2 * 12 * 5, rel=0.05)  # to half a pixel at the border: 2 * 34 mm * 0.13 mm
