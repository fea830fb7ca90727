"""Own sizes of the film are a fact; slips of the keys are told, and what is told ends the warning."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from holders.checks.film.film_size import LIKE_FORMAT_MM, FilmSize
from holders.core.findings import Finding
from holders.design.resolve import design
from holders.facts.models import FilmFormat
from holders.facts.tables import film_format, table
from tests.checks.make_design import job, make
from tests.presets_made import job as job_of

MADE = make()
SIZES = ("cut_width_mm", "cut_height_mm", "image_width_mm", "image_height_mm")
WHOLE = tuple(
    row for row in table("formats") if isinstance(row, FilmFormat) and row.frame_pitch_mm is None
)  # sheets, plates, mounts: nothing of them is counted in frames


def found(key: str, **sizes: float) -> Finding:
    """What the rule says of a format with other sizes, mm."""
    wanted = job(preset={"film": {"format": key, **sizes}})
    (one,) = FilmSize().check(replace(wanted, film=film_format(key).model_copy(update=sizes)), MADE)
    return one


def advised(advice: str) -> dict[str, float]:
    """The sizes that an advice names."""
    return {key: float(value) for key, value in re.findall(r"film\.(\w+_mm) = ([\d.]+)", advice)}


def own(row: FilmFormat) -> dict[str, float]:
    return {size: float(getattr(row, size)) for size in SIZES}


@pytest.mark.parametrize(
    ("row", "share"),
    [
        (row, share)
        for row in WHOLE
        for share in (1 / 25.4, 0.1, 10.0)
        if row.cut_height_mm * share <= 2000.0  # no key takes more
    ],
    ids=lambda one: one.key if isinstance(one, FilmFormat) else f"{one:.2g}",
)
def test_a_size_in_another_unit_is_told_in_millimetres(row: FilmFormat, share: float) -> None:
    slipped = {size: round(value * share, 3) for size, value in own(row).items()}
    told = found(row.key, **slipped)
    assert told.level == "warn"
    cured = advised(told.advice)
    assert cured == pytest.approx(own(row), rel=0.01)
    assert found(row.key, **cured).level == "pass"


@pytest.mark.parametrize(("width", "height"), [(4, 5), (5, 4)])
def test_inches_as_they_are_spoken_are_told_too(width: float, height: float) -> None:
    told = found("4x5", cut_width_mm=width, cut_height_mm=height)
    assert told.level == "warn"
    assert advised(told.advice) == pytest.approx({"cut_width_mm": 101.6, "cut_height_mm": 127.0})


def test_a_narrow_strip_is_not_the_length_in_centimetres() -> None:
    """24 mm wide film in place of 35 mm: 24 cm would be near the strip's length."""
    assert found("35mm-strip", cut_width_mm=24.0).level == "skip"


def test_a_number_that_two_units_explain_is_of_its_own_side() -> None:
    """10 as a width of 4x10 (100 x 252.5): centimetres, though ten inches are its length."""
    assert advised(found("4x10", cut_width_mm=10.0).advice) == {"cut_width_mm": 100.0}


@pytest.mark.parametrize("row", WHOLE, ids=lambda row: row.key)
def test_exchanged_sides_are_told_and_put_right(row: FilmFormat) -> None:
    turned = dict(zip(SIZES, (own(row)[size] for size in (*SIZES[1::-1], *SIZES[:1:-1])), strict=True))
    told = found(row.key, **turned)
    if abs(row.cut_width_mm - row.cut_height_mm) <= LIKE_FORMAT_MM:
        assert told.level in ("pass", "skip")  # a turned picture in a square mount
        return
    assert told.level == "warn"
    cured = {
        **advised(told.advice),
        "image_width_mm": row.image_width_mm,
        "image_height_mm": row.image_height_mm,
    }
    assert found(row.key, **cured).level == "pass"


def test_one_side_that_is_the_other_is_told_and_both_sides_are_a_fact() -> None:
    told = found("4x5", cut_width_mm=125.0)
    assert told.level == "warn"
    assert "give film.cut_height_mm too" in told.advice
    assert found("4x5", cut_width_mm=125.0, cut_height_mm=125.0).level == "skip"


def test_an_odd_plate_is_no_warning() -> None:
    told = found(
        "plate-5x7", cut_width_mm=140.0, cut_height_mm=190.0, image_width_mm=134.0, image_height_mm=184.0
    )
    assert told.level == "skip"
    assert told.advice == (
        "own size of the film, 140.0 x 190.0 mm; the format's is 126.0 x 177.0 mm; "
        "own size of the picture, 134.0 x 184.0 mm; the format's is 120.0 x 171.0 mm"
    )


def test_a_strips_own_width_is_said_alone() -> None:
    told = found("roll-6x9", cut_width_mm=70.0)
    assert told.level == "skip"
    assert told.advice == "own width of the film, 70.0 mm; the format's is 61.5 mm"


def test_another_format_is_named_and_naming_it_ends_the_warning() -> None:
    told = found("4x5", cut_width_mm=127.0, cut_height_mm=177.5)
    assert told.level == "warn"
    assert 'film.format = "5x7"' in told.advice
    assert found("5x7", cut_width_mm=127.0, cut_height_mm=177.5).level == "pass"


def test_a_picture_of_another_size_does_not_make_it_another_format() -> None:
    assert found("4x5", image_width_mm=60.0, image_height_mm=90.0).level == "skip"


def test_a_real_holder_for_an_odd_plate_has_no_warning_of_its_size() -> None:
    wanted = job_of(film={"format": "4x5", "cut_width_mm": 105.0, "cut_height_mm": 140.0})
    made = design(wanted)
    assert made.windows[0].film.width * made.windows[0].film.height == pytest.approx(105.0 * 140.0)
    assert [one.level for one in FilmSize().check(wanted, made)] == ["skip"]
