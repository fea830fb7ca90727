"""The table of a session, kept beside the scans so that it can be taken up again."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from holders.core.errors import InputError

SUFFIXES = (".tif", ".tiff", ".png", ".jpg", ".jpeg")
JSON_NAME, CSV_NAME, LIST_NAME = "holders-session.json", "holders-session.csv", "holders-session.html"
VERSION = 1
MOST_BYTES = 16 * 1024 * 1024
BLOCK = 1 << 20


@dataclass(frozen=True, slots=True)
class Sheet:
    """One scan of one sheet.

    ``time`` is when its file was last written (ISO 8601, this computer's clock), ``line`` what became of it in one
    sentence, ``faults`` the codes of what asks for another scan, ``detail`` its finest detail
    (:func:`holders.measure.session.detail.detail_of`), ``look`` what its picture looks like
    (:func:`holders.measure.session.alike.look_of`), ``veil`` how much light its holder shows
    (:func:`holders.measure.session.veil.veil_of`), ``own_light`` which of its edges the holder itself makes lighter or
    darker, in words.
    """

    number: int
    file: str
    pocket: int
    side: str
    time: str
    sha256: str
    line: str
    faults: tuple[str, ...] = ()
    detail: float = 0.0
    look: str = ""
    veil: float | None = None
    own_light: tuple[str, ...] = ()

    @property
    def told(self) -> str:
        """What became of it, and which of its edges are the holder's own light."""
        return "; ".join((self.line, *self.own_light))


def scans_in(folder: Path) -> list[Path]:
    """The scans in a folder, by name; no others of its files."""
    return sorted(
        path
        for path in folder.iterdir()
        if path.is_file() and path.suffix.lower() in SUFFIXES and path.name[0] != "."
    )


def hash_of(path: Path) -> str:
    """SHA-256 of a file's bytes, read a piece at a time."""
    made = hashlib.sha256()
    with path.open("rb") as stream:
        while block := stream.read(BLOCK):
            made.update(block)
    return made.hexdigest()


def number_of(file: str, taken: Iterable[int]) -> int:
    """The sheet's number: the last number in its file's name where that is free, else the next free one."""
    used = set(taken)
    digits = re.findall(r"\d+", Path(file).stem)
    if digits and len(digits[-1]) < 6 and (named := int(digits[-1])) > 0 and named not in used:
        return named
    return max(used, default=0) + 1


def read_session(folder: Path) -> tuple[Sheet, ...]:
    """What is known of the session in a folder, empty for a new one.

    Raises ``InputError`` for a table that this version cannot read; nothing is written then.
    """
    path = folder / JSON_NAME
    if not path.is_file():
        return ()
    bad = "is not a table of sheets; move it away to begin again"
    try:
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
        found = json.loads(data) if len(data) <= MOST_BYTES else None
    except (OSError, ValueError, RecursionError):
        raise InputError("session", str(path), bad) from None
    if (
        not isinstance(found, dict)
        or found.get("version") != VERSION
        or not isinstance(found.get("sheets"), list)
    ):
        raise InputError("session", str(path), bad)
    try:
        return tuple(_sheet(row) for row in found["sheets"])
    except (KeyError, TypeError, ValueError):
        raise InputError("session", str(path), bad) from None


def _sheet(row: Any) -> Sheet:
    return Sheet(
        int(row["number"]), str(row["file"]), int(row["pocket"]), str(row["side"]), str(row["time"]),
        str(row["sha256"]), str(row["line"]), tuple(str(code) for code in row["faults"]), float(row["detail"]),
        str(row.get("look", "")), None if row.get("veil") is None else float(row["veil"]),
        tuple(str(words) for words in row.get("own_light", ())),
    )  # fmt: skip


def as_json(preset: str, sheets: Iterable[Sheet]) -> bytes:
    """The table as JSON, numbers in order."""
    rows = [asdict(sheet) for sheet in sorted(sheets, key=lambda s: s.number)]
    made = {"version": VERSION, "preset": preset, "sheets": rows}
    return (json.dumps(made, indent=1, ensure_ascii=False) + "\n").encode()


def as_csv(sheets: Iterable[Sheet]) -> bytes:
    """The table for a spreadsheet; a cell that begins like a formula is kept as text."""
    stream = io.StringIO()
    table = csv.writer(stream, lineterminator="\r\n")
    table.writerow(["number", "file", "pocket", "side", "time", "sha256", "result", "scan again"])
    for sheet in sorted(sheets, key=lambda s: s.number):
        cells = [sheet.number, sheet.file, sheet.pocket, sheet.side, sheet.time, sheet.sha256, sheet.told]
        plain = [
            f"'{cell}" if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@") else cell
            for cell in cells
        ]
        table.writerow([*plain, "yes" if sheet.faults else ""])
    return stream.getvalue().encode("utf-8-sig")
