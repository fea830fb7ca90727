"""The register keeps every holder's readings, and refuses a file that is none."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.measure.register import HEAD, MadeHolder, append_holder, load_register

ONE = MadeHolder(
    code="KNGW5", preset='whole "plate".toml', bed="a4-wide", date=dt.date(2026, 11, 29),
    ledge_mm=(2.4, 2.5, 2.45, 2.4), expected_mm=3.1, chance=0.08, rescue="a card under every foot",
)  # fmt: skip


def test_entries_are_kept_with_what_a_person_wrote(tmp_path: Path) -> None:
    file = tmp_path / "register.toml"
    append_holder(file, ONE)
    file.write_text(file.read_text() + "# dropped once\n")
    two = ONE.model_copy(update={"code": "ABCDE", "rescue": ""})
    assert append_holder(file, two).holder == (ONE, two)
    assert load_register(file).holder == (ONE, two)
    assert "# dropped once" in file.read_text()


@pytest.mark.parametrize(
    "text",
    ["holder = 3", "[[holder]]\ncode = 1", "[" * 4000, "x", "[[holder]]\nchance = 2.0", HEAD + "[other]\n"],
)
def test_what_is_no_register_is_left_alone(tmp_path: Path, text: str) -> None:
    file = tmp_path / "register.toml"
    file.write_text(text)
    with pytest.raises(InputError):
        append_holder(file, ONE)
    assert file.read_text() == text


def test_the_day_a_holder_was_made_is_kept_and_the_last_one_said_counts(tmp_path: Path) -> None:
    file = tmp_path / "register.toml"
    first = ONE.model_copy(update={"made": dt.date(2025, 3, 1)})
    append_holder(file, first)
    append_holder(file, ONE.model_copy(update={"code": "ABCDE"}))
    append_holder(file, ONE)  # read again, nobody said the day
    found = load_register(file)
    assert found.holder[0] == first
    assert found.made_on("KNGW5") == dt.date(2025, 3, 1)
    assert found.made_on("ABCDE") is None
    append_holder(file, ONE.model_copy(update={"made": dt.date(2026, 11, 2)}))  # the same preset made again
    assert load_register(file).made_on("KNGW5") == dt.date(2026, 11, 2)


def test_a_holder_is_made_before_it_is_measured(tmp_path: Path) -> None:
    file = tmp_path / "register.toml"
    append_holder(file, ONE.model_copy(update={"made": ONE.date}))
    text = file.read_text().replace("made = 2026-11-29", "made = 2026-11-30")
    file.write_text(text)
    with pytest.raises(InputError, match="cannot have been made on 2026-11-30"):
        load_register(file)
