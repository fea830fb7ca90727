"""Edges show the sharp height whatever lies on the target; spacing of ticks shows perspective and sag."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.special import erf

from holders.measure.slope.edges import find
from holders.measure.slope.edges.curve import fit_edges
from holders.measure.slope.edges.find import Edges
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.measure import measure_focus
from holders.measure.slope.target.shape import TargetShape
from tests.short import some
from tests.simulators import slope_scan
from tests.simulators.optics import Lens
from tests.simulators.sensor import write_tiff

PLAIN = slope_scan.SlopeScan(
    dpi=1200, length_mm=60.0, width_mm=7.0, rise=5.0, field=slope_scan.Field(2.3), lens=Lens(0.03), seed=5
)
FLAT = TargetShape("flat")


def measure(folder, scan, shape=FLAT):
    path = write_tiff(folder / "scan.tif", slope_scan.render(scan), scan.dpi)
    slope = SlopeGeometry(
        rise_mm=scan.rise, run_mm=scan.length_mm, start_height_mm=scan.start, reverse=scan.reverse
    )
    return measure_focus([path], geometry=slope, shape=shape)


@pytest.mark.parametrize("sigma", [1.2, 2.0, 4.0])
def test_steepness_is_the_height_of_the_line_spread(sigma):
    # a step blurred by a Gaussian of s has a greatest slope of contrast / (sqrt(2 pi) s); in s the derivative's own
    # smoothing and its step of two pixels, whose variance is 1/3
    pitch = 0.01
    x = np.arange(400) - 200.3
    light = np.broadcast_to(0.2 + 0.3 * (1.0 + erf(x / (sigma * np.sqrt(2.0)))), (60, 400)).astype(np.float32)
    _, _, steep, contrast, lengthwise, kind = find._points(light, pitch)
    whole = np.sqrt(sigma**2 + find.SMOOTHING**2 + 1.0 / 3.0) * pitch
    assert len(steep) > 40
    assert steep == pytest.approx(1.0 / (np.sqrt(2.0 * np.pi) * whole), rel=0.02)
    assert contrast == pytest.approx(0.6, rel=0.01)
    assert not lengthwise.any()
    assert (kind == 0).all()


def made_edges(height, steepness):
    n = len(height)
    across = np.linspace(-0.5, 0.5, n) * np.cos(np.arange(n))
    return Edges(height, across, height, steepness, np.ones(n), np.zeros(n, bool), np.zeros(n, np.int64))


@pytest.mark.parametrize("lean", [-0.1, 0.0, 0.1])
def test_a_curve_with_uneven_sides_gives_its_top(lean):
    r = np.random.default_rng(3)
    h = np.sort(r.uniform(0.0, 5.0, 8000))
    d = h - 2.1
    blur = np.sqrt(0.01**2 + (0.02 * d * (1.0 + lean * np.sign(d))) ** 2)
    fit = fit_edges(made_edges(h, 0.4 / blur * np.exp(0.02 * r.standard_normal(8000))), (0.0, 5.0))
    assert fit.edge == 0
    assert abs(fit.height - 2.1) <= min(0.02, 4.0 * fit.sigma)


@pytest.mark.parametrize(("z", "edge"), [(-0.6, -1), (5.5, 1)])
def test_a_top_beyond_the_end_is_told(z, edge):
    r = np.random.default_rng(4)
    h = np.sort(r.uniform(0.0, 5.0, 8000))
    steep = 0.4 / np.sqrt(0.01**2 + (0.02 * (h - z)) ** 2) * np.exp(0.02 * r.standard_normal(8000))
    assert fit_edges(made_edges(h, steep), (0.0, 5.0)).edge == edge


@pytest.mark.parametrize("target", some(["text", "chart", "ruler"], "text", "ruler"))
def test_printed_targets_are_measured(tmp_path, target):
    found = measure(tmp_path, dataclasses.replace(PLAIN, target=target))
    assert not found.at_edge
    assert abs(found.height - 2.3) <= min(0.1, 3.0 * found.height_sigma)
    assert found.judged_by in ("edges", "both")


@pytest.mark.parametrize("asymmetry", some([-0.2, 0.2], -0.2))
def test_blur_that_differs_on_both_sides_does_not_mislead(tmp_path, asymmetry):
    found = measure(tmp_path, dataclasses.replace(PLAIN, lens=Lens(0.03, asymmetry=asymmetry)))
    assert abs(found.height - 2.3) <= min(0.05, 3.0 * found.height_sigma)


def test_perspective_and_sag_are_seen_in_the_ticks(tmp_path):
    across = dataclasses.replace(PLAIN, across=True, length_mm=90.0, lens_distance_mm=280.0, x_mm=10.0)
    straight = measure(tmp_path, across)
    # perspective alone would shift the height by rise^2 t (1 - t) / D, 0.022 mm
    assert abs(straight.height - 2.3) <= 0.02
    sagging = measure(tmp_path, dataclasses.replace(across, sag_mm=0.4), TargetShape("acrylic-ruler", 2.0))
    assert any("sags by 0.4" in words or "sags by 0.3" in words for words in sagging.warnings)
    assert abs(sagging.height - 2.3) <= 2.0 * sagging.height_sigma


def test_resolution_at_best_focus_is_a_lower_bound(tmp_path):
    scan = dataclasses.replace(PLAIN, target="ruler", dpi=2400, length_mm=40.0, skew_deg=0.4)
    found = measure(tmp_path, scan)
    lens = scan.lens.mtf50_lp_mm(0.0)
    # the lens alone; pixels of 10.6 um take 6 % more at 18 lp/mm
    assert 0.75 * lens <= found.resolution.mtf50_lp_mm <= lens + 2.0 * found.resolution.sigma
    assert found.to_answer()["resolution"]["mtf50_lp_mm"] == found.resolution.mtf50_lp_mm
    # 2400 dpi shows no more than a tenth of the contrast at its finest: the preset learns from where on
    assert found.resolution.useful_dpi < 2400
    assert found.bed_numbers()["useful_ppi"] == round(found.resolution.useful_dpi, -1)


def test_an_unnamed_film_is_doubted_and_says_so(tmp_path):
    film = dataclasses.replace(PLAIN, target="grain", dpi=2400, length_mm=40.0)
    found = measure(tmp_path, film, TargetShape())
    assert found.height_sigma > 0.15
    assert found.confidence < 0.6
    assert any("--target" in words for words in found.warnings)
