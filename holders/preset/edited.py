"""A preset's text with some keys changed: comments, blank lines and order stay as they are."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from holders.core.errors import InputError


def with_values(text: str, changes: Mapping[str, object]) -> str:
    """The text of a preset with keys set, added or taken away.

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
        return tomlkit.dumps(document)
    except TOMLKitError as error:
        raise InputError("preset", str(error), "cannot be edited; write it as plain TOML") from None


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
