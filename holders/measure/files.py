"""What is said of a file that cannot be read: where it was looked for, and what to do."""

from __future__ import annotations

import re
from pathlib import Path

from holders.core.errors import InputError, printable

_HEADER = re.compile(r"^\s*\[\[\s*measured\s*\]\]")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+)\s*=")


def unreadable(field: str, path: str, error: Exception | None, way_out: str) -> InputError:
    """The refusal of a file; ``error`` is what the system said of it, None where nothing is there."""
    if error is None or isinstance(error, FileNotFoundError):
        folder = Path(path).is_dir() if "\0" not in path else False
        words = "that is a folder" if folder else "there is no such file"
        where = "" if "\0" in path else f" (looked for {printable(str(Path(path).absolute()), 200)})"
        return InputError(field, path, f"{words}{where}; {way_out}")
    if isinstance(error, IsADirectoryError):
        return InputError(field, path, f"that is a folder; {way_out}")
    if isinstance(error, PermissionError):
        return InputError(field, path, "it may not be read; check its rights, and those of its folder")
    if isinstance(error, UnicodeDecodeError):
        return InputError(field, path, f"it is not UTF-8 text (byte {error.start}); {way_out}")
    return InputError(field, path, f"it cannot be read ({type(error).__name__}); {way_out}")


def line_of_measured(text: str, number: int, key: str) -> int | None:
    """The line (from 1) of ``key`` in the so-manieth (from 0) ``[[measured]]`` table, else of that table, else None."""
    table, start = -1, None
    for at, line in enumerate(text.splitlines(), 1):
        if _HEADER.match(line):
            table += 1
            start = at if table == number else start
        elif table == number and (found := _KEY.match(line)) and found[1] == key:
            return at
    return start
