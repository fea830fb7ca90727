"""The simulator's optics against closed forms and against a general-purpose library."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import j1

_spec = importlib.util.spec_from_file_location("focus_bounds", Path(__file__).with_name("bounds.py"))
bounds = sys.modules.setdefault("focus_bounds", importlib.util.module_from_spec(_spec))
_spec.loader.exec_module(bounds)
sim = bounds.simulator()


def _disc(v):
    return float(sim.disc(np.array([v]), 1.0)[0])


@pytest.mark.parametrize(
    ("value", "want"), [(1.2197, 0.0), (2.2331, 0.0), (3.2383, 0.0), (0.7051, 0.5), (1.0885, 0.1)]
)
def test_geometric_defocus_at_known_points(value, want):
    # zeros and levels of 2 J1(x)/x, x = pi f d (COMPUTED independently for this project)
    assert abs(_disc(value)) == pytest.approx(want, abs=2e-4)
    if want == 0.0:
        root = brentq(_disc, value - 0.05, value + 0.05)
        assert j1(np.pi * root) == pytest.approx(0.0, abs=1e-9)


def test_disc_is_the_transform_of_an_even_disc():
    # the definition itself, by summing a fine disc
    n = 1001
    y, x = np.mgrid[-1 : 1 : n * 1j, -1 : 1 : n * 1j] * 0.55
    inside = np.hypot(x, y) <= 0.5
    for f in (0.3, 0.9, 1.7):
        direct = np.cos(2 * np.pi * f * x)[inside].mean()
        assert _disc(f) == pytest.approx(direct, abs=2e-3)


def test_wave_optics_in_focus_is_the_diffraction_limit():
    case = sim.Case(blur="wave", na=0.035)
    f = np.linspace(1.0, 110.0, 25)
    fc = [2 * case.na / (case.wavelength_mm * s) for s in (0.9, 1.0, 1.1)]
    want = np.mean([sim.diffraction(f, c) for c in fc], axis=0)
    assert np.abs(sim.transfer(case, f, 0.0) - want).max() < 0.01


def test_wave_optics_far_from_focus_is_the_geometric_blur():
    # valid for path differences of more than a wave or two: NA^2 dz / 2 = 3.3 waves here
    case = sim.Case(blur="wave", na=0.06)
    f = np.linspace(0.5, 9.0, 30)
    dz = 1.0
    assert np.abs(sim.transfer(case, f, dz) - sim.disc(f, 2 * case.na * dz)).max() < 0.06


def test_hopkins_defocus_by_its_own_integral():
    # Hopkins's defocused transfer function: the overlap of two shifted pupils with the phase 2 k W20 (2 s) x
    # (Goodman, section 6.4, from memory); one wavelength, done by summing over the overlap
    na, wavelength, dz = 0.035, 550e-6, 0.5
    w20 = 0.5 * na**2 * dz
    table = sim._wave(na, wavelength, dz)
    fc = 2 * na / wavelength
    n = 801
    y, x = np.mgrid[-1 : 1 : n * 1j, -1 : 1 : n * 1j]
    for f in (5.0, 15.0, 30.0, 60.0):
        s = f / fc
        both = (np.hypot(x - s, y) <= 1) & (np.hypot(x + s, y) <= 1)
        phase = 2 * np.pi / wavelength * w20 * ((x + s) ** 2 - (x - s) ** 2)
        direct = np.cos(phase)[both].sum() / (np.hypot(x, y) <= 1).sum()
        mine = np.interp(f, np.linspace(0, fc, len(table), endpoint=False), table)
        assert mine == pytest.approx(direct, abs=0.012)


def test_diffraction_limit_agrees_with_a_library():
    otf = pytest.importorskip("prysm.otf", reason="prysm is not installed")
    case = sim.Case()
    f = np.linspace(0.0, 120.0, 13)
    library = otf.diffraction_limited_mtf(fno=1 / (2 * case.na), wavelength=550e-3, frequencies=f)
    assert np.abs(sim.diffraction(f, 2 * case.na / 550e-6) - library).max() < 1e-6


def test_a_scan_blurs_an_edge_as_its_transfer_function_says():
    # a fixed height (no climb): the line spread of a rendered tick against the transfer function times the sampling
    case = sim.Case(
        kind="ruler", length_mm=20.0, rise_mm=1e-9, start_mm=2.5, z0_mm=3.0, pitch_mm=5.0, tick_mm=0.4, jitter=0.0,
        rows=64, dust=0, scratches=0, full_well=1e9, read_noise=0.0, falloff=0.0, slope_light=0.0,
    )  # fmt: skip
    image = sim.scan(case).astype(float)[20] / 65535 / 0.85
    tick = 1.0 - image[round(5.0 / case.pixel_mm) - 120 : round(5.0 / case.pixel_mm) + 120]
    tick -= np.median(tick[:20])  # the clear ruler's own absorption
    got = np.abs(np.fft.rfft(tick)) / tick.sum()
    f = np.fft.rfftfreq(len(tick), case.pixel_mm)
    want = np.abs(np.sinc(f * case.tick_mm) * sim.transfer(case, f, 0.5) * np.sinc(f * case.pixel_mm))
    assert np.abs(got - want)[f < 30].max() < 0.01
