"""Curl along the film's length, from the preset to the surface, the odds and the film record."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from holders.design.held.film_in_holder import designed
from holders.design.held.held_film import sheet_of
from holders.measure.curl.in_preset import standing_alone
from holders.measure.curl.record import MeasuredCurl, append_curl
from tests.presets_made import SHIPPED, job

STRIP: dict[str, Any] = {
    "bed": {"name": "a4-wide", "lamp_rise_k": 0.0},
    "base": {"curl_low_per_m": 0.0, "curl_per_m": 0.0, "curl_high_per_m": 0.0},
    "lid": {"thickness_mm": 2.0, "play_mm": 0.0},
}


def rolled(along: float, turn: str = "never", **more: Any) -> tuple[Any, Any]:
    film = {"format": "roll-6x9", "frames": 2, "curl_along_per_m": along}
    return designed(job(**{**STRIP, "film": film, "layout": {"turn": turn, "count": 1}, **more}))


def test_a_rolls_curl_lifts_its_lid() -> None:
    """The lid lies on the film itself, so it presses level what turns up at the edges, 2 mm beyond the window's.

    A strip clamped along both long sides has w L^2/12 there (tables of beams, both ends fixed); a plate that is held
    flat against a curl k along it has moments D k at its ends and nu D k at its long sides (theory of plates).
    """
    flat, curled = rolled(0.0)[1], rolled(6.0)[1]
    assert flat.sag is not None
    assert flat.sag.lid is not None
    assert curled.sag is not None
    assert curled.sag.lid is not None
    sheet, arm_mm = curled.sheet, 2.0
    span_mm, long_mm = sheet.width_mm - 2 * arm_mm, sheet.height_mm
    weight_n_mm2 = flat.surface.weight_n / (sheet.width_mm * long_mm)
    clamped_n = 2 * long_mm * weight_n_mm2 * span_mm**2 / 12 / arm_mm
    assert 0.5 * clamped_n < flat.sag.lid.needed_n < clamped_n  # less at the corners
    stiff = sheet.modulus_mpa * sheet.thickness_mm**3 / 12 / (1 - sheet.poisson**2)
    around_mm = sheet.width_mm + sheet.poisson * long_mm
    curl_n = 2 * stiff * 6.0e-3 * around_mm / arm_mm
    more_n = curled.sag.lid.needed_n - flat.sag.lid.needed_n
    assert more_n == pytest.approx(curl_n, rel=0.05)
    assert curled.sag.lid.rise_mm > flat.sag.lid.rise_mm + 0.02


def test_it_runs_along_the_film_either_way_on_the_bed() -> None:
    for turn, axis in (("never", "curl_y_per_m"), ("always", "curl_x_per_m")):
        wanted = job(film={"format": "4x5", "curl_along_per_m": 3.0}, layout={"turn": turn, "count": 1})
        made = designed(wanted, ranges=False)[0]
        sheet = sheet_of(wanted, made.windows[0])
        assert getattr(sheet, axis) == 3.0
        assert {sheet.curl_x_per_m, sheet.curl_y_per_m} == {3.0, wanted.base.curl_per_m}


def test_all_films_of_the_odds_have_it() -> None:
    _, film = rolled(2.0, base={"curl_low_per_m": -1.0, "curl_per_m": 0.0, "curl_high_per_m": 2.0})
    assert film.sag is not None
    assert len(film.sag.curled) > 3
    assert {one.along_per_m for one in film.sag.curled} == {2.0}


@pytest.mark.parametrize("stated", ["", "curl_along_per_m = 1.5\n"])
def test_a_film_record_gives_both_ways(tmp_path: Path, stated: str) -> None:
    record = tmp_path / "mill.toml"
    day = dt.date(2026, 11, 25)
    for across, along in ((2.0, 0.5), (3.0, 0.7), (2.5, None)):
        more = {} if along is None else {"along_per_m": along, "along_sigma_per_m": 0.1}
        append_curl(record, MeasuredCurl(date=day, across_per_m=across, across_sigma_per_m=0.1, **more))
    source = next(path for path in SHIPPED if path.stem == "8x10-printed").read_text(encoding="utf-8")
    preset = tmp_path / "mine.toml"
    preset.write_text(source.replace("[film]\n", f'[film]\nrecord = "mill.toml"\n{stated}'), encoding="utf-8")
    text, read, note = standing_alone(preset.read_text(encoding="utf-8"), preset)
    assert read.film.record is None
    assert read.film.curl_along_per_m == (1.5 if stated else 0.6)  # the median of 0.5 and 0.7; or as stated
    assert any("along it 0.60" in words for words in note) == (not stated)
    assert "[base]" in text
