"""What was measured so long ago that it may no longer hold, in words."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import TYPE_CHECKING

from holders.facts.habits import habit

if TYPE_CHECKING:
    from holders.measure.bed.record import Measured
    from holders.measure.register import Register

FOCUS_AGAIN = "measure it again (holders ramp, holders focus SCAN --ramp FILE --record RECORD)"
LEDGE_AGAIN = "measure it again (holders measured PRESET LEFT RIGHT HEAD FOOT --register FILE)"
EMPTY_AGAIN = "scan it again without film (holders inspect --empty SCAN --preset PRESET --register FILE)"


def months_between(day: dt.date, today: dt.date) -> int:
    """Whole months from one day to a later one: a month is full on the same day of the month."""
    return max(0, 12 * (today.year - day.year) + today.month - day.month - (today.day < day.day))


def focus_reminder(places: Sequence[Measured], today: dt.date) -> tuple[str, ...]:
    """Whether the last of a bed's measurements is old: scanners are moved and lenses settle."""
    return _old("the focus was last measured", [one.date for one in places], today, FOCUS_AGAIN)


def holder_reminders(register: Register, code: str, today: dt.date) -> tuple[str, ...]:
    """Whether the last readings of a holder's ledge, and its last scan without film, are old or of the holder before.

    Where the day it was made is known, its age is said, and a scan without film from before that day shows another one.
    """
    made = register.made_on(code)
    ledge = [one.date for one in register.holder if one.code == code]
    empty = [one.date for one in register.empty if one.code == code]
    age = "" if made is None else f", made {_ago(months_between(made, today))},"
    another: tuple[str, ...]
    if made is not None and empty and max(empty) < made:
        another = (
            f"the last scan without film, of {max(empty)}, is of the holder before this one, made on {made}: "
            f"{EMPTY_AGAIN}",
        )
    else:
        another = _old(f"this holder{age} was last scanned without film", empty, today, EMPTY_AGAIN)
    ledge_words = (
        f"the ledge of this holder{age} was last measured" if age else "this holder's ledge was last measured"
    )
    return (*_old(ledge_words, ledge, today, LEDGE_AGAIN), *another)


def _ago(months: int) -> str:
    return "less than a month ago" if months == 0 else f"{months} month{'s' if months > 1 else ''} ago"


def _old(what: str, days: Sequence[dt.date], today: dt.date, cure: str) -> tuple[str, ...]:
    if not days:
        return ()
    months = months_between(max(days), today)
    return (f"{what} {months} months ago: {cure}",) if months >= habit("measured-months") else ()
