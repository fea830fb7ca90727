"""``inspect --empty``: a scan of the holder without film in; windows, crop boxes, light along the edges, dust out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from holders.core.errors import InputError, printable
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.face.cli.progress import progress_line
from holders.study import Study, study_file

DIGITS = 3


def empty(
    scan: Path,
    preset: Path | None,
    dpi: float | None,
    register: Path | None,
    as_json: bool,
    others: Sequence[str],
) -> None:
    """Read the scan and tell; keep it in the register, if one is named.

    Raises ``InputError`` for a scan, preset or register that cannot be used, or an option that does not go with it;
    nothing is then written.
    """
    from holders.face.cli.answer import print_json
    from holders.measure.finished.empty import read_empty
    from holders.measure.finished.expected import Box
    from holders.measure.finished.look import walked

    if others:
        raise InputError("--empty", "(given)", f"does not go with {', '.join(others)}: leave one of them out")
    if preset is None:
        raise InputError(
            "--preset", "(missing)", "say which holder it is: --empty finds the windows of its preset"
        )
    studied = study_file(preset)
    if len(studied.design.stands) > 1:
        raise InputError(
            "--empty", "(given)", "reads no holder that moves between the passes of a scan: in each of them the lamp "
            "ends inside the window; look through both scans yourself for dust and stray light"
        )  # fmt: skip
    with progress_line() as tell:
        small = walked(scan, dpi, tell)
    openings = [window.opening for window in studied.design.windows]
    found = read_empty(small, [Box(o.x, o.y, o.width, o.height) for o in openings])
    told = _answer(scan, studied, found)
    if register is not None:
        _keep(scan, studied, found, register)
    if as_json:
        print_json(told)
        return
    _tell(found, 25.4 / small.pitch_mm[0], register)


def _answer(scan: Path, studied: Study, found: Any) -> dict[str, Any]:
    from holders.output.words.emptied import doubts
    from holders.preset.holder_code import holder_code

    return {
        "scan": str(scan),
        "code": holder_code(studied.job),
        "windows": [
            {
                "number": window.number,
                **{key: round(getattr(window.box, key), DIGITS) for key in ("x", "y", "width", "height")},
                "error": [round(value, DIGITS) for value in window.error_mm],
                "edges": {
                    name: {
                        "from_middle": round(light.from_middle, DIGITS),
                        "from_beside": round(light.from_beside, DIGITS),
                        "along": round(light.along, DIGITS),
                    }
                    for name, light in window.edges.items()
                },
                "clipped": round(window.clipped, 5),
                "specks": window.specks,
            }
            for window in found.windows
        ],
        "missing": list(found.missing),
        "elsewhere": [
            {key: round(getattr(box, key), DIGITS) for key in ("x", "y", "width", "height")}
            for box in found.elsewhere
        ],
        "offset": [round(value, DIGITS) for value in found.offset_mm],
        "warnings": list(doubts(found)),
    }


def _keep(scan: Path, studied: Study, found: Any, register: Path) -> None:
    from holders.measure.finished.expected import EDGES
    from holders.measure.register import EmptyLight, append_holder
    from holders.preset.holder_code import holder_code

    append_holder(
        register,
        EmptyLight(
            code=holder_code(studied.job),
            date=dt.datetime.now().astimezone().date(),
            scan=printable(scan.name, 200),
            windows=tuple(window.number for window in found.windows),
            edges_stops=tuple(
                tuple(round(window.edges[name].from_beside, DIGITS) for name in EDGES)
                for window in found.windows
            ),
        ),
    )


def _tell(found: Any, dpi: float, register: Path | None) -> None:
    from holders.output.words import emptied

    console = show.out()
    console.print(show.grid(emptied.rows(found, dpi)))
    for words in emptied.doubts(found):
        console.print(f"[yellow]warning[/]: {escape(words)}")
    if register is not None:
        console.print(escape(f"kept in {register}"))
