"""Resolution from slanted edges: against closed forms, and against another implementation of the same standard."""

from __future__ import annotations

import numpy as np
import pytest
from quickMTF.SFR_MTF import sfr_mtfcal
from scipy.special import erf

from holders.measure.slope.edges.spread import Response, lay_out, respond

AT = np.array([0.1, 0.2, 0.3, 0.4])


def slanted_edge(patch: np.ndarray) -> Response | None:
    """The transfer shown by one patch with one slanted edge."""
    half = patch.shape[1] // 2 - 2
    laid = lay_out(patch, half)
    return None if laid is None else respond([laid], half)


def edge(sigma: float, degrees: float, rows: int = 80, columns: int = 64, shift: float = 0.0) -> np.ndarray:
    """A step blurred by a Gaussian of ``sigma`` pixels, seen by square pixels, leaning by ``degrees``."""
    y, x = np.mgrid[0:rows, 0:columns]
    sub = (np.arange(8) + 0.5) / 8 - 0.5
    lean = np.radians(degrees)
    off = x[..., None] + sub - (columns - 1) / 2 - shift - np.tan(lean) * (y[..., None] - (rows - 1) / 2)
    return 0.1 + 0.4 * (1.0 + erf(off * np.cos(lean) / (sigma * np.sqrt(2.0)))).mean(axis=-1)


@pytest.mark.parametrize(("sigma", "degrees"), [(0.6, 5.0), (0.9, -5.0), (1.5, 8.0)])
def test_a_gaussian_edge_shows_its_own_transfer(sigma, degrees):
    # closed form: exp(-2 pi^2 s^2 f^2) of the blur times sin(pi f) / (pi f) of the pixel
    found = slanted_edge(edge(sigma, degrees))
    expected = np.exp(-2.0 * np.pi**2 * sigma**2 * AT**2) * np.sinc(AT)
    assert np.interp(AT, found.frequency, found.kept) == pytest.approx(expected, abs=0.006)


def test_a_short_window_does_not_narrow_the_blur():
    # between two ticks there is room for 4.4 sigma to either side; under a Hamming window 1.1 times as much is seen
    patch = edge(2.5, 5.0)[:, 18:46]
    found = respond([lay_out(patch, 11)], 11).falls_to(0.5)
    f = np.linspace(0.0, 0.5, 5001)
    expected = f[np.argmax(np.exp(-2.0 * np.pi**2 * 2.5**2 * f**2) * np.sinc(f) < 0.5)]
    assert found == pytest.approx(expected, rel=0.03)


@pytest.mark.parametrize("sigma", [0.5, 0.7, 0.9])
def test_another_implementation_of_the_standard_agrees(sigma):
    # quickMTF 2023.3.3 from the package index. It lies 0.001 above the closed form at 0.5 pixels, 0.025 at 0.9
    image = edge(sigma, 5.0)
    theirs, _ = sfr_mtfcal().calc_sfr(image, 4)
    ours = slanted_edge(image)
    assert np.interp(AT, ours.frequency, ours.kept) == pytest.approx(
        np.interp(AT, theirs[:, 0], theirs[:, 1]), abs=0.03
    )


def test_dark_to_bright_and_bright_to_dark_are_the_same():
    one, other = slanted_edge(edge(0.8, 5.0)), slanted_edge(1.0 - edge(0.8, 5.0))
    assert other.kept == pytest.approx(one.kept, abs=1e-6)


def test_short_edges_are_laid_over_each_other():
    # ticks of a ruler: too short and too straight to fill the quarter pixels one by one
    short = [edge(0.8, 0.4, rows=14, shift=0.29 * k) for k in range(12)]
    assert slanted_edge(short[0]) is None
    found = respond([lay_out(one, 24) for one in short], 24)
    expected = np.exp(-2.0 * np.pi**2 * 0.8**2 * AT**2) * np.sinc(AT)
    assert np.interp(AT, found.frequency, found.kept) == pytest.approx(expected, abs=0.02)


def test_noise_alone_is_no_edge():
    assert slanted_edge(np.random.default_rng(1).random((40, 40))) is None


def test_where_it_falls_to_a_half():
    found = slanted_edge(edge(1.0, 5.0))
    f = np.linspace(0.0, 0.5, 5001)
    true = f[np.argmax(np.exp(-2.0 * np.pi**2 * f**2) * np.sinc(f) < 0.5)]
    assert found.falls_to(0.5) == pytest.approx(true, rel=0.02)
    assert found.falls_to(1e-9) is None or found.falls_to(1e-9) > 0.4


def test_an_edge_at_the_rim_of_its_patch_is_left_out_in_silence() -> None:
    """One side of it lies outside: nothing says how dark or bright that is (warnings are errors in tests)."""
    ramp = np.clip((np.arange(40.0)[None, :] - 30.0) / 2.0, 0.0, 1.0) + np.zeros((24, 1))
    assert lay_out(ramp, 14) is None
