"""Finished scans: window, sharpness, noise and rings against what their settings say."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
import scipy.ndimage
import tifffile

from tests.simulators.film_surface import FilmSurface
from tests.simulators.finished_scan import CLASSES, FinishedScan, Rings, draw, draw_case, render, truth, write
from tests.simulators.optics import Lens
from tests.simulators.sensor import Sensor

FLAT = FinishedScan(
    surface=FilmSurface(30.0, 20.0, ledge_mm=2.5, middle_mm=0.0),
    focus_mm=2.5,
    lens=Lens(0.02, 0.01),
    dpi=600,
    content="sky",
    detail=0.0,
    grain=0.0,
    dust_per_cm2=0.0,
    sensor=Sensor(noise=0, read_noise=0, streaks=0),
    seed=1,
)


def profile_of_edge(scan: FinishedScan) -> np.ndarray:
    """Derivative of the light across the window's left edge, mean of the middle rows: its line spread."""
    image = render(scan).astype(float)
    rows = image[image.shape[0] // 2 - 40 : image.shape[0] // 2 + 40].mean(axis=0)
    edge = round(scan.border_mm / 25.4 * scan.dpi)
    return np.clip(np.diff(rows[edge - 12 : edge + 12]), 0, None)


@pytest.mark.parametrize("off", [0.0, 2.0, -3.0])
def test_the_edge_is_as_soft_as_the_defocus_there(off: float) -> None:
    # line spread of a disc: variance (a dz)^2 / 4 along one direction, plus core and the pixel's width^2 / 12;
    # a difference of neighbours adds another pixel^2 / 12
    scan = dataclasses.replace(FLAT, focus_mm=2.5 - off, dpi=1200)
    spread = profile_of_edge(scan)
    x = np.arange(spread.size) * 25.4 / 1200
    variance = (spread * x**2).sum() / spread.sum() - ((spread * x).sum() / spread.sum()) ** 2
    pixel = 25.4 / 1200
    assert variance == pytest.approx(0.01**2 + (0.02 * off) ** 2 / 4 + 2 * pixel**2 / 12, rel=0.08)


def test_the_window_lies_where_truth_says_also_mirrored_and_skewed() -> None:
    for mirrored in (False, True):
        scan = dataclasses.replace(FLAT, mirrored=mirrored, border_mm=4.0, skew_deg=1.0)
        image = render(scan).astype(float)
        left, top, right, bottom = (v / 25.4 * 600 for v in truth(scan)["window"])
        lit = image > 0.3 * image.max()
        row = np.flatnonzero(lit[image.shape[0] // 2])
        column = np.flatnonzero(lit[:, image.shape[1] // 2])
        assert (row[0], row[-1] + 1) == pytest.approx((left, right), abs=1.5)
        assert (column[0], column[-1] + 1) == pytest.approx((top, bottom), abs=1.5)
        first = [np.flatnonzero(lit[:, c])[0] for c in (image.shape[1] // 4, 3 * image.shape[1] // 4)]
        slope = np.degrees(np.arctan((first[1] - first[0]) / (image.shape[1] / 2)))
        assert slope == pytest.approx(truth(scan)["skew_deg"], abs=0.25)


def test_noise_in_the_film_is_what_was_asked_for() -> None:
    quiet = render(FLAT).astype(float) / 65535
    noisy = (
        render(dataclasses.replace(FLAT, sensor=Sensor(noise=0.01, read_noise=0.001, streaks=0))).astype(
            float
        )
        / 65535
    )
    part = np.s_[150:400, 150:500]
    light = float(quiet[part].mean())
    assert float((noisy - quiet)[part].std()) == pytest.approx(
        np.hypot(0.01 * np.sqrt(light), 0.001), rel=0.03
    )


def test_the_band_is_where_the_transfer_falls_to_its_share() -> None:
    low, high = FLAT.band()
    at, best = np.array([10.0]), FLAT.lens.sharpest_dz()
    for height in (low, high):
        share = FLAT.lens.otf(at, height - 2.5 + best) / FLAT.lens.otf(at, best)
        assert float(share[0]) == pytest.approx(0.7, abs=0.01)


def test_the_share_in_the_band_is_that_of_a_tilted_plane() -> None:
    # a film that leans by 0.1 mm per mm has (high - low) / 0.1 mm of its 30 mm width in the band
    scan = dataclasses.replace(FLAT, lean_x=0.1)
    low, high = scan.band()
    facts = truth(scan)
    assert facts["in_band_fraction"] == pytest.approx((high - low) / 0.1 / 30.0, abs=0.02)
    assert facts["in_band"].shape == (8, 12)
    assert np.array_equal(truth(dataclasses.replace(scan, mirrored=True))["z"], facts["z"][:, ::-1])


def test_rings_lie_about_their_spot_with_their_contrast() -> None:
    rings = Rings("spot", x_mm=10.0, y_mm=8.0, radius_mm=4.0, fringes=2.0, contrast=0.1)
    plain, ringed = (render(dataclasses.replace(FLAT, rings=r)).astype(float) for r in (None, rings))
    facts = truth(dataclasses.replace(FLAT, rings=rings))["rings"]
    inner = np.s_[90:-90, 90:-90]
    swing = ringed[inner] / plain[inner] - 1
    assert float(swing.min()) == pytest.approx(-0.1, abs=0.01)
    where = scipy.ndimage.gaussian_filter(swing, 3.0)
    row, column = np.unravel_index(int(np.argmin(where)), where.shape)
    assert (column + 90, row + 90) == pytest.approx(
        (facts["x"] / 25.4 * 600, facts["y"] / 25.4 * 600), abs=3.0
    )


@pytest.mark.parametrize("kind", CLASSES)
def test_every_class_is_drawn_as_it_says(kind: str) -> None:
    for seed in range(8):
        facts = truth(draw_case(seed, kind))
        share = facts["in_band_fraction"]
        if kind == "soft":
            assert share < 0.1
        elif kind in ("sagging", "leaning"):
            assert 0.1 < share < 0.97
        else:
            assert share > 0.9
        assert (facts["rings"] is not None) == kind.startswith("rings")


def test_a_case_is_repeated_and_written_with_its_resolution(tmp_path: Path) -> None:
    facts = write(tmp_path / "a.tif", 2, "plain_content")
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        assert file.pages[0].tags["XResolution"].value[0] == facts["dpi"]
        assert np.array_equal(file.pages[0].asarray(), draw(2, "plain_content")[0])
