"""The film record: written whole, read back, refused with line and key, and its range."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from holders.core.errors import InputError, MachineError
from holders.measure.curl.record import MeasuredCurl, append_curl, curl_range, load_film_record

DAY = dt.date(2026, 11, 20)


def film(across: float | None = 3.0, sigma: float | None = 0.1, **more: object) -> MeasuredCurl:
    return MeasuredCurl(date=DAY, across_per_m=across, across_sigma_per_m=sigma, **more)  # type: ignore[arg-type]


def test_what_is_written_reads_back(tmp_path: Path) -> None:
    file = tmp_path / "mill-8x10.toml"
    one = film(
        humidity_percent=45.0,
        temperature_c=21.5,
        format="8x10",
        base="polyester",
        note='box 3 "spillway" \\',
    )
    two = film(None, None, along_per_m=-0.5, along_sigma_per_m=0.2)
    append_curl(file, one)
    text = file.read_text()
    file.write_text(text + "\n# written by hand\n")
    append_curl(file, two)
    assert load_film_record(file).measured == (one, two)
    assert "# written by hand" in file.read_text()
    assert text.startswith("#")
    assert [f.name for f in tmp_path.iterdir()] == ["mill-8x10.toml"]


def test_the_range_is_that_of_the_films(tmp_path: Path) -> None:
    file = tmp_path / "r.toml"
    for value, sigma in ((2.0, 0.1), (5.0, 0.5), (3.0, 0.2)):
        record = append_curl(file, film(value, sigma))
    # two standard deviations beyond the least and the greatest, the median between them
    assert curl_range(record, "across") == pytest.approx((1.8, 3.0, 6.0))
    assert curl_range(record, "along") is None


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("[[measured]]\ndate = 2026-11-20\nacross_per_m = 3.0\n", "sigma"),
        ("[[measured]]\ndate = 2026-11-20\n", "across_per_m"),
        ("[[measured]]\ndate = 2026-11-20\nacross_per_m = 900.0\nacross_sigma_per_m = 0.1\n", "line 3"),
        ("[[measured]]\ndate = 2026-11-20\nacross_per_m = true\nacross_sigma_per_m = 0.1\n", "across_per_m"),
        ("[[measured]]\ndate = 2026-11-20\nacross_per_m = nan\nacross_sigma_per_m = 0.1\n", "across_per_m"),
        ("[[measured]]\ndate = 2026-11-20\nacross_per_m = 3.0\nacross_sigma_per_m = 0.1\nhumid = 3\n", "no such key"),
        (
            "[[measured]]\ndate = 2026-11-20\nacross_per_m = 3.0\nacross_sigma_per_m = 0.1\nhumidity_percent = 140\n",
            "0 to 100",
        ),
        ("curl = 3\n", "no such key"),
        ("[[measured]\n", "TOML"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_with_its_place(tmp_path: Path, text: str, wanted: str) -> None:
    file = tmp_path / "r.toml"
    file.write_text(text)
    with pytest.raises(InputError) as refused:
        load_film_record(file)
    assert wanted in str(refused.value)
    assert str(file) in str(refused.value)
    with pytest.raises(InputError):
        append_curl(file, film())
    assert file.read_text() == text


def test_missing_and_unwritable(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="starts a record"):
        load_film_record(tmp_path / "none.toml")
    with pytest.raises(MachineError):
        append_curl(tmp_path / "no-folder" / "r.toml", film())
