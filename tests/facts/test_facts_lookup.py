"""Looking rows up: what is found, and what is said when nothing is."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from holders.core.errors import InputError
from holders.facts import tables
from holders.facts.models import Bed, Fact

LOOKUPS: dict[str, Callable[[str], Fact]] = {
    "formats": tables.film_format,
    "bases": tables.film_base,
    "materials": tables.material,
    "beds": tables.bed,
    "printers": tables.printer,
    "papers": tables.paper,
    "processes": tables.process,
    "lamps": tables.lamp,
    "finishes": tables.finish,
    "hazards": tables.hazard,
    "targets": tables.target,
    "bars": tables.bar,
}


def test_every_table_has_a_lookup() -> None:
    assert set(LOOKUPS) == set(tables.MODELS)


@pytest.mark.parametrize("name", tables.MODELS)
def test_every_key_finds_its_own_row(name: str) -> None:
    for row in tables.table(name):
        found = LOOKUPS[name](row.key)
        assert found is row
        assert type(found) is tables.MODELS[name]


@pytest.mark.parametrize(
    ("name", "wrong", "nearest"),
    [
        ("formats", "8x1o", "8x10"),
        ("formats", "roll6x9", "roll-6x9"),
        ("formats", "35mm-stripe", "35mm-strip"),
        ("bases", "polyestre", "polyester"),
        ("materials", "PETGG", "petg"),
        ("materials", "matboard", "mat-board"),
        ("beds", "a4-wid", "a4-wide"),
        ("printers", "p221", "p220"),
        ("papers", "leter", "letter"),
        ("processes", "lazer", "laser"),
    ],
)
def test_unknown_key_gets_the_nearest(name: str, wrong: str, nearest: str) -> None:
    with pytest.raises(InputError) as caught:
        LOOKUPS[name](wrong)
    assert f'did you mean "{nearest}"?' in caught.value.way_out
    assert wrong in caught.value.message
    assert f"holders list {name}" in caught.value.way_out
    assert caught.value.exit_code == 2


def test_every_key_is_its_own_nearest() -> None:
    for name in tables.MODELS:
        for key in tables.keys(name):
            assert tables.nearest(key.upper(), tables.keys(name)) == key


@pytest.mark.parametrize(
    "hostile", ["", "../../etc", "zzzz\nqqqq", "\x1b[31m", "\u202e", "🎞", "8x10\x00" * 500]
)
def test_hostile_keys_are_refused_on_one_printable_line(hostile: str) -> None:
    with pytest.raises(InputError) as caught:
        tables.film_format(hostile, field="film.format")
    assert caught.value.message.isprintable()
    assert caught.value.message.startswith("film.format = ")
    assert len(caught.value.message) < 300


def test_field_is_the_users_own() -> None:
    with pytest.raises(InputError) as caught:
        tables.bed("nowhere-at-all", field="--bed")
    assert caught.value.field == "--bed"
    assert "did you mean" not in caught.value.way_out


def test_no_row_of_another_kind_is_handed_out() -> None:
    with pytest.raises(InputError):
        tables.find("formats", "8x10", Bed, field="bed.name")


def test_a_table_that_does_not_exist_is_a_bug() -> None:
    with pytest.raises(KeyError):
        tables.table("lenses")


def test_rows_cannot_be_changed() -> None:
    with pytest.raises(ValueError, match="frozen"):
        tables.bed("a4-wide").focus_height_mm = 1.0  # type: ignore[misc]
    assert tables.bed("a4-wide") is tables.bed("a4-wide")


def test_what_the_project_promises_is_listed() -> None:
    assert {"4x5", "5x7", "half-plate", "whole-plate", "8x10", "4x10", "9x12cm", "13x18cm", "18x24cm"} <= set(
        tables.keys("formats")
    )
    assert {f"roll-{s}" for s in ("645", "6x6", "6x7", "6x8", "6x9", "6x12", "6x17")} <= set(
        tables.keys("formats")
    )
    assert {"35mm-strip", "35mm-half", "35mm-panoramic", "127", "110", "mount-50"} <= set(
        tables.keys("formats")
    )
    assert {"plate-4x5", "plate-half", "plate-whole"} <= set(tables.keys("formats"))
    assert {"a4-wide", "a4-narrow", "a3"} <= set(tables.keys("beds"))
    assert tables.keys("printers") == ("p180", "p220", "p250", "p300")
    for route in ("print", "laser", "knife"):
        assert sum(route in tables.material(k).routes for k in tables.keys("materials")) >= 4
