"""Old measurements are told of, young ones are not."""

from __future__ import annotations

import datetime as dt

import pytest

from holders.measure.bed.record import Measured
from holders.measure.register import EmptyLight, MadeHolder, Register
from holders.measure.reminders import focus_reminder, holder_reminders, months_between

TODAY = dt.date(2026, 11, 29)


@pytest.mark.parametrize(
    ("day", "months"),
    [("2026-11-29", 0), ("2026-10-30", 0), ("2026-10-29", 1), ("2025-11-30", 11), ("2025-11-29", 12),
     ("2025-09-20", 14), ("2027-01-01", 0)],
)  # fmt: skip
def test_months_are_full_on_the_same_day(day: str, months: int) -> None:
    assert months_between(dt.date.fromisoformat(day), TODAY) == months


def place(day: dt.date) -> Measured:
    return Measured(x_mm=60, y_mm=80, height_mm=3.1, sigma_mm=0.05, date=day, dpi=2400)


def test_the_latest_measurement_counts() -> None:
    old, new = place(dt.date(2025, 9, 20)), place(dt.date(2026, 9, 20))
    (words,) = focus_reminder([old], TODAY)
    assert words.startswith("the focus was last measured 14 months ago")
    assert focus_reminder([old, new], TODAY) == ()
    assert focus_reminder([], TODAY) == ()


def test_a_holder_is_told_of_its_ledge_and_its_empty_scan() -> None:
    day = dt.date(2025, 11, 29)
    made = MadeHolder(
        code="AAAA22",
        preset="a.toml",
        bed="a4-wide",
        date=day,
        ledge_mm=(3, 3, 3, 3),
        expected_mm=3,
        chance=0.9,
    )
    empty = EmptyLight(code="AAAA22", date=day, scan="e.tif", windows=(1,), edges_stops=((0, 0, 0, 0),))
    register = Register(holder=(made,), empty=(empty,))
    assert "made" not in " ".join(holder_reminders(register, "AAAA22", TODAY))  # nobody said the day
    assert len(holder_reminders(register, "AAAA22", TODAY)) == 2
    assert holder_reminders(register, "AAAA22", day) == ()
    assert holder_reminders(register, "BBBB22", TODAY) == ()


def known(made: dt.date, measured: dt.date, empty: dt.date) -> Register:
    one = MadeHolder(
        code="AAAA22", preset="a.toml", bed="a4-wide", date=measured, made=made, ledge_mm=(3, 3, 3, 3),
        expected_mm=3, chance=0.9,
    )  # fmt: skip
    light = EmptyLight(code="AAAA22", date=empty, scan="e.tif", windows=(1,), edges_stops=((0, 0, 0, 0),))
    return Register(holder=(one,), empty=(light,))


def test_the_age_of_a_holder_is_said_where_it_is_known() -> None:
    day = dt.date(2025, 9, 20)
    ledge, empty = holder_reminders(known(dt.date(2024, 9, 20), day, day), "AAAA22", TODAY)
    assert ledge.startswith("the ledge of this holder, made 26 months ago, was last measured 14 months ago")
    assert empty.startswith("this holder, made 26 months ago, was last scanned without film 14 months ago")
    young = known(dt.date(2024, 9, 20), TODAY, TODAY)
    assert holder_reminders(young, "AAAA22", TODAY) == ()


def test_a_scan_without_film_from_before_the_holder_was_made_is_of_another_one() -> None:
    old = known(dt.date(2026, 11, 10), dt.date(2026, 11, 11), dt.date(2026, 11, 9))
    (words,) = holder_reminders(old, "AAAA22", TODAY)
    assert "is of the holder before this one, made on 2026-11-10" in words
    assert old.light_of("AAAA22") is None  # its light is not this holder's
    same = known(dt.date(2026, 11, 10), dt.date(2026, 11, 11), dt.date(2026, 11, 10))
    assert holder_reminders(same, "AAAA22", TODAY) == ()
    assert same.light_of("AAAA22") is same.empty[0]
