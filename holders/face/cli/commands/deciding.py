"""``ways``, and the steps of ``check``: the best ways to hold a film; a tried step done, and undone."""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import Any

from holders.core.atomic_write import new_file, replace_file
from holders.core.errors import InputError
from holders.core.findings import per_hundred, shown_chance
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.study import Study, record_places, study_file

LONG_MIN = 90  # said in hours
SHOWS = 0.01  # of the chance: a step that gains less is named for what it saves
UNDO = ".before"  # added to the name of a preset that a step has changed


def ways(path: Path, as_json: bool, record: Path | None = None) -> int:
    """Search the ways to hold a preset's film and show those that nothing beats; the exit code is 1 without any."""
    from holders.face.cli.answer import print_json
    from holders.search.ways import search

    with show.working("trying ways to hold this film"):
        found = study_file(path, record)
        result = search(found, record_places(record), frames=True)
    if as_json:
        print_json({"tried": result.tried, "ways": [_plain(way) for way in result.ways]})
    else:
        _tell_ways(found, result)
    return 0 if result.ways else 1


def _plain(way: Any) -> dict[str, Any]:
    return {
        "text": way.text,
        "chance": shown_chance(way.chance),
        "minutes": round(way.minutes, 1),
        "cost": None if way.cost is None else round(way.cost, 2),
        "hidden_mm2": round(way.hidden_mm2, 1),
        "keys": dict(way.keys),
        "preset": way.preset,
    }


def _tell_ways(found: Study, result: Any) -> None:
    console = show.out()
    console.print(f"[bold]{escape(found.design.title)}[/]: {escape(found.verdict.text)}")
    if not result.ways:
        console.print(f"{result.tried} ways tried; a check stops every one of them")
        return
    priced = any(way.cost is not None for way in result.ways)
    columns = ["good scans", "minutes", *(["price"] if priced else []), "hidden", "way"]
    rows = [
        [
            f"{per_hundred(way.chance)} of 100",
            f"{way.minutes:.0f}",
            *([("" if way.cost is None else f"{way.cost:.2f}")] if priced else []),
            f"{way.hidden_mm2 / 100:.1f} cm²",
            way.text,
        ]
        for way in result.ways
    ]
    console.print(show.table(f"{result.tried} ways tried; nothing beats these", columns, rows))
    console.print("holders ways PRESET --json has each as a whole preset", markup=False)


def do_step(path: Path, number: int, found: Study) -> Path:
    """Do one of the tried steps of a preset: the file is rewritten, as it was stays beside it; where that is.

    Raises ``InputError`` for a step that does not exist, that is done by hand or to be measured, and for a preset that
    comes with holders (its folder is not ours).
    """
    steps = found.verdict.next
    if not 1 <= number <= len(steps):
        raise InputError(
            "--do", number, f"choose a step from 1 to {len(steps)}" if steps else "no step gains"
        )
    step = steps[number - 1]
    if step.by_hand:
        raise InputError("--do", number, "is done by hand, on the holder you have; the preset stays as it is")
    if step.measure:
        keys = " and ".join(key for key in step.keys if key != "supposed")
        raise InputError(
            "--do",
            number,
            f"is yours to find out, so nothing was written: then put what you find into {keys}",
        )
    if not path.is_file():
        raise InputError(
            "--do", str(path), "copy this preset into a file of your own first: only that is changed"
        )
    kept = path.with_name(path.name + UNDO)
    old = path.read_bytes()
    if kept.exists():
        replace_file(kept, old)
    else:
        new_file("--do", kept, old)
    replace_file(path, step.preset.encode("utf-8"))
    return kept


def undo_step(path: Path) -> None:
    """Bring a preset back as it was before its last step. Raises ``InputError`` where no step was done."""
    kept = path.with_name(path.name + UNDO)
    if not kept.is_file():
        raise InputError(
            "--undo",
            str(path),
            f"there is no {kept.name} beside it: no step was done to it, or the last one is undone already "
            "(only the last can be)",
        )
    replace_file(path, kept.read_bytes())
    kept.unlink()


def tell_steps(found: Study) -> None:
    """The next steps of a verdict, numbered."""
    console = show.out()
    steps = found.verdict.next
    if not steps:
        return
    console.print("[bold]What would help[/] (each was tried on this holder):")
    for number, step in enumerate(steps, 1):
        now = per_hundred(found.verdict.chance if step.now is None else step.now)
        then = per_hundred(step.chance)
        chances = f"still {now}" if then == now and step.gain < SHOWS else f"{now} -> {then}"
        words = f"{step.text}: {chances} of 100{_price(step)}"
        console.print(escape(hanging(f"  {number}. ", words, console.width)))
    first = next((number for number, step in enumerate(steps, 1) if not (step.by_hand or step.measure)), None)
    if first is not None:
        console.print(
            f"  holders check PRESET --do {first} does number {first}; --undo brings the preset back",
            markup=False,
        )


def hanging(mark: str, words: str, width: int) -> str:
    """A numbered row whose further lines stand under its words."""
    return textwrap.fill(
        words,
        width,
        initial_indent=mark,
        subsequent_indent=" " * len(mark),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _price(step: Any) -> str:
    parts = []
    if abs(step.minutes) >= LONG_MIN:
        parts.append(f"{step.minutes / 60:+.1f} h")
    elif abs(step.minutes) >= 1:
        parts.append(f"{step.minutes:+.0f} min")
    if step.cost is not None and abs(step.cost) >= 0.01:
        parts.append(f"{step.cost:+.2f} in your currency")
    if step.hidden_mm2 >= 1:
        parts.append(f"{step.hidden_mm2 / 100:.1f} cm² of picture hidden")
    return f" ({', '.join(parts)})" if parts else ""
