"""Which pocket of the holder each scan of a session shows: one for all, by the files' names, or by a table."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from holders.core.errors import InputError
from holders.measure.files import unreadable

NAMES = "names"  # what asks for the pockets in the files' names
PATTERN = "a p and the number between _, -, . or spaces, as in mill_p3_07.tif"
MARK = re.compile(r"(?:(?<=[_\-. ])|^)p(\d{1,3})(?=[_\-. ]|$)", re.IGNORECASE)
MOST_BYTES = 1 << 20
STARTS = "a table has a line `file,pocket` and below it one line for each scan"


@dataclass(frozen=True, slots=True)
class Pockets:
    """Where the pockets of a session's scans come from, for a holder with ``count`` of them.

    ``one`` is that of every scan; with ``table`` each file has its own by name; with neither, ``named`` reads them in
    the names, and else nothing is said of any.
    """

    count: int
    one: int | None = None
    named: bool = False
    table: Mapping[str, int] | None = field(default=None)
    source: str = ""

    def of(self, file: str) -> int | None:
        """The pocket of a scan; None where nothing is said of any.

        Raises ``InputError`` for a scan without one, or with one that this holder has not.
        """
        if self.table is not None:
            if file not in self.table:
                raise InputError("--pocket", file, f"{self.source} has no line for it: add one (file,pocket)")
            return self.table[file]
        if not self.named:
            return self.one
        found = {int(digits) for digits in MARK.findall(Path(file).stem)}
        if len(found) != 1:
            none = "its name gives no pocket" if not found else "its name gives more than one pocket"
            raise InputError("--pocket", file, f"{none}: {PATTERN}")
        return _within(found.pop(), self.count, file)

    def numbering(self, file: str) -> str:
        """The file's name without what in it says the pocket, so that no sheet is numbered after its pocket."""
        return MARK.sub("", Path(file).stem) + Path(file).suffix if self.named else file


def pockets_of(asked: str | None, count: int) -> Pockets:
    """What ``--pocket`` asks for: a number, ``names``, or a table's file.

    Raises ``InputError`` for a pocket that the holder has not, or a table that cannot be used.
    """
    if asked is None:
        return Pockets(count)
    if re.fullmatch(r"[+-]?\d{1,9}", asked.strip()):
        return Pockets(count, one=_within(int(asked), count, asked))
    if asked.strip() == NAMES:
        return Pockets(count, named=True)
    return Pockets(count, table=read_pockets(Path(asked), count), source=asked)


def read_pockets(path: Path, count: int) -> dict[str, int]:
    """A table of files and pockets (CSV; commas, semicolons or tabs; other columns are passed over).

    A session's own table can be corrected and given back.

    Raises ``InputError`` for a file that is no such table; the line is named.
    """
    ways = f"give a number, the word {NAMES}, or a table: {STARTS}"
    try:
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
        text = data.decode("utf-8-sig")
    except (OSError, UnicodeDecodeError, ValueError) as error:
        raise unreadable("--pocket", str(path), error, ways) from error
    if len(data) > MOST_BYTES:
        raise InputError("--pocket", str(path), "is too large for a table of pockets (1 MiB)")
    head = text.partition("\n")[0]
    mark = max(",;\t", key=head.count)
    try:
        rows = list(csv.reader(io.StringIO(text), delimiter=mark, strict=True))
    except csv.Error as error:
        raise InputError("--pocket", str(path), f"is no table ({error}); {STARTS}") from None
    names = [name.strip().lower() for name in rows[0]] if rows else []
    if "file" not in names or "pocket" not in names:
        raise InputError("--pocket", str(path), f"its first line names no file and pocket; {STARTS}")
    places = names.index("file"), names.index("pocket")
    found: dict[str, int] = {}
    for line, row in enumerate(rows[1:], 2):
        if not any(cell.strip() for cell in row):
            continue
        file, pocket = (row[place].strip() if place < len(row) else "" for place in places)
        file = file[1:] if file[:1] == "'" and file[1:2] in ("=", "+", "-", "@") else file
        where = f"line {line} of {path}"
        if not file or not re.fullmatch(r"\d{1,9}", pocket):
            raise InputError(
                "--pocket", pocket or "(nothing)", f"{where} needs a file's name and a pocket's number"
            )
        if found.get(file, int(pocket)) != int(pocket):
            raise InputError("--pocket", file, f"{where} gives it another pocket than a line above")
        found[file] = _within(int(pocket), count, f"{file} ({where})")
    return found


def _within(pocket: int, count: int, where: str) -> int:
    if 1 <= pocket <= count:
        return pocket
    has = "one pocket, number 1" if count == 1 else f"pockets 1 to {count}"
    raise InputError("--pocket", where, f"pocket {pocket}: this holder has {has}")
