"""A job for several kinds of film, turned to each of them: which film, which key of the preset, which name."""

from __future__ import annotations

from typing import Any

import pytest

from holders.core.errors import InputError
from holders.facts import tables
from holders.preset.resolve import PrintedHeights
from tests.presets_made import changed, job

THREE = {
    "layout": {"count": 2},
    "more_films": [
        {"format": "roll-6x9-single", "count": 3, "base": {"name": "triacetate"}},
        {"format": "4x5", "count": 1, "emulsion": "up"},
    ],
}


def test_a_job_turns_to_each_kind_and_back() -> None:
    whole = job(**THREE)
    assert [one.kind for one in whole.each] == [0, 1, 2]
    assert [one.film.key for one in whole.each] == ["4x5", "roll-6x9-single", "4x5"]
    assert [one.preset.layout.count for one in whole.each] == [2, 3, 1]
    assert [one.preset.film.emulsion for one in whole.each] == ["down", "down", "up"]
    assert [one.base.key for one in whole.each] == [
        tables.film_format("4x5").base,
        "triacetate",
        tables.film_format("4x5").base,
    ]
    last = whole.of(2)
    assert last.of(2) is last
    assert last.of(0) == whole
    assert [one.kind for one in last.each] == [0, 1, 2]
    assert last.whole_preset.layout.count == 2
    assert last.whole_preset.film.emulsion == "down"


def test_a_job_for_one_kind_is_itself() -> None:
    one = job()
    assert one.each == (one,)
    assert one.of(0) is one
    assert one.of(3) is one  # there is no other
    assert one.whole_preset is one.preset
    assert one.film_called == tables.film_format("4x5").name
    assert one.film_tag == "4x5"


def test_kinds_are_told_apart_by_film_then_side_then_number() -> None:
    name = tables.film_format("4x5").name
    called = [one.film_called for one in job(**THREE).each]
    assert called == [
        f"{name}, emulsion down",
        tables.film_format("roll-6x9-single").name,
        f"{name}, emulsion up",
    ]
    assert [one.film_tag for one in job(**THREE).each] == ["4x5-1", "roll-6x9-single", "4x5-3"]
    twins = job(more_films=[{"format": "4x5", "count": 1, "base": {"name": "triacetate-sheet"}}])
    assert [one.film_called for one in twins.each] == [f"{name}, kind 1", f"{name}, kind 2"]
    assert [one.film_tag for one in twins.each] == ["4x5-1", "4x5-2"]


@pytest.mark.parametrize(
    ("kind", "path", "own"),
    [
        (0, "film.format", "film.format"),
        (1, "film.format", "more_films.0.format"),
        (2, "film.format", "more_films.1.format"),
        (1, "base.curl_per_m", "more_films.0.base.curl_per_m"),
        (2, "lip.left_mm", "lip.left_mm"),
        (2, "film", "film"),
    ],
)
def test_a_key_of_a_film_is_that_of_its_own_entry(kind: int, path: str, own: str) -> None:
    assert job(**THREE).of(kind).own_key(path) == own


@pytest.mark.parametrize(
    ("entry", "field", "words"),
    [
        ({"format": "4x6", "count": 1}, "more_films.0.format", "did you mean"),
        (
            {"format": "4x5", "count": 1, "image_width_mm": 150.0},
            "more_films.0.image_width_mm",
            "wider than the film",
        ),
        (
            {"format": "4x5", "count": 1, "base": {"name": "polyestr"}},
            "more_films.0.base.name",
            "did you mean",
        ),
        (
            {"format": "4x5", "count": 1, "base": {"curl_per_m": 90.0}},
            "more_films.0.base.curl_per_m",
            "lies outside",
        ),
        ({"format": "4x5", "count": 1, "record": "weir.toml"}, "more_films.0.record", "for [film] only"),
    ],
)
def test_a_refusal_of_a_further_film_names_its_entry(entry: dict[str, Any], field: str, words: str) -> None:
    with pytest.raises(InputError) as refused:
        job(more_films=[entry])
    assert refused.value.field == field
    assert words in refused.value.way_out


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({"route": "laser"}, "material.name", 'is not for route "laser"'),
        ({"film": {"image_width_mm": 100.0}}, None, ""),
        ({"film": {"image_width_mm": 100.1}}, "film.image_width_mm", "wider than the film"),
        ({"film": {"image_height_mm": 131.0}}, "film.image_height_mm", "longer than the film"),
        (
            {"film": {"format": "35mm-strip", "frame_pitch_mm": 30.0}},
            "film.frame_pitch_mm",
            "less than a frame",
        ),
        ({"film": {"format": "35mm-strip", "frame_pitch_mm": 40.0}}, None, ""),
        ({"bed": {"lamp_width_mm": 216.0}}, "bed.lamp_width_mm", "past the glass"),
        ({"bed": {"lamp_length_mm": 400.0}}, "bed.lamp_length_mm", "past the glass"),
        ({"base": {"curl_per_m": 90.0}}, "base.curl_per_m", "set base.curl_high_per_m too"),
        ({"base": {"curl_per_m": -90.0}}, "base.curl_per_m", "set base.curl_low_per_m too"),
        ({"base": {"thickness_mm": 0.01}}, "base.thickness_mm", "set base.thickness_low_mm too"),
        ({"base": {"modulus_mpa": 90000.0}}, "base.modulus_mpa", "set base.modulus_high_mpa too"),
        (
            {"material": {"sheets_mm": [3.0], "sheet_prices": [4.0]}},
            "material.sheet_prices",
            "set price_per_kg",
        ),
        ({"material": {"price_per_kg": 20.0}}, None, ""),
    ],
)
def test_numbers_that_contradict_one_another_are_refused(
    changes: dict[str, Any], field: str, words: str
) -> None:
    if field is None:
        assert job(**changes).slug == "weir-test"
        return
    with pytest.raises(InputError) as refused:
        job(**changes)
    assert refused.value.field == field
    assert words in refused.value.way_out


