"""The lens, sensor and file of the simulated scans against closed forms and other people's code."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import scipy.ndimage
import skimage.filters
import tifffile

from tests.simulators.optics import Lens, blur_by_defocus
from tests.simulators.sensor import Sensor, add_noise, bin_pixels, develop, jpeg, unsharp, write_tiff

PIXEL = 0.005


def spot(lens: Lens, dz: float) -> np.ndarray:
    image = np.zeros((201, 201), np.float32)
    image[100, 100] = 1.0
    return blur_by_defocus(image, np.full((1, 1), dz), lens, PIXEL)


def moment(image: np.ndarray) -> float:
    """Second moment along x about the mean, in mm^2."""
    x = (np.arange(image.shape[1]) - 100) * PIXEL
    weight = image.sum(axis=0) / image.sum()
    return float((weight * x**2).sum() - (weight * x).sum() ** 2)


@pytest.mark.parametrize("dz", [-2.0, -0.5, 0.0, 0.7, 2.0])
@pytest.mark.parametrize("asymmetry", [0.0, 0.2])
def test_spread_has_the_second_moment_of_a_defocused_disc(dz: float, asymmetry: float) -> None:
    # A uniform disc of radius R has variance R^2 / 4 along one direction (elementary); independent blurs add.
    lens = Lens(0.03, 0.012, asymmetry=asymmetry)
    radius = 0.03 * (1 + np.sign(dz) * asymmetry / 2) * dz
    assert moment(spot(lens, dz)) == pytest.approx(0.012**2 + radius**2 / 4, rel=0.01)


def test_spherical_aberration_adds_its_balanced_moment_and_tells_the_sides_apart() -> None:
    # <(r^3 - 2r/3)^2> over the unit pupil is 1/36, and its product with r averages to nothing.
    lens = Lens(0.03, 0.012, spherical_mm=0.06)
    for dz in (-1.0, 0.0, 1.0):
        assert moment(spot(lens, dz)) == pytest.approx(
            0.012**2 + (0.03 * dz) ** 2 / 4 + 0.06**2 / 72, rel=0.01
        )
    bright = [float(spot(lens, dz).max()) for dz in (-1.0, 1.0)]
    assert bright[1] < 0.8 * bright[0] or bright[0] < 0.8 * bright[1]


def test_sharpest_is_the_rms_focus_only_without_spherical_aberration() -> None:
    assert Lens().sharpest_dz() == pytest.approx(0.0, abs=0.002)
    assert abs(Lens(spherical_mm=0.05).sharpest_dz()) > 0.01


def test_the_transfer_at_the_core_is_a_gaussian() -> None:
    lens = Lens(core_sigma_mm=0.01)
    frequency = np.array([10.0, 30.0])
    assert lens.otf(frequency, 0.0) == pytest.approx(np.exp(-2 * (np.pi * 0.01 * frequency) ** 2), rel=1e-6)


def test_blur_that_changes_is_locally_the_blur_of_that_place() -> None:
    # lines far apart on a slope: the moment of each is that of its own defocus
    lens, pixel = Lens(0.03, 0.012), 0.01
    image = np.zeros((40, 3000), np.float32)
    lines = np.arange(250, 2900, 250)
    image[:, lines] = 1.0
    dz = np.linspace(-2.5, 2.5, 3000)[None, :]
    soft = blur_by_defocus(image, dz, lens, pixel)[20]
    for line in lines:
        part = soft[line - 100 : line + 101]
        x = np.arange(-100, 101) * pixel
        variance = (part * x**2).sum() / part.sum() - ((part * x).sum() / part.sum()) ** 2
        assert variance == pytest.approx(lens.variance_mm2(float(dz[0, line])), rel=0.06)


def test_noise_has_the_level_it_names() -> None:
    random = np.random.default_rng(1)
    sensor = Sensor(noise=0.004, read_noise=0.001, streaks=0.0)
    for light in (0.05, 1.0):
        noisy = add_noise(np.full((400, 400), light, np.float32), sensor, random)
        assert float(noisy.std()) == pytest.approx(np.hypot(0.004 * np.sqrt(light), 0.001), rel=0.02)
        assert float(noisy.mean()) == pytest.approx(light, abs=1e-4)


def test_bins_are_means() -> None:
    image = np.arange(24, dtype=np.float32).reshape(4, 6)
    assert bin_pixels(image, 2)[0].tolist() == [3.5, 5.5, 7.5]


def test_sharpening_is_an_unsharp_mask() -> None:
    # against scikit-image's filter of this name
    image = np.random.default_rng(0).random((60, 60)).astype(np.float32)
    theirs = skimage.filters.unsharp_mask(image, radius=1.5, amount=0.8, preserve_range=True)
    assert unsharp(image, 0.8, 1.5)[8:-8, 8:-8] == pytest.approx(theirs[8:-8, 8:-8], abs=2e-3)


def test_jpeg_loses_what_a_jpeg_coder_loses() -> None:
    # reference: the codec in Pillow at the same quality
    import io

    from PIL import Image

    random = np.random.default_rng(3)
    image = scipy.ndimage.gaussian_filter(random.random((64, 96)), 1.5)
    image = np.round(255 * (image - image.min()) / np.ptp(image)).astype(np.uint8)
    for quality in (60, 90):
        file = io.BytesIO()
        Image.fromarray(image).save(file, "JPEG", quality=quality)
        theirs = np.asarray(Image.open(file), float)
        ours = jpeg((image / 255).astype(np.float32), quality) * 255
        # the coder's integer transform rounds a few coefficients the other way, so: the same loss, nearly
        assert np.corrcoef((ours - image).ravel(), (theirs - image).ravel())[0, 1] > 0.9
        assert np.abs(theirs - image).max() > 3.0


def test_files_carry_resolution_and_values(tmp_path: Path) -> None:
    random = np.random.default_rng(0)
    light = np.full((50, 70), 0.25, np.float32)
    quiet = Sensor(noise=0, read_noise=0, streaks=0, gamma=2.0, bits=8)
    image = develop(light, quiet, random)
    assert int(image[3, 3]) == 128  # sqrt(0.25) of 255, rounded
    with tifffile.TiffFile(write_tiff(tmp_path / "a.tif", image, 1600)) as file:
        page = file.pages[0]
        assert page.tags["XResolution"].value == (1600, 1)
        assert page.asarray().shape == (50, 70)
