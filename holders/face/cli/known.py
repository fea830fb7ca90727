"""What register and bed record know of a holder before a new one is made: how it came out, and what is old."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holders.core.findings import per_hundred, shown_chance
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.study import Study, record_places

if TYPE_CHECKING:
    from holders.measure.register import MadeHolder
    from holders.workshop.budget.as_made import Rescue


@dataclass(frozen=True, slots=True)
class Known:
    """The latest readings of a holder's ledge with their chance and what puts it right, and what is old, in words."""

    made: MadeHolder | None = None
    made_on: dt.date | None = None
    chance: float = 0.0
    rescues: tuple[Rescue, ...] = ()
    reminders: tuple[str, ...] = ()

    def summary(self) -> dict[str, Any]:
        """The same as plain values."""
        made = self.made
        return {
            "made": None
            if made is None
            else {
                "code": made.code,
                "date": made.date.isoformat(),
                "made": self.made_on.isoformat() if self.made_on else None,
                "ledge_mm": list(made.ledge_mm),
                "chance": shown_chance(self.chance),
                "rescue": [{"do": one.words, "chance": shown_chance(one.chance)} for one in self.rescues],
            },
            "reminders": list(self.reminders),
        }


def known(found: Study, register: Path | None, record: Path | None, today: dt.date | None = None) -> Known:
    """What is known; every rescue was tried on this holder as it was measured.

    Raises ``InputError`` for a register or record that cannot be read.
    """
    from holders.measure.reminders import focus_reminder, holder_reminders

    day = today or dt.datetime.now().astimezone().date()
    old = focus_reminder(record_places(record), day)
    if register is None:
        return Known(reminders=old)
    from holders.measure.register import load_register
    from holders.preset.holder_code import holder_code
    from holders.workshop.budget.as_made import AsMade, read, rescues

    every, code = load_register(register), holder_code(found.job)
    old, made = (*old, *holder_reminders(every, code, day)), every.made(code)
    if made is None:
        return Known(reminders=old)
    as_made = AsMade(found.job, found.design, read(found.design, made.ledge_mm))
    return Known(made, every.made_on(code), as_made.chance(), rescues(as_made), old)


def with_known(found: Study, one: Known, record: Path | None = None) -> Study:
    """The study with what puts right the holder that is there before its other next steps."""
    from holders.search.rescued import rescue_steps, with_rescue

    if one.made is None:
        return with_rescue(found, places=record_places(record))  # by readings in the preset itself
    first = rescue_steps(found, one.chance, one.rescues)
    return replace(found, verdict=replace(found.verdict, next=(*first, *found.verdict.next)))


def tell_known(one: Known) -> None:
    """The holder that is there, then what is old; what puts it right is among the next steps."""
    console = show.out()
    if one.made is not None:
        now = per_hundred(one.chance)
        better = "[bold]before a new one[/], put it right, as below" if one.rescues else "no shim gains"
        made = f"made {one.made_on.isoformat()}, " if one.made_on else ""
        console.print(
            f"The one you have ({escape(one.made.code)}, {made}measured {one.made.date.isoformat()}): {now} of 100 as "
            f"it is; {better}"
        )
    for words in one.reminders:
        console.print(escape(f"{words[0].upper()}{words[1:]}"))
