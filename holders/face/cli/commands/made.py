"""``measured``: how high a holder's ledge came out, what puts it right, and what the next one needs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from holders.core.errors import InputError
from holders.core.findings import per_hundred, shown_chance
from holders.core.lines import Candidate
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.preset.tables.supposed import if_supposed
from holders.study import Study, study_file


def measured(
    preset: Path | None,
    heights: Sequence[float],
    register: Path | None,
    record: Path | None,
    as_json: bool,
    made: str | None = None,
) -> None:
    """Judge a finished holder by its ledge, or show the register of those that were judged.

    ``made`` is the day the holder was made, ISO 8601; without it the register's own, if it has one for that holder.

    Raises ``InputError`` for a reading that cannot be true, or a file that cannot be used; nothing is then written.
    """
    from holders.face.cli.answer import print_json

    day = _day(made, register if preset is not None else None)
    if preset is None:
        if register is None:
            raise InputError(
                "PRESET",
                "(missing)",
                "give a preset and four readings, or --register FILE to read a register",
            )
        _list(register, as_json)
        return
    if len(heights) != 4:
        raise InputError(
            "readings", " ".join(f"{value:g}" for value in heights) or "(none)",
            "give four: the ledge's height above a flat glass at LEFT, RIGHT, HEAD and FOOT, mm",
        )  # fmt: skip
    with show.working("designing the holder, and trying shims"):
        found = study_file(preset, record)
        answer = _judged(found, heights)
    if register is not None:
        _keep(found, heights, answer, register, day)
    if as_json:
        print_json(answer)
        return
    _tell(found, answer, register)


def _judged(found: Study, heights: Sequence[float]) -> dict[str, Any]:
    from holders.preset.holder_code import holder_code
    from holders.search.tried import tried
    from holders.workshop.budget.as_made import AsMade, read, rescues
    from holders.workshop.budget.enough import enough, uneven

    readings = read(found.design, heights)
    made = AsMade(found.job, found.design, readings)
    will_do = enough(AsMade(found.job, found.design, uneven(found.design)))
    ways = [{"do": rescue.words, "chance": shown_chance(rescue.chance)} for rescue in rescues(made)]
    again: dict[str, Any] | None = None
    if found.job.printer is not None:
        drawn = round(found.design.heights.drawn_ledge, 3)
        keys: dict[str, object] = {
            "coupon.ledge_mm": [float(v) for v in heights],
            "coupon.ledge_drawn_mm": drawn,
        }
        new = tried(found, Candidate("make a new one", keys))
        if new is not None:
            again = {"keys": keys, "chance": shown_chance(new.found.verdict.chance)}
    return {
        "code": holder_code(found.job),
        "readings": dict(zip(("left", "right", "head", "foot"), map(float, heights), strict=True)),
        "expected": round(found.design.heights.ledge_above_glass, 3),
        "off": round(readings.mean - found.design.heights.ledge_above_glass, 3),
        "twist": round(readings.twist, 3),
        "chance": round(made.chance(), 4),
        "will_do": None
        if will_do is None
        else {"mean": [will_do.low_mm, will_do.high_mm], "chance": shown_chance(will_do.chance)},
        "rescue": ways,
        "new_one": again,
    }


def _day(made: str | None, register: Path | None) -> dt.date | None:
    """The day of ``--made``; it needs a register to be kept in."""
    if made is None:
        return None
    if register is None:
        raise InputError(
            "--made", made, "goes with a preset, its readings and --register FILE, where it is kept"
        )
    try:
        day = dt.date.fromisoformat(made)
    except ValueError:
        raise InputError("--made", made, "give a day as year-month-day, such as 2026-11-29") from None
    if day > _today():
        raise InputError("--made", made, "lies in the future; give the day the holder was made")
    return day


def _today() -> dt.date:
    return dt.datetime.now().astimezone().date()


def _keep(
    found: Study, heights: Sequence[float], answer: dict[str, Any], register: Path, made: dt.date | None
) -> None:
    from holders.measure.register import MadeHolder, append_holder, load_register

    before = load_register(register).made_on(answer["code"]) if register.exists() else None
    left, right, head, foot = heights
    append_holder(
        register,
        MadeHolder(
            code=answer["code"], preset=found.preset_file or found.design.slug, bed=found.job.bed.key,
            date=_today(), made=made or before, ledge_mm=(left, right, head, foot),
            expected_mm=answer["expected"], chance=answer["chance"],
            rescue=answer["rescue"][0]["do"] if answer["rescue"] else "",
        ),
    )  # fmt: skip


def _tell(found: Study, answer: dict[str, Any], register: Path | None) -> None:
    from holders.workshop.budget.enough import ENOUGH, UNEVEN_MM

    console, now = show.out(), _of_100(answer["chance"])
    supposed = if_supposed(found.job.whole_preset, found.job.film.cut_width_mm)
    if found.job.kinds:
        console.print(escape(f"read and judged: the ledge of the {found.job.film_called}, which does worst"))
    console.print(
        f"{answer['code']}: the ledge lies {answer['off']:+.2f} mm from where it was meant on average; as it is, "
        f"{now} of 100 scans will be sharp and free of rings{supposed}"
    )
    if answer["will_do"] is not None:
        low, high = answer["will_do"]["mean"]
        console.print(
            f"a mean of {low:.2f} to {high:.2f} mm will do, none of the four more than {UNEVEN_MM:g} mm from it: at "
            f"either end of that range {_of_100(answer['will_do']['chance'])} of 100 scans or more are good. Your mean "
            f"is {answer['expected'] + answer['off']:.2f} mm"
        )
    if answer["twist"] >= 0.05:
        console.print(
            f"it is twisted by {answer['twist']:.2f} mm either way, which no shim takes out: lay it on flat glass, and "
            "look which corner stands off"
        )
    for number, way in enumerate(answer["rescue"], 1):
        console.print(escape(f"  {number}. {_first_up(way['do'])}: {now} -> {_of_100(way['chance'])} of 100"))
    if not answer["rescue"]:
        console.print("no shim makes it better: use it as it is" if answer["chance"] >= ENOUGH else
                      "no shim puts it right")  # fmt: skip
    if answer["rescue"] or answer["chance"] < ENOUGH:
        _tell_next(found, answer, now)
    if register is not None:
        console.print(escape(f"kept in {register}"))


def _tell_next(found: Study, answer: dict[str, Any], now: str) -> None:
    console = show.out()
    if found.job.printer is None:
        console.print("the next one: measure its sheets with a caliper, and list them in material.sheets_mm")
    elif answer["new_one"] is not None:
        keys = answer["new_one"]["keys"]
        console.print(
            f"or make a new one, with these two lines below [coupon]: {now} -> {_of_100(answer['new_one']['chance'])} "
            "of 100"
        )
        for key, value in keys.items():
            console.print(f"  {key.partition('.')[2]} = {value}", markup=False)


def _first_up(words: str) -> str:
    return words[0].upper() + words[1:]


def _of_100(chance: float) -> str:
    return per_hundred(chance)


def _list(register: Path, as_json: bool) -> None:
    from holders.face.cli.answer import print_json
    from holders.measure.register import load_register
    from holders.measure.reminders import holder_reminders

    every = load_register(register)
    entries, today = every.holder, _today()
    old = {code: holder_reminders(every, code, today) for code in dict.fromkeys(e.code for e in entries)}
    if as_json:
        found = [entry.model_dump(mode="json") for entry in entries]
        print_json(
            {"holders": found, "reminders": {code: list(words) for code, words in old.items() if words}}
        )
        return
    rows = [
        (e.code, e.preset, e.bed, e.made.isoformat() if e.made else "", e.date.isoformat(),
         ", ".join(f"{v:.2f}" for v in e.ledge_mm),
         f"{e.expected_mm:.2f}", _of_100(e.chance), e.rescue)
        for e in entries
    ]  # fmt: skip
    columns = ("code", "preset", "bed", "made", "measured", "ledge mm", "meant", "of 100", "put right by")
    show.out().print(show.table(str(register), columns, rows))
    for code, words in ((code, words) for code, mine in old.items() for words in mine):
        show.out().print(escape(f"{code}: {words}"))
