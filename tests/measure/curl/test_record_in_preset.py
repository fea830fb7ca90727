"""A preset that names a film record is designed for the curl of those films."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.measure.curl.record import MeasuredCurl, append_curl
from holders.preset.load import parse
from holders.study import study, study_file
from tests.presets_made import SHIPPED

SOURCE = next(p for p in SHIPPED if p.stem == "4x5-insert").read_text()


def placed(folder: Path, more: str = "") -> Path:
    assert SOURCE.count("[film]\n") == 1
    preset = folder / "p.toml"
    preset.write_text(SOURCE.replace("[film]\n", '[film]\nrecord = "mill.toml"\n') + more)
    return preset


def film(across: float, sigma: float, **more: str) -> MeasuredCurl:
    return MeasuredCurl(date=dt.date(2026, 11, 20), across_per_m=across, across_sigma_per_m=sigma, **more)


def test_the_films_range_becomes_the_bases(tmp_path: Path) -> None:
    for across, sigma in ((1.0, 0.1), (2.5, 0.2), (1.5, 0.05)):
        append_curl(tmp_path / "mill.toml", film(across, sigma))
    found = study_file(placed(tmp_path))
    base = found.job.base
    assert (base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m) == pytest.approx((0.8, 1.5, 2.9))
    assert found.film.sheet is not None
    assert 1.5 in (found.film.sheet.curl_x_per_m, found.film.sheet.curl_y_per_m)
    assert any("mill.toml, 3 films" in note for note in found.design.notes)
    # what is kept with the files needs the record no more
    assert study(parse(found.preset_text, "p.toml")).job.base == base


def test_what_the_preset_states_stays(tmp_path: Path) -> None:
    append_curl(tmp_path / "mill.toml", film(1.0, 0.1))
    base = study_file(placed(tmp_path, "\n[base]\ncurl_high_per_m = 4.0\n")).job.base
    assert (base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m) == pytest.approx((0.8, 1.0, 4.0))


def test_films_of_another_kind_do_not_count(tmp_path: Path) -> None:
    record = tmp_path / "mill.toml"
    append_curl(record, film(9.0, 0.1, format="8x10"))
    with pytest.raises(InputError, match="none of its 1 films"):
        study_file(placed(tmp_path))
    append_curl(record, film(1.0, 0.1, format="4x5"))
    append_curl(record, film(20.0, 0.1, base="nitrate"))
    found = study_file(placed(tmp_path))
    assert found.job.base.curl_high_per_m == pytest.approx(1.2)
    assert any("2 of another format or base left out" in note for note in found.design.notes)


def test_a_missing_record_is_named_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(InputError) as refused:
        study_file(placed(tmp_path))
    words = str(refused.value)
    assert "film.record" in words
    assert "mill.toml" in words
    assert "line " in words


def test_a_record_of_the_other_way_only_is_refused(tmp_path: Path) -> None:
    only = MeasuredCurl(date=dt.date(2026, 11, 20), along_per_m=1.0, along_sigma_per_m=0.1)
    append_curl(tmp_path / "mill.toml", only)
    with pytest.raises(InputError, match="short side"):
        study_file(placed(tmp_path))


@pytest.mark.parametrize("name", ["../mill.toml", "/etc/passwd", "a/b.toml", ".toml", "mill", "..toml"])
def test_a_record_lies_beside_its_preset(name: str) -> None:
    with pytest.raises(InputError, match="record"):
        parse(SOURCE.replace("[film]\n", f'[film]\nrecord = "{name}"\n'), "p.toml")


def test_without_a_folder_it_says_what_to_do() -> None:
    preset = parse(SOURCE.replace("[film]\n", '[film]\nrecord = "mill.toml"\n'), "the form")
    with pytest.raises(InputError, match="curl_low_per_m"):
        study(preset)
