"""The bed's record, its plane, its drift, and advice for a job."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from typer.testing import CliRunner

from holders.core.errors import InputError, MachineError
from holders.core.plain_text import forbidden
from holders.face.cli.main import app
from holders.measure.bed.plane import fit_drift, fit_plane
from holders.measure.bed.record import Measured, append_measured, as_toml, load_record
from holders.measure.bed.use import focus_over, foot_corrections
from holders.measure.slope.advice import job_advice

DAY = dt.date(2026, 3, 5)
NOTES = st.text(max_size=60).filter(lambda text: forbidden(text) is None)


def _at(x, y, h, sigma=0.02, date=DAY, note=""):
    return Measured(x_mm=x, y_mm=y, height_mm=h, sigma_mm=sigma, date=date, dpi=2400, note=note)


@settings(max_examples=60, deadline=None)
@given(
    note=st.text(max_size=60).filter(lambda text: forbidden(text) is None),
    x=st.floats(-50, 2000),
    h=st.floats(-20, 60),
)
def test_any_note_and_number_goes_round(tmp_path_factory, note, x, h):
    path = tmp_path_factory.mktemp("r") / "bed.toml"
    try:
        new = _at(x, 10.0, h, note=note)
        text = as_toml(new).encode("utf-8")
    except UnicodeEncodeError:  # lone surrogates are no text
        return
    assert text
    append_measured(path, new)
    assert load_record(path).measured == (new,)


def test_the_band_is_kept_where_it_was_seen_and_may_be_missing(tmp_path):
    path = tmp_path / "bed.toml"
    append_measured(path, _at(10, 20, 3.1))
    seen = _at(200, 20, 3.2).model_copy(update={"band_mm": 0.31})
    append_measured(path, seen)
    assert [m.band_mm for m in load_record(path).measured] == [None, 0.31]
    path.write_text(
        path.read_text(encoding="utf-8").replace("band_mm = 0.31", "band_mm = 0"), encoding="utf-8"
    )
    with pytest.raises(InputError, match="band_mm of measurement 2"):
        load_record(path)


def test_appending_keeps_what_a_person_wrote(tmp_path):
    path = tmp_path / "bed.toml"
    append_measured(path, _at(10, 20, 3.1))
    path.write_text(path.read_text() + "\n# after the mirror was cleaned\n", encoding="utf-8")
    grown = append_measured(path, _at(200, 20, 3.2, note='new "lamp"'))
    assert len(grown.measured) == len(load_record(path).measured) == 2
    assert "# after the mirror was cleaned" in path.read_text(encoding="utf-8")
    assert [p.name for p in tmp_path.iterdir()] == ["bed.toml"]


def test_lies_in_a_record_are_told_by_name(tmp_path):
    path = tmp_path / "bed.toml"
    good = as_toml(_at(1, 2, 3.0))
    for text, field in (
        (good.replace("sigma_mm = 0.02", "sigma_mm = -1.0"), "sigma_mm"),
        (good.replace("height_mm = 3.0", "height_mm = nan"), "height_mm"),
        (good + "colour = 1\n", "colour"),
        ("[[measured]\n", "record"),
    ):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(InputError) as told:
            load_record(path)
        assert field in told.value.field
        with pytest.raises(InputError):
            append_measured(path, _at(1, 1, 1.0))
        assert path.read_text(encoding="utf-8") == text
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError):
        load_record(path)
    with pytest.raises(InputError):
        load_record(tmp_path)


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "value", "way_out"),
    [
        ("sigma_mm = 0.03", "sigma_mm = -1.0", 13, "sigma_mm", "-1.0", "above 0"),
        ("height_mm = 3.1", 'height_mm = "three"', 12, "height_mm", "three", "mm above the glass"),
        ("height_mm = 3.1", "height_mm = 310.0", 12, "height_mm", "310.0", "-20 to 60"),
        ("x_mm = 5.0", "x_mm = inf", 10, "x_mm", "inf", "-50 to 2000"),
        ("dpi = 2400.0", "dpi = true", 15, "dpi", "True", "pixels per inch"),
        ("date = 2026-03-05", 'date = "soon"', 14, "date", "soon", "2026-11-25"),
        ("sigma_mm = 0.03\n", "", 9, "sigma_mm", "(missing)", "above 0"),
        ("sigma_mm", "sigma", 13, "sigma", "0.03", "sigma_mm"),
    ],
)
def test_a_nonsense_value_is_told_with_line_key_value_and_way_out(
    tmp_path, old, new, line, key, value, way_out
):
    path = tmp_path / "bed.toml"
    first, second = as_toml(_at(1, 2, 3.0)), as_toml(_at(5, 6, 3.1, sigma=0.03))
    path.write_text(first + second.replace(old, new), encoding="utf-8")
    with pytest.raises(InputError) as told:
        load_record(path)
    error = told.value
    assert (error.line, error.file) == (line, str(path))
    assert error.field == f"{key} of measurement 2"
    assert f"= {value}:" in error.message.replace("'", "")
    assert way_out in error.way_out
    assert "\n" not in error.message
    # what was good is read
    path.write_text(first + second, encoding="utf-8")
    assert len(load_record(path).measured) == 2


def test_a_line_that_is_no_toml_is_told_by_its_number(tmp_path):
    path = tmp_path / "bed.toml"
    path.write_text(as_toml(_at(1, 2, 3.0)) + "height_mm = 3,1\n", encoding="utf-8")
    with pytest.raises(InputError) as told:
        load_record(path)
    assert told.value.line == 9
    assert "key = value" in told.value.way_out


@pytest.mark.parametrize("call", [
    ["bed", "{}"],
    ["focus", "{}", "--rise", "6", "--run", "80"],
    ["focus", "scan.tif", "--ramp", "{}"],
    ["focus", "scan.tif", "--rise", "6", "--run", "80", "--preset", "{}"],
    ["make", "presets/5x7-printed.toml", "--bed-record", "{}"],
])  # fmt: skip
def test_a_missing_file_is_named_with_where_it_was_looked_for(tmp_path, monkeypatch, call):
    monkeypatch.chdir(Path(__file__).parents[3])
    missing = f"{tmp_path.name}-none.dat"  # a bare name: the folder is what people get wrong
    done = CliRunner().invoke(app, [word.replace("{}", missing) for word in call])
    assert done.exit_code == 2
    said = " ".join(done.stderr.split())
    assert "there is no such file" in said
    assert f"looked for {Path.cwd() / missing}" in said
    # and what to do
    assert "; " in said.split("there is no such file")[1] or "`holders list presets`" in said
    assert "Traceback" not in said


def test_a_folder_in_place_of_a_record_is_called_one(tmp_path):
    with pytest.raises(InputError, match="folder"):
        load_record(tmp_path)


def test_a_folder_that_cannot_be_written_is_the_machines_fault(tmp_path):
    with pytest.raises(MachineError):
        append_measured(tmp_path / "none" / "bed.toml", _at(1, 1, 1.0))


def test_plane_through_three_places_is_exact():
    plane = fit_plane([_at(0, 0, 3.0), _at(200, 0, 3.2), _at(0, 300, 2.7)])
    assert plane.tilt_x == pytest.approx(0.001)
    assert plane.tilt_y == pytest.approx(-0.001)
    assert plane.at(100, 100)[0] == pytest.approx(3.0)
    assert plane.tilted
    # three places: sigma at a place is that place's own
    assert plane.at(0, 0)[1] == pytest.approx(0.02)


def test_plane_agrees_with_a_textbook_fit():
    # straight-line fit with known errors, worked from the normal equations: y = 1 + 2 x, sigma 1 at x = -1, 0, 1
    # gives var(intercept) = 1/3, var(slope) = 1/2 (Bevington's formulas, from memory); y beside it adds the third axis
    points = [_at(100 + 10 * x, 100 + 10 * y, 3.0 + 0.1 * x, sigma=1.0) for x in (-1, 0, 1) for y in (-1, 1)]
    plane = fit_plane(points)
    assert plane.height_mm == pytest.approx(3.0)
    assert plane.tilt_x == pytest.approx(0.01)
    assert np.diag(plane.covariance) == pytest.approx([1 / 6, 1 / 400, 1 / 600])


def test_a_level_bed_is_called_tilted_as_rarely_as_stated():
    rng = np.random.default_rng(5)
    places = [(20, 20), (190, 20), (20, 280), (190, 280), (100, 150)]
    called = sum(
        fit_plane([_at(x, y, 3.0 + 0.03 * rng.standard_normal(), 0.03) for x, y in places]).tilted
        for _ in range(800)
    )
    # 1 %; a little more where the scatter by chance sets the scale
    assert called <= 20


def test_a_real_tilt_is_found_with_an_honest_sigma():
    rng = np.random.default_rng(6)
    places = [(20, 20), (190, 20), (20, 280), (190, 280)]
    pulls, found = [], 0
    for _ in range(300):
        plane = fit_plane(
            [_at(x, y, 3.0 + 0.001 * x + 0.02 * rng.standard_normal(), 0.02) for x, y in places]
        )
        found += plane.tilted
        pulls.append((plane.tilt_x - 0.001) / math.sqrt(plane.covariance[1, 1]))
    # one in a few hundred scatters so much that its sigmas are not believed
    assert found >= 294
    assert np.std(pulls) == pytest.approx(1.0, abs=0.15)


def test_places_in_a_line_or_too_few_are_refused_and_fall_back_to_the_mean():
    line = [_at(10 * i, 20 * i, 3.0 + 0.01 * i) for i in range(1, 5)]
    with pytest.raises(InputError, match="line"):
        fit_plane(line)
    with pytest.raises(InputError, match="three"):
        fit_plane(line[:2])
    value, sigma = focus_over(line, (40.0, 40.0, 60.0, 60.0))
    assert value == pytest.approx(3.025)
    assert sigma == pytest.approx(0.01)
    with pytest.raises(InputError):
        focus_over([], (0.0, 0.0, 1.0, 1.0))


def test_feet_follow_a_real_tilt_only():
    corners = [(0.0, 0.0), (200.0, 0.0), (0.0, 300.0), (200.0, 300.0)]
    tilted = [_at(x, y, 3.0 + 0.001 * x) for x, y in corners]
    feet, followed = foot_corrections(tilted, corners, (50.0, 50.0, 150.0, 250.0))
    assert followed
    assert feet == pytest.approx((-0.1, 0.1, -0.1, 0.1))
    level = [_at(x, y, 3.0 + 0.001 * (i % 2)) for i, (x, y) in enumerate(corners)]
    assert foot_corrections(level, corners, (50.0, 50.0, 150.0, 250.0)) == ((0.0,) * 4, False)
    assert foot_corrections(level[:1], corners, (0.0, 0.0, 1.0, 1.0)) == ((0.0,) * 4, False)


def test_drift_is_found_and_not_invented():
    months = [DAY + dt.timedelta(days=30 * k) for k in range(12)]
    places = [(20.0, 20.0, 3.0), (180.0, 250.0, 3.3)]
    drifting = [_at(x, y, h + 0.0005 * 30 * k, 0.01, d) for x, y, h in places for k, d in enumerate(months)]
    drift = fit_drift(drifting)
    assert drift is not None
    assert drift.per_year_mm == pytest.approx(0.0005 * 365.25, rel=1e-6)
    assert drift.drifts
    assert drift.days == 330
    rng = np.random.default_rng(1)
    called = 0
    for _ in range(400):
        still = [_at(x, y, h + 0.01 * rng.standard_normal(), 0.01, d) for x, y, h in places for d in months]
        found = fit_drift(still)
        called += bool(found and found.drifts)
    assert called <= 12
    assert fit_drift([_at(1, 1, 3.0), _at(100, 1, 3.0, date=months[3])]) is None


def test_advice_is_the_probability_it_states():
    rng = np.random.default_rng(0)
    advice = job_advice(
        band=(2.6, 3.2),
        height_mm=2.9,
        height_sigma_mm=0.05,
        film_height_mm=3.0,
        stack_sigma_mm=0.12,
        film_spread_mm=0.1,
    )
    film = 3.0 + 0.05 * rng.standard_normal(200_000) + 0.12 * rng.standard_normal(200_000)
    inside = np.mean((film - 0.05 > 2.6) & (film + 0.05 < 3.2))
    assert advice.inside == pytest.approx(inside, abs=0.004)
    assert not advice.fits
    assert "shim" in advice.steps[0]


def test_advice_names_the_greatest_trouble_first():
    off = job_advice(
        band=(2.6, 3.2), height_mm=2.9, height_sigma_mm=0.01, film_height_mm=3.4, stack_sigma_mm=0.02
    )
    assert "shift the ledge by -0.50 mm" in off.steps[0]
    wavy = job_advice(
        band=(2.6, 3.2),
        height_mm=2.9,
        height_sigma_mm=0.01,
        film_height_mm=2.9,
        stack_sigma_mm=0.02,
        film_spread_mm=0.7,
    )
    assert "flatter" in wavy.steps[0]
    assert wavy.inside == 0.0
    hung = job_advice(
        band=(2.6, 3.2),
        height_mm=2.9,
        height_sigma_mm=0.01,
        film_height_mm=2.9,
        stack_sigma_mm=0.02,
        film_spread_mm=0.1,
        frame_spread_mm=0.6,
    )
    assert "feet" in hung.steps[0]
    assert "flatter" in hung.steps[1]
    assert hung.inside == wavy.inside == 0.0
    fine = job_advice(
        band=(2.0, 4.0), height_mm=3.0, height_sigma_mm=0.01, film_height_mm=3.0, stack_sigma_mm=0.1
    )
    assert fine.fits
    assert not fine.steps
    with pytest.raises(InputError):
        job_advice(
            band=(3.0, 3.0), height_mm=3.0, height_sigma_mm=0.1, film_height_mm=3.0, stack_sigma_mm=0.1
        )
