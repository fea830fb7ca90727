"""``session``: a folder of scans from one holder; a line for each sheet, and which to scan again."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import Any

from holders.core.atomic_write import replace_file
from holders.core.errors import HoldersError, InputError
from holders.face.cli import show
from holders.face.cli.commands.inspecting import own_light_in
from holders.face.cli.markup import escape
from holders.face.cli.progress import progress_line
from holders.face.shared.expected import expected_of, window_of_scan
from holders.measure.session.pockets import Pockets, pockets_of
from holders.measure.session.record import (
    CSV_NAME,
    JSON_NAME,
    LIST_NAME,
    Sheet,
    as_csv,
    as_json,
    hash_of,
    number_of,
    read_session,
    scans_in,
)
from holders.output.words.sheets import again_words, sheet_list
from holders.study import Study, study_file

LOOK_S = 3.0  # between looks at a folder that is watched


def session(
    folder: Path,
    preset: Path,
    dpi: float | None,
    pocket: str | None,
    watch: bool,
    as_json_out: bool,
    register: Path | None = None,
) -> None:
    """Inspect every scan that is new in the folder, keep the table after each, and say which to scan again.

    ``pocket`` is a number for all, ``names``, or a table's file (:mod:`holders.measure.session.pockets`). Interrupted
    at any moment it is taken up where it stood.

    Raises ``InputError`` for a folder, preset, register or table that cannot be used, and for a scan already there
    whose pocket is not said or is none of this holder's; nothing is then looked at.
    """
    if not folder.is_dir():
        raise InputError("DIR", str(folder), "is no folder; name the one your scans are saved in")
    with show.working("designing the holder that the scans were made with"):
        found = study_file(preset)
    pockets = pockets_of(pocket, len(found.design.windows))
    for path in scans_in(folder):
        pockets.of(path.name)
    light = None if register is None else own_light_in(register, found)
    sheets = {sheet.file: sheet for sheet in read_session(folder)}
    console = show.out()
    try:
        for path in _new(folder, sheets, pockets, watch):
            sheet = _looked_at(path, found, dpi, pockets, sheets, light)
            sheets[sheet.file] = sheet
            _keep(folder, found, sheets)
            if not as_json_out:
                console.print(escape(f"{sheet.number:02d}  {sheet.file}: {sheet.told}"))
    except KeyboardInterrupt:
        if not watch:
            raise
    _keep(folder, found, sheets)
    if as_json_out:
        from holders.face.cli.answer import print_json

        print_json(_answer(found, sheets))
        return
    console.print(escape(f"{len(sheets)} sheets; {again_words(_rows(sheets))}"))
    console.print(escape(f"table: {folder / CSV_NAME}; to print: {folder / LIST_NAME}"))


def _new(folder: Path, sheets: dict[str, Sheet], pockets: Pockets, watch: bool) -> Iterator[Path]:
    """Scans not yet in the table, changed since, or of another pocket than they were looked at for; while watching,
    those whose size no longer grows.
    """
    tried: set[str] = set()
    sizes: dict[str, int] = {}
    while True:
        for path in scans_in(folder):
            size = path.stat().st_size
            steady = not watch or sizes.get(path.name) == size
            sizes[path.name] = size
            known = sheets.get(path.name)
            moved = known is not None and path.name not in tried and _elsewhere(known, pockets)
            if steady and (
                known is None or moved or (known.time != _written(path) and known.sha256 != hash_of(path))
            ):
                tried.add(path.name)
                yield path
        if not watch:
            return
        time.sleep(LOOK_S)


def _elsewhere(known: Sheet, pockets: Pockets) -> bool:
    """Whether another pocket is said now than the one that a scan was looked at for."""
    try:
        said = pockets.of(known.file)
    except InputError:
        return False
    return known.faults == ("pocket",) or (said is not None and said != known.pocket)


def _written(path: Path) -> str:
    return datetime.fromtimestamp(path.stat().st_mtime).astimezone().isoformat(timespec="seconds")


def _looked_at(
    path: Path,
    found: Study,
    dpi: float | None,
    pockets: Pockets,
    sheets: dict[str, Sheet],
    light: Callable[[int], tuple[str, ...]] | None,
) -> Sheet:
    """One scan's row; a scan that cannot be read is a row too, so that the others are still looked at."""
    from holders.measure.finished.look import inspect_reduced, walked_over
    from holders.measure.scan.opened import open_scan
    from holders.measure.session.alike import look_of
    from holders.measure.session.detail import detail_of
    from holders.measure.session.faults import faults_of, line_of
    from holders.measure.session.veil import veil_of

    before = sheets.get(path.name)
    number = (
        before.number
        if before
        else number_of(pockets.numbering(path.name), [s.number for s in sheets.values()])
    )
    pocket, own = 1, tuple[str, ...]()
    try:
        said = pockets.of(path.name)
        with progress_line() as tell:
            mine = said or window_of_scan(
                found, path, dpi
            )  # by its size, where films differ and nothing is said
            found, _ = found.at_window(mine)
            pocket = mine or 1
            own = light(pocket) if light is not None else ()
            with closing(open_scan(path)) as scan:  # once: a PNG is decoded whole each time
                small = walked_over(scan, dpi, tell)
                detail = detail_of(scan)
            seen = inspect_reduced(small, str(path), design=expected_of(found, mine), progress=tell)
        faults = faults_of(seen)
        codes = tuple(fault.code for fault in faults)
        line = line_of(seen, faults)
        look, veil = look_of(small, seen.placement), veil_of(small, seen.placement)
    except HoldersError as error:
        detail, look, veil = 0.0, "", None
        unsaid = isinstance(error, InputError) and error.field == "--pocket"
        codes, line = (
            ("pocket" if unsaid else "unread",),
            f"not looked at: {error.way_out if isinstance(error, InputError) else error}",
        )
    side = f"emulsion {found.job.preset.film.emulsion}"
    return Sheet(
        number, path.name, pocket, side, _written(path), hash_of(path), line, codes, detail, look, veil, own
    )


def _rows(sheets: dict[str, Sheet]) -> tuple[Sheet, ...]:
    from holders.measure.session.faults import compared

    return compared(list(sheets.values()))


def _keep(folder: Path, found: Study, sheets: dict[str, Sheet]) -> None:
    replace_file(folder / JSON_NAME, as_json(found.design.slug, sheets.values()))
    rows = _rows(sheets)
    replace_file(folder / CSV_NAME, as_csv(rows))
    replace_file(folder / LIST_NAME, sheet_list(found.design.title, rows))


def _answer(found: Study, sheets: dict[str, Sheet]) -> dict[str, Any]:
    rows = sorted(_rows(sheets), key=lambda s: s.number)
    return {
        "preset": found.design.slug,
        "sheets": [
            {"number": s.number, "file": s.file, "pocket": s.pocket, "side": s.side, "time": s.time,
             "sha256": s.sha256, "line": s.line, "faults": list(s.faults),
             **({"own_light": list(s.own_light)} if s.own_light else {})}
            for s in rows
        ],
        "again": [s.number for s in rows if s.faults],
    }  # fmt: skip
