"""Edges, turn and what is seen, on scans whose geometry is known."""

from __future__ import annotations

import numpy as np
import pytest
from skimage.registration import phase_cross_correlation

from holders.measure.finished.compare import shift_px
from holders.measure.finished.expected import Box, Expected
from holders.measure.finished.placement import place
from tests.measure.finished.scans import grain_film, window_scan

PITCH = 0.127  # mm, 200 dpi
CASES = [(0.0, 11), (0.35, 12), (-1.2, 13), (2.5, 14), (0.05, 15), (-0.6, 16)]


def scan_of(turn: float, number: int) -> tuple[np.ndarray, tuple[float, float], tuple[float, float]]:
    rng = np.random.default_rng(number)
    shape = (560, 460)
    corner = (40 + rng.uniform(0, 20), 50 + rng.uniform(0, 20))
    size = (330 + rng.uniform(0, 20), 430 + rng.uniform(0, 20))
    film = grain_film(rng, shape, rms=0.06)
    return window_scan(shape, corner, size, turn, film) + rng.normal(0, 0.002, shape), corner, size


@pytest.mark.parametrize(("turn", "number"), CASES)
def test_edges_and_turn(turn: float, number: int) -> None:
    light, corner, size = scan_of(turn, number)
    found = place(light, (PITCH, PITCH))
    assert found.skew_deg is not None
    assert abs(found.skew_deg - turn) < 0.02
    # where a turned rectangle's sides stand at the middle of the scan's other axis
    a = np.radians(turn)
    cx, cy = corner[0] + size[0] / 2, corner[1] + size[1] / 2
    off_x, off_y = light.shape[1] / 2 - cx, light.shape[0] / 2 - cy
    true = {
        "left": cx - size[0] / 2 / np.cos(a) - off_y * np.tan(a),
        "right": cx + size[0] / 2 / np.cos(a) - off_y * np.tan(a),
        "head": cy - size[1] / 2 / np.cos(a) + off_x * np.tan(a),
        "foot": cy + size[1] / 2 / np.cos(a) + off_x * np.tan(a),
    }
    assert {e.name for e in found.edges} == set(true)
    for edge in found.edges:
        assert abs(edge.at_mm - true[edge.name] * PITCH) < 0.1, edge
        assert edge.at_sigma_mm < 0.1
    assert found.consistent


def test_a_rough_dusty_edge_does_not_move_the_line() -> None:
    light, corner, _ = scan_of(0.4, 21)
    rng = np.random.default_rng(3)
    for _ in range(12):
        r = int(rng.integers(80, 480))
        light[r : r + 6, int(corner[0]) - 5 : int(corner[0]) + 25] = 0.02
    found = place(light, (PITCH, PITCH))
    assert found.skew_deg is not None
    assert abs(found.skew_deg - 0.4) < 0.02


def test_film_darker_than_what_is_around_it() -> None:
    light, corner, _ = scan_of(0.0, 22)
    found = place(1.0 - light, (PITCH, PITCH))
    left = found.edge("left")
    assert left is not None
    assert abs(left.at_mm - corner[0] * PITCH) < 0.1


def test_nothing_to_find_is_said() -> None:
    found = place(np.full((300, 300), 0.3), (PITCH, PITCH))
    assert found.edges == ()
    assert found.skew_deg is None


def test_seen_area_and_window_against_the_design() -> None:
    light, _, size = scan_of(0.0, 23)
    width, height = size[0] * PITCH, size[1] * PITCH
    design = Expected(window_mm=(width - 0.5, height), picture=Box(-1.0, 2.0, width, height - 4.0))
    found = place(light, (PITCH, PITCH), design)
    assert found.window_error_mm is not None
    assert found.window_error_mm[0] == pytest.approx(0.5, abs=0.1)
    assert found.window_error_mm[1] == pytest.approx(0.0, abs=0.1)
    assert found.seen_fraction == pytest.approx((width - 1.0) / width, abs=0.005)


@pytest.mark.parametrize(("strip_mm", "seen"), [(2.0, True), (0.0, False)])
def test_rebate_on_the_wished_edge(strip_mm: float, seen: bool) -> None:
    rng = np.random.default_rng(5)
    shape, corner, size = (560, 460), (45.0, 60.0), (340.0, 440.0)
    film = 0.2 + 0.15 * np.abs(np.sin(np.indices(shape).sum(0) / 7)) + rng.normal(0, 0.01, shape)
    film[int(60 + 440 - strip_mm / PITCH) :] = 0.7  # clear film at the foot
    light = window_scan(shape, corner, size, 0.3, film)
    design = Expected(window_mm=(size[0] * PITCH, size[1] * PITCH), rebate_edge="foot", rebate_mm=2.0)
    found = place(light, (PITCH, PITCH), design)
    assert found.rebate_seen is seen
    if seen:
        assert found.rebate_mm == pytest.approx(strip_mm, abs=0.5)


@pytest.mark.parametrize("shift", [(3.37, -5.81), (0.25, 0.5), (-12.4, 7.05)])
def test_shift_agrees_with_an_outside_library(shift: tuple[float, float]) -> None:
    rng = np.random.default_rng(8)
    spectrum = np.fft.fft2(np.log(grain_film(rng, (320, 280), size_px=1.5)))
    fy, fx = np.fft.fftfreq(320)[:, None], np.fft.fftfreq(280)[None, :]
    first = np.fft.ifft2(spectrum).real + rng.normal(0, 0.01, (320, 280))
    moved = np.fft.ifft2(spectrum * np.exp(-2j * np.pi * (fy * shift[0] + fx * shift[1]))).real
    moved = moved + rng.normal(0, 0.01, moved.shape)
    dy, dx, peak = shift_px(first, moved)
    theirs, _, _ = phase_cross_correlation(moved, first, upsample_factor=100)
    assert (dy, dx) == pytest.approx(shift, abs=0.1)
    assert (dy, dx) == pytest.approx(tuple(theirs), abs=0.12)
    assert peak > 10
