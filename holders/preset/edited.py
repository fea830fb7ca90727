"""A preset's text with some keys changed: comments, blank lines and order stay as they are."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from holders.core.errors import InputError


def with_values(text: str, changes: Mapping[str, object]) -> str:
    """The text of a preset with keys set, added or taken away; a new key stands where a line was commented out for it.

    Parameters
    ----------
    text:
        A valid preset.
    changes:
        ``"table.key"`` or ``"key"`` to its new value; None takes the key away, ``"table": None`` the whole table. A
        number in a path is the place, from 0, of a table in a list.

    Raises
    ------
    InputError
        When the text is no TOML, or a change names what is not a table.
    """
    import tomlkit  # noqa: PLC0415 - 30 ms that reading a preset need not pay
    from tomlkit.exceptions import TOMLKitError  # noqa: PLC0415

    try:
        document = tomlkit.parse(text)
        for path, value in changes.items():
            _change(document, path, value)
        edited = tomlkit.dumps(document)
    except TOMLKitError as error:
        raise InputError("preset", str(error), "cannot be edited; write it as plain TOML") from None
    for path, value in changes.items():
        if value is not None and _line_of(text.split("\n"), path, "") is None:
            edited = _in_its_place(edited, path)
    return edited


def _section(lines: Sequence[str], table: str) -> range:
    """The lines below a table's header, up to the next header; none where the table has no header of its own."""
    start = next((k for k, line in enumerate(lines) if line.strip() == f"[{table}]"), None)
    if start is None:
        return range(0)
    after = (k for k in range(start + 1, len(lines)) if lines[k].lstrip().startswith("["))
    return range(start + 1, next(after, len(lines)))


def _line_of(lines: Sequence[str], path: str, before: str) -> int | None:
    """The line of a table's key, its name preceded by ``before``; None where there is none."""
    table, _, key = path.rpartition(".")
    setting = re.compile(rf"{before}{re.escape(key)}\s*=")
    return next((k for k in _section(lines, table) if setting.match(lines[k])), None)


def _in_its_place(text: str, path: str) -> str:
    """The text with a key that was just set on the line that was commented out for it, which else would invite a second
    setting; or at least above the comments that introduce the next table.
    """
    lines = text.split("\n")
    here, waits = _line_of(lines, path, ""), _line_of(lines, path, r"#\s?")
    if here is None or lines[here].rstrip().endswith(("[", "{")):
        return text
    if waits is not None:
        lines[waits] = lines[here]
        del lines[here]
        return "\n".join(lines)
    last = here - 1
    while last >= 0 and (not lines[last].strip() or lines[last].startswith("#")):
        last -= 1
    if last < here - 1:
        lines.insert(last + 1, lines.pop(here))
    return "\n".join(lines)


def _change(document: Any, path: str, value: object) -> None:
    import tomlkit  # noqa: PLC0415

    table, _, key = path.rpartition(".")
    if any(part.isdigit() for part in path.split(".")):
        _change_in_list(document, path, value)
        return
    if not table:
        if value is None:
            document.pop(key, None)
        else:
            document[key] = value  # a new one goes above the first table, where TOML wants it
        return
    if table not in document:
        if value is None:
            return
        document.add(tomlkit.nl())
        document.append(table, tomlkit.table())
    inside = document[table]
    if not hasattr(inside, "keys"):
        raise InputError(table, str(inside), "is not a table; write it under its own header")
    if value is None:
        inside.pop(key, None)
    else:
        inside[key] = list(value) if isinstance(value, tuple) else value


def _change_in_list(document: Any, path: str, value: object) -> None:
    """The same for a key of a table in a list; a table that is not there yet is made."""
    import tomlkit  # noqa: PLC0415

    *way, key = path.split(".")
    here = document
    for part in way:
        if part.isdigit():
            if not isinstance(here, list) or int(part) >= len(here):
                raise InputError(path, value, "names a table that the preset does not have")
            here = here[int(part)]
            continue
        if part not in here:
            if value is None:
                return
            here[part] = tomlkit.table()
        here = here[part]
    if value is None:
        here.pop(key, None)
    else:
        here[key] = list(value) if isinstance(value, tuple) else value
