"""One number of a preset's text changed in place: every comment, blank line and order stays as its shooter left it."""

from __future__ import annotations

import re
from collections.abc import Sequence

from holders.core.errors import InputError

_HEADER = re.compile(r"^\s*\[\s*([A-Za-z0-9_\-\"']+)\s*\]\s*(#.*)?$")
_ANY_HEADER = re.compile(r"^\s*\[")
_NUMBER = r"[+-]?[0-9][0-9_]*(?:\.[0-9_]+)?(?:[eE][+-]?[0-9]+)?"


def with_number(text: str, table: str, key: str, value: float, comment: Sequence[str] = ()) -> str:
    """The text with ``key`` of ``[table]`` set to ``value``, and ``comment`` lines above it.

    The key is added at the table's end if it is not there. Only a table with a header of its own is understood; the
    caller reads the result back and compares, as a text in quotes may look like a table.

    Raises
    ------
    InputError
        The table has no header of its own, or the key is not a plain number there.
    """
    lines = text.splitlines(keepends=True)
    ending = "\r\n" if lines and lines[0].endswith("\r\n") else "\n"
    begin = _header(lines, table)
    end = next((i for i in range(begin + 1, len(lines)) if _ANY_HEADER.match(lines[i])), len(lines))
    # a key may be written bare or in quotes
    name = re.compile(rf"^(\s*)([\"']?{re.escape(key)}[\"']?\s*=\s*)")
    at = next((i for i in range(begin + 1, end) if name.match(lines[i])), None)
    if at is None:
        at = _last_key(lines, begin, end) + 1
        if not lines[at - 1].endswith("\n"):
            lines[at - 1] += ending
        return "".join([*lines[:at], *_notes("", comment, ending), f"{key} = {value:g}{ending}", *lines[at:]])
    found = re.match(
        rf"^(\s*)([\"']?{re.escape(key)}[\"']?\s*=\s*)({_NUMBER})(\s*(?:#.*)?)(\r?\n)?$", lines[at]
    )
    if found is None:
        raise InputError(f"{table}.{key}", lines[at].strip(), "write it as a plain number on one line")
    indent, before, _, after, stop = found.groups()
    new = f"{indent}{before}{value:g}{after}{stop or ''}"
    return "".join([*lines[:at], *_notes(indent, comment, ending), new, *lines[at + 1 :]])


def _header(lines: list[str], table: str) -> int:
    for number, line in enumerate(lines):
        found = _HEADER.match(line)
        if found and found[1].strip("\"'") == table:
            return number
    raise InputError(
        table,
        "(no header)",
        f"write this table under its own header [{table}], one key a line, and try again",
    )


def _last_key(lines: list[str], begin: int, end: int) -> int:
    """The last line of the table that is neither blank nor a comment: what follows belongs to the next table."""
    for i in range(end - 1, begin, -1):
        if lines[i].strip() and not lines[i].lstrip().startswith("#"):
            return i
    return begin


def _notes(indent: str, comment: Sequence[str], ending: str) -> list[str]:
    return [f"{indent}# {line}{ending}" for line in comment]