CUT = {"route": "laser", "material": {"name": "acrylic-cast"}}


@pytest.mark.parametrize(
    ("material", "field", "words"),
    [
        ({"price_per_kg": 20.0}, "material.price_per_kg", "set sheet_prices"),
        ({"sheet_prices": [4.0]}, "material.sheet_prices", "list the thicknesses"),
        (
            {"sheets_mm": [3.0, 4.0], "sheet_prices": [4.0]},
            "material.sheet_prices",
            "each of the 2 thicknesses",
        ),
        ({"sheets_mm": [3.0, 4.0], "sheet_prices": [4.0, 5.0]}, None, ""),
    ],
)
def test_prices_belong_to_what_is_bought(material: dict[str, Any], field: str | None, words: str) -> None:
    changes = {**CUT, "material": {**CUT["material"], **material}}  # type: ignore[dict-item]
    if field is None:
        assert job(**changes).preset.material.sheet_prices == (4.0, 5.0)
        return
    with pytest.raises(InputError) as refused:
        job(**changes)
    assert refused.value.field == field
    assert words in refused.value.way_out


def test_a_strip_is_as_long_as_its_frames_unless_it_was_measured() -> None:
    strip = tables.film_format("35mm-strip")
    four = job(film={"format": "35mm-strip", "frames": 4})
    assert strip.frame_pitch_mm is not None
    assert four.film.cut_height_mm == pytest.approx(4 * strip.frame_pitch_mm)
    assert job(film={"format": "35mm-strip", "frames": 4, "cut_height_mm": 150.0}).film.cut_height_mm == 150.0
    assert four.printer is not None
    assert job(**CUT).printer is None


def test_through_glass_and_through_film() -> None:
    """All of a glass plate lies between its faces, of film the base alone; in the pocket lies the whole film."""
    film = job()
    assert film.through_base_mm == film.base.thickness_mm < film.film.thickness_mm
    assert film.plate_mm == film.film.thickness_mm
    assert (film.own_film, film.own_base) == (film.film, film.base)
    plate = job(film={"format": next(f.key for f in tables.table("formats") if getattr(f, "kind", "") == "plate"),
                      "thickness_mm": 1.7})  # fmt: skip
    assert plate.base.rigid
    assert plate.through_base_mm == 1.7


@pytest.mark.parametrize("drawn", [0.0, 2.0, 5.0])
def test_the_spread_of_a_printed_height_is_that_of_a_sum(drawn: float) -> None:
    """var(a + b z) = var a + z² var b + 2 z cov(a, b): JCGM 100, 5.2.2."""
    heights = PrintedHeights(0.1, 0.01, sigma_offset_mm=0.03, sigma_scale=0.02, covariance=-0.0004)
    assert heights.sigma_at_mm(drawn) == pytest.approx(
        (0.03**2 + drawn**2 * 0.02**2 - 2 * drawn * 0.0004) ** 0.5, abs=1e-12
    )
    assert PrintedHeights().sigma_at_mm(drawn) == 0.0
    assert PrintedHeights(covariance=-1.0).sigma_at_mm(1.0) == 0.0


def test_the_smallest_preset_is_not_changed_by_asking() -> None:
    before = changed()
    job(**THREE)
    assert changed() == before
