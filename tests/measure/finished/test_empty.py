"""The holder scanned without film: windows found at known places, light along the edges, dust, the register."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest
import tifffile
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.face.cli.main import app
from holders.measure.finished.empty import _across, read_empty
from holders.measure.finished.expected import Box
from holders.measure.finished.look import walked
from holders.measure.register import load_register
from holders.output.words.emptied import doubts, own_light
from tests.kept import shipped_study
from tests.measure.finished.scans import write

PRESET = Path(__file__).parents[3] / "presets" / "6x9-roll.toml"
DPI = 200.0
PX = 25.4 / DPI
SHIFT = (-6.3, 4.7)  # of the scan's corner against the bed's
DARK, LAMP = 0.004, 0.7


@pytest.fixture(scope="module")
def windows() -> list[Box]:
    return [Box(w.opening.x, w.opening.y, w.opening.width, w.opening.height)
            for w in shipped_study(PRESET).design.windows]  # fmt: skip


def light_of(windows: list[Box], covered: tuple[int, ...] = ()) -> np.ndarray:
    """The lamp's light through the windows, each pixel the share of it that is open; falling off by 0.1 stop."""
    wide, high = (int(max(a + b for a, b in pairs) / PX) + 120 for pairs in (
        [(w.x + SHIFT[0], w.width) for w in windows], [(w.y + SHIFT[1], w.height) for w in windows]))  # fmt: skip
    x, y = np.arange(wide + 1) * PX, np.arange(high + 1) * PX
    open_ = np.zeros((high, wide))
    for number, w in enumerate(windows, 1):
        if number in covered:
            continue
        left, top = w.x + SHIFT[0], w.y + SHIFT[1]
        across = np.clip(np.minimum(x[1:], left + w.width) - np.maximum(x[:-1], left), 0, PX) / PX
        along = np.clip(np.minimum(y[1:], top + w.height) - np.maximum(y[:-1], top), 0, PX) / PX
        open_ = np.maximum(open_, along[:, None] * across[None, :])
    fall = 2.0 ** (-0.1 * np.linspace(-1, 1, high) ** 2)
    return DARK + (LAMP * fall[:, None] - DARK) * open_


def scanned(path: Path, light: np.ndarray, seed: int = 1) -> Path:
    return write(path, light + np.random.default_rng(seed).normal(0, 0.001, light.shape), DPI)


def at(window: Box) -> tuple[slice, slice]:
    left, top = window.x + SHIFT[0], window.y + SHIFT[1]
    return (slice(round(top / PX), round((top + window.height) / PX)),
            slice(round(left / PX), round((left + window.width) / PX)))  # fmt: skip


def test_windows_of_several_sizes_are_told_apart(tmp_path: Path) -> None:
    mixed = [Box(w.opening.x, w.opening.y, w.opening.width, w.opening.height)
             for w in shipped_study(PRESET.with_stem("mixed-formats")).design.windows]  # fmt: skip
    found = read_empty(walked(scanned(tmp_path / "empty.tif", light_of(mixed))), mixed)
    assert [w.number for w in found.windows] == [1, 2, 3, 4]
    assert found.missing == ()
    assert found.offset_mm == pytest.approx(SHIFT, abs=0.05)


def test_a_holder_that_moves_between_passes_is_refused(tmp_path: Path) -> None:
    asked = ["inspect", "--empty", str(tmp_path / "any.tif"), "--preset", "5x7-two-pass"]
    run = CliRunner().invoke(app, asked)
    assert run.exit_code == 2
    assert "moves between the passes" in run.output


def test_every_window_is_found_where_it_is(windows: list[Box], tmp_path: Path) -> None:
    found = read_empty(walked(scanned(tmp_path / "empty.tif", light_of(windows))), windows)
    assert [w.number for w in found.windows] == [1, 2]
    assert found.missing == ()
    assert found.offset_mm == pytest.approx(SHIFT, abs=0.05)
    for seen, wanted in zip(found.windows, windows, strict=True):
        assert (seen.box.x, seen.box.y) == pytest.approx((wanted.x + SHIFT[0], wanted.y + SHIFT[1]), abs=0.06)
        assert seen.error_mm == pytest.approx((0.0, 0.0), abs=0.06)
        assert max(abs(light.from_beside) for light in seen.edges.values()) < 0.03
        assert seen.specks == 0
    assert doubts(found) == ()


