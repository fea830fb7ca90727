"""Finding the film's edge in a picture: what stands out, what is too short, dark or light, and how a gap is bridged."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.curl.picture import Grid
from holders.measure.curl.trace import arc_length, normals, resampled, smoothed, stand_out, trace

F64 = NDArray[np.float64]
PITCH_MM = 0.2


def grid(light: F64, left: float = 0.0, top: float = 0.0) -> Grid:
    return Grid(light.astype(np.float32), left, top, PITCH_MM, PITCH_MM)


def noisy(shape: tuple[int, int] = (160, 240), ground: float = 0.05) -> F64:
    return ground + np.random.default_rng(3).normal(0.0, 0.002, shape)


def line(at: F64, row: int, first: int, last: int, light: float = 0.6) -> F64:
    at[row - 1 : row + 2, first:last] = light
    return at


def test_a_line_one_block_wide_stands_out_by_its_smoothed_height() -> None:
    """Smoothing by 0.6 blocks leaves 1 / (1 + 2 (e^-1.389 + e^-5.556 + ...)) = 0.664 of it; the ground goes."""
    light = np.full((100, 120), 0.1)
    light[40, :] = 0.6
    rest, noise = stand_out(grid(light), "scan")
    share = 1 / (1 + 2 * (math.exp(-1 / 0.72) + math.exp(-4 / 0.72)))
    assert rest[40, 60] == pytest.approx(0.5 * share, abs=2e-3)
    assert rest[41, 60] == pytest.approx(0.5 * share * math.exp(-1 / 0.72), abs=2e-3)
    assert abs(rest[10, 60]) < 1e-3
    assert noise == pytest.approx(2e-4)  # of nothing: the least that is counted


def test_the_noise_is_that_of_the_smoothed_light_and_a_slow_ground_is_taken_off() -> None:
    """White noise of 0.01, smoothed by 0.6 in both directions, keeps the sum of its weights' squares: 0.4704 of it."""
    weights = np.exp(-(np.arange(-4, 5) ** 2) / 0.72)
    kept = float(((weights / weights.sum()) ** 2).sum())  # of one direction, in variance
    light = 0.1 + 0.1 * np.arange(240)[None, :] / 240 + np.random.default_rng(4).normal(0, 0.01, (160, 240))
    rest, noise = stand_out(grid(light), "scan")
    assert noise == pytest.approx(0.01 * kept, rel=0.06)
    assert abs(float(rest[:, 20:40].mean() - rest[:, 200:220].mean())) < 2e-3


@pytest.mark.parametrize(("ground", "light"), [(0.44, True), (0.46, False)])
def test_a_ground_as_light_as_film_is_refused(ground: float, light: bool) -> None:
    picture = line(np.full((100, 120), ground), 50, 20, 100, 0.9)
    if light:
        stand_out(grid(picture), "scan")
    else:
        with pytest.raises(InputError, match="as light as film"):
            stand_out(grid(picture), "scan")


def test_a_very_small_picture_has_one_ground() -> None:
    rest, _ = stand_out(grid(np.full((12, 300), 0.2)), "scan")
    assert np.abs(rest).max() < 1e-6


@pytest.mark.parametrize(("long_mm", "found"), [(7.0, False), (9.0, True)])
def test_a_line_of_eight_millimetres_is_the_least(long_mm: float, found: bool) -> None:
    picture = line(noisy(), 80, 60, 60 + round(long_mm / PITCH_MM))
    if not found:
        with pytest.raises(InputError, match="no line of 8 mm"):
            trace(grid(picture), "scan")
        return
    path = trace(grid(picture, left=10.0, top=5.0), "scan")
    assert path[:, 1] == pytest.approx(5.0 + 80.5 * PITCH_MM, abs=0.25)  # at its ends it may keep to a corner
    ends = sorted((path[0, 0], path[-1, 0]))
    assert ends == pytest.approx([10.0 + 60.5 * PITCH_MM, 10.0 + (60 + 44.5) * PITCH_MM], abs=0.5)
    steps = np.hypot(*np.diff(path, axis=0).T)
    assert steps == pytest.approx(0.5, abs=0.05)


def test_nothing_bright_is_said() -> None:
    with pytest.raises(InputError, match="no bright line in it"):
        trace(grid(np.full((100, 120), 0.1)), "scan")


@pytest.mark.parametrize(("gap_mm", "joined"), [(6.0, True), (8.0, False)])
def test_pieces_belong_together_across_a_gap_of_seven_millimetres(gap_mm: float, joined: bool) -> None:
    end = 40 + 70
    picture = line(line(noisy(), 80, 40, end), 80, end + round(gap_mm / PITCH_MM), 220)
    path = trace(grid(picture), "scan")
    long = float(np.ptp(path[:, 0]))
    whole = (220 - 40) * PITCH_MM
    assert long == pytest.approx(whole if joined else max(14.0, whole - 14.0 - gap_mm), abs=0.8)


def test_dust_beside_the_line_is_no_part_of_it() -> None:
    picture = line(noisy(), 80, 60, 180)
    picture[70:73, 184:187] = 0.8  # 0.6 mm, 2 mm aside
    path = trace(grid(picture), "scan")
    assert np.ptp(path[:, 1]) < 0.3
    assert path[:, 0].max() == pytest.approx(180 * PITCH_MM, abs=0.5)


def test_steps_along_a_polyline() -> None:
    corner = np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 0.0], [3.0, 4.0]])
    assert arc_length(corner).tolist() == [0.0, 3.0, 3.0, 7.0]
    even = resampled(corner, 1.0)
    assert even.tolist() == [[0, 0], [1, 0], [2, 0], [3, 0], [3, 1], [3, 2], [3, 3], [3, 4]]
    assert resampled(corner, 100.0).tolist() == [[0, 0], [3, 4]]


def test_smoothing_keeps_a_straight_line_and_an_arcs_ends() -> None:
    straight = np.column_stack([np.linspace(0, 20, 9), np.linspace(0, 10, 9)])
    even = smoothed(straight, 1.5)
    assert even[[0, -1]] == pytest.approx(straight[[0, -1]], abs=1e-6)
    assert np.abs(even[:, 1] - even[:, 0] / 2).max() < 1e-6
    angle = np.linspace(-0.5, 0.5, 200)
    arc = 50 * np.column_stack([np.sin(angle), np.cos(angle)])
    off = np.hypot(*smoothed(arc, 1.5).T) - 50  # a smoothed arc sinks by sigma² / 2R
    assert off[80:-80] == pytest.approx(-(1.5**2) / (2 * 50), rel=0.05)
    assert abs(off[0]) < 1e-6


def test_normals_are_the_tangent_turned_from_x_toward_y() -> None:
    along = np.column_stack([np.arange(5.0), np.zeros(5)])
    assert normals(along) == pytest.approx(np.tile([0.0, 1.0], (5, 1)))
    assert normals(along[:, ::-1]) == pytest.approx(np.tile([-1.0, 0.0], (5, 1)))
