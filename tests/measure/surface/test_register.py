"""Moves of small windows: known moves of a drawn texture, beside scikit-image's registration."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import ndimage
from skimage.registration import phase_cross_correlation

from holders.measure.surface.register import MARGIN, register

SIDE, COUNT = 48, 40
Windows = tuple[NDArray[np.float32], NDArray[np.float32], NDArray[np.float64], NDArray[np.float64]]


def windows(seed: int, noise: float, *, gain: float = 1.0, dust: bool = False) -> Windows:
    """Pairs of windows of a texture drawn four times finer than a pixel, moved by up to one pixel either way."""
    random = np.random.default_rng(seed)
    wide = SIDE + 2 * MARGIN
    big = wide + 16
    a, b = np.empty((COUNT, SIDE, SIDE), np.float32), np.empty((COUNT, wide, wide), np.float32)
    u, v = random.uniform(-1, 1, COUNT), random.uniform(-1, 1, COUNT)
    for k in range(COUNT):
        fine = ndimage.gaussian_filter(random.standard_normal((4 * big, 4 * big)), 4.0)
        fine = ndimage.uniform_filter(fine / fine.std() * 0.1 + 0.5, 4)
        for out, size, begin, dx, dy in ((a, SIDE, 8 + MARGIN, 0.0, 0.0), (b, wide, 8, u[k], v[k])):
            rows, cols = np.mgrid[0:size, 0:size] + float(begin)
            out[k] = ndimage.map_coordinates(fine, [4 * (rows - dy) + 1.5, 4 * (cols - dx) + 1.5], order=3)
    b *= gain
    if dust:
        b[:, MARGIN + 10 : MARGIN + 15, MARGIN + 20 : MARGIN + 26] = 0.05
    a += noise * random.standard_normal(a.shape).astype(np.float32)
    b += noise * random.standard_normal(b.shape).astype(np.float32)
    return a, b, u, v


@pytest.fixture(scope="module")
def clean() -> Windows:
    return windows(1, 0.01)


def test_it_is_nearer_to_the_truth_than_scikit_images(clean: Windows) -> None:
    # Guizar-Sicairos, Thurman, Fienup 2008 as skimage.registration.phase_cross_correlation has it, steps of 1/100
    a, b, u, _ = clean
    moves = register(a, b)
    assert moves.settled.all()
    kept = np.array([
        phase_cross_correlation(a[k], b[k, MARGIN:-MARGIN, MARGIN:-MARGIN], upsample_factor=100, normalization=None)[0]
        for k in range(COUNT)
    ])  # fmt: skip
    ours, theirs = float(np.std(moves.u - u)), float(np.std(-kept[:, 1] - u))
    assert ours < 0.02
    assert ours < 0.5 * theirs
    # the two agree as well as the kept library's own windowing allows
    assert float(np.median(np.abs(moves.u + kept[:, 1]))) < 0.15
    assert float(np.median(np.abs(moves.v + kept[:, 0]))) < 0.15


@pytest.mark.parametrize("noise", [0.01, 0.03])
def test_its_sigma_holds(noise: float) -> None:
    a, b, u, v = windows(2, noise, gain=1.2)
    moves = register(a, b)
    for error, sigma in ((moves.u - u, moves.sigma_u), (moves.v - v, moves.sigma_v)):
        assert 0.7 < float(np.sqrt(np.mean((error / sigma) ** 2))) < 1.5
        assert abs(float(error.mean())) < 3 * float(error.std()) / np.sqrt(COUNT)


def test_dust_in_one_of_the_two_does_not_pull() -> None:
    a, b, u, _ = windows(3, 0.01, dust=True)
    assert float(np.std(register(a, b).u - u)) < 0.02


def test_a_window_without_detail_says_so() -> None:
    random = np.random.default_rng(4)
    a = (0.5 + 0.01 * random.standard_normal((6, SIDE, SIDE))).astype(np.float32)
    b = (0.5 + 0.01 * random.standard_normal((6, SIDE + 2 * MARGIN, SIDE + 2 * MARGIN))).astype(np.float32)
    moves = register(a, b)
    assert np.all((moves.sigma_u > 0.4) | (moves.likeness < 0.25) | ~moves.settled)