def test_glare_and_shade_at_an_edge_are_measured_in_stops(windows: list[Box], tmp_path: Path) -> None:
    light = light_of(windows)
    rows, cols = at(windows[0])
    light[rows, cols.start : cols.start + round(2.5 / PX)] *= 1.15  # 0.2 stops lighter along the left
    light[rows.stop - round(2.5 / PX) : rows.stop, cols] *= 0.9  # 0.15 darker along the foot
    found = read_empty(walked(scanned(tmp_path / "empty.tif", light)), windows)
    edges = found.windows[0].edges
    assert edges["left"].from_beside == pytest.approx(math.log2(1.15), abs=0.03)
    assert edges["foot"].from_beside == pytest.approx(math.log2(0.9), abs=0.03)
    assert abs(edges["right"].from_beside) < 0.03
    told = " ".join(doubts(found))
    assert "window 1 glares at the left edge: +0.20 stops" in told
    assert "window 1 is shaded at the lower edge: -0.1" in told
    assert "window 2" not in told
    assert "gamma" in told


def test_a_covered_window_a_hole_and_dust_are_said(windows: list[Box], tmp_path: Path) -> None:
    light = light_of(windows, covered=(2,))
    rows, cols = at(windows[1])
    hole = np.s_[rows.start : rows.start + round(60 / PX), cols.start : cols.start + round(28 / PX)]
    light[hole] = LAMP  # of another size than the window
    one = at(windows[0])
    for k in range(5):
        light[one[0].start + 80 + 40 * k, one[1].start + 60 : one[1].start + 63] *= 0.6
    found = read_empty(walked(scanned(tmp_path / "empty.tif", light)), windows)
    assert found.missing == (2,)
    assert found.windows[0].specks == 5
    (other,) = found.elsewhere
    assert (other.width, other.height) == pytest.approx((28.0, 60.0), abs=0.3)
    told = " ".join(doubts(found))
    assert "window 2" in told
    assert "has no window" in told


def test_a_window_at_the_end_of_the_scale_is_not_judged(windows: list[Box], tmp_path: Path) -> None:
    found = read_empty(walked(scanned(tmp_path / "empty.tif", light_of(windows) * 2)), windows)
    assert found.windows[0].clipped > 0.9
    assert "cannot be judged" in " ".join(doubts(found))


def test_a_scan_without_windows_is_refused(windows: list[Box], tmp_path: Path) -> None:
    dark = scanned(tmp_path / "dark.tif", np.full((900, 900), DARK))
    with pytest.raises(InputError, match="empty holder on the glass"):
        read_empty(walked(dark), windows)


def test_the_command_keeps_it_and_a_finished_scan_is_told(windows: list[Box], tmp_path: Path) -> None:
    light = light_of(windows)
    rows, cols = at(windows[0])
    light[rows, cols.start : cols.start + round(2.5 / PX)] *= 1.15
    scan, register = scanned(tmp_path / "empty.tif", light), tmp_path / "made.toml"
    call = CliRunner().invoke
    done = call(
        app, ["inspect", "--empty", str(scan), "--preset", str(PRESET), "--register", str(register), "--json"]
    )
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    assert told["windows"][0]["edges"]["left"]["from_beside"] == pytest.approx(0.2, abs=0.03)
    kept = load_register(register).light_of(told["code"])
    assert kept is not None
    assert kept.windows == (1, 2)
    assert kept.edges_stops[0][0] == told["windows"][0]["edges"]["left"]["from_beside"]
    assert own_light(kept.edges_stops[0], kept.scan) == (
        f"the left edge is {kept.edges_stops[0][0]:.2f} stops lighter without film as well (empty.tif): that is the "
        "holder's light, not the picture",
    )
    window = tifffile.imread(scan)[rows.start - 30 : rows.stop + 30, max(cols.start - 30, 0) : cols.stop + 30]
    film = write(
        tmp_path / "12.tif", window / 65535 * np.random.default_rng(2).uniform(0.3, 0.6, window.shape), DPI
    )
    asked = [
        "inspect",
        str(film),
        "--preset",
        str(PRESET),
        "--register",
        str(register),
        "--json",
        "--out",
        str(tmp_path),
    ]
    seen = call(app, asked)
    assert seen.exit_code == 0, seen.stderr
    assert len(json.loads(seen.stdout)["own_light"]) == 1
    again = call(app, ["inspect", "--empty", str(scan), "--preset", str(PRESET), "--before", str(film)])
    assert again.exit_code == 2
    assert "--before" in again.stderr
    assert call(app, ["inspect", "--empty", str(scan)]).exit_code == 2


def test_lines_from_an_edge_are_measured_by_the_pixels_they_run_along() -> None:
    pitch = (0.02, 0.04)
    assert {name: _across(pitch, name) for name in ("left", "right", "head", "foot")} == {
        "left": 0.02, "right": 0.02, "head": 0.04, "foot": 0.04,
    }  # fmt: skip
