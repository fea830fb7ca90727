"""A preset that takes its film as it was measured, and the record that keeps the film's curl."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator
from typer.testing import CliRunner

from holders.design.held.curl_shapes import curl_shapes
from holders.face.cli.main import app
from holders.face.shared.learned import learned
from holders.measure.curl.record import load_film_record
from holders.measure.surface.outcome import SurfaceResult
from holders.preset.load import load, parse
from holders.study import Study, study
from tests.face.cli.test_surface import result
from tests.kept import shipped_study

ROOT = Path(__file__).parents[2]
PRESET = ROOT / "presets" / "8x10-one-board.toml"


@cache
def bare() -> Study:
    """A film on a plain ledge, whose curl shows."""
    return shipped_study(PRESET)


def measured(found: Study, curl_per_m: float, *, higher_mm: float = 0.0) -> SurfaceResult:
    """The film of a study as if it were measured with this curl, known to some hundredths."""
    shapes = curl_shapes(found.film.sag)
    window, picture = found.design.windows[0], found.film.picture
    o, middles = window.opening, (np.arange(shapes.heights.shape[1]) + 0.5) / shapes.heights.shape[1]
    x, y = np.linspace(0, o.width, 25), np.linspace(0, o.height, 25)
    yy, xx = np.meshgrid(y, x, indexing="ij")
    foot = window.film.top - picture.head_mm - picture.height_mm - o.y
    at = RegularGridInterpolator(
        (foot + middles * picture.height_mm, window.film.x + picture.left_mm - o.x + middles * picture.width_mm),
        shapes.at(curl_per_m)[0][::-1], bounds_error=False, fill_value=None,
    )  # fmt: skip
    heights = found.design.heights
    z = heights.sharp_plane + higher_mm + at(np.stack([yy, xx], axis=-1))
    root = 0.02 * np.stack([np.ones(z.size), (2 * xx / o.width - 1).ravel()], axis=1)
    return replace(
        result(z), x_mm=x + 5, y_mm=y + 8, ledge_mm=heights.sharp_plane, root_mm=root,
        band_mm=(heights.band_low, heights.band_high),
    )  # fmt: skip


@pytest.mark.parametrize("curl", [1.3, 2.1])
def test_curl_goes_into_the_copy(curl: float) -> None:
    new = learned(bare(), measured(bare(), curl))
    base = parse(new.text, "copy").base
    assert base.curl_per_m == pytest.approx(curl, abs=0.15)
    assert base.curl_low_per_m <= base.curl_per_m - 0.2
    assert {field for field, _, _ in new.changes} >= {"base.curl_low_per_m", "base.curl_per_m"}
    assert any("curl across" in words for words in new.why)


def test_a_film_that_lies_right_changes_no_ledge_and_one_too_high_lowers_it() -> None:
    # printed: its ledge can be made at any height
    found = shipped_study(ROOT / "presets" / "4x5-insert.toml")
    usual = found.job.base.curl_per_m
    right = learned(found, measured(found, usual))
    assert not any(field.startswith("bed.") for field, _, _ in right.changes)
    half = (found.design.heights.band_high - found.design.heights.band_low) / 2
    high = learned(found, measured(found, usual, higher_mm=1.2 * half))
    aimed = {field: (old, value) for field, old, value in high.changes}["bed.focus_height_mm"]
    assert aimed[1] < aimed[0]
    assert high.sharp_then > high.sharp_now + 0.3
    again = study(parse(high.text, "copy"), high.text)
    assert again.design.heights.sharp_plane < found.design.heights.sharp_plane - 0.5 * half


def test_the_command_writes_the_copy_and_the_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(
        "holders.measure.surface.measure.measure_surface", lambda *_a, **_k: measured(bare(), 2.1)
    )
    scan, copy, record = tmp_path / "a.tif", tmp_path / "copy.toml", tmp_path / "film.toml"
    asked = ["surface", str(scan), str(scan), "--preset", str(PRESET), "--json"]
    keep = ["--write-preset", str(copy), "--film-record", str(record)]
    done = CliRunner().invoke(app, [*asked, *keep])
    assert done.exit_code == 0, done.stderr
    told = json.loads(done.stdout)
    assert load(copy).base.curl_per_m == pytest.approx(2.1, abs=0.15)
    assert told["written_preset"]["path"] == str(copy)
    (film,) = load_film_record(record).measured
    assert film.across_per_m == pytest.approx(2.1, abs=0.15)
    assert film.format == "8x10"
    again = CliRunner().invoke(app, [*asked, *keep])  # a copy is never written over
    assert again.exit_code == 2
    assert "exists already" in again.stderr
    alone = CliRunner().invoke(app, ["surface", str(scan), str(scan), "--film-record", str(record)])
    assert alone.exit_code == 2
    assert "--preset" in alone.stderr
