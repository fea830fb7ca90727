"""What the form holds, as nested plain values, turned into a preset and back; every refusal names its field."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from typing import Any

from holders.core.errors import InputError
from holders.preset.folder_name import slug_of
from holders.preset.load import MAX_BYTES, parse, validate
from holders.preset.schema import FORMAT_VERSION, Preset
from holders.preset.template import template

NAME = "the form"
MOST = 40  # refusals told at once
# tables that are there or not, so that an empty one says something
OPTIONAL = frozenset(name for name, info in Preset.model_fields.items() if info.default is None)
# stand-ins for needed keys, so that one bad answer does not hide the others
STAND_IN: Mapping[str, Any] = {
    "holders_preset": FORMAT_VERSION,
    "title": "holder",
    "route": "print",
    "bed": {"name": "a4-wide"},
    "film": {"format": "4x5"},
    "material": {"name": "petg"},
}


class Refused(Exception):
    """The form cannot be read as a preset: one error per field."""

    def __init__(self, errors: tuple[InputError, ...]) -> None:
        self.errors = errors
        super().__init__("; ".join(error.message for error in errors))


def preset_of(values: Mapping[str, Any]) -> Preset:
    """The preset that the form describes.

    Raises ``Refused`` with an error for every field that cannot stand as it is.
    """
    data = {"holders_preset": FORMAT_VERSION, **copy.deepcopy(dict(values))}
    try:
        return validate(data, "", NAME)
    except InputError:
        raise Refused(_each(data)) from None


def text_of(values: Mapping[str, Any]) -> tuple[str, Preset]:
    """The preset file for the form's values, every key explained, and the preset it holds.

    Raises ``Refused`` as :func:`preset_of`.
    """
    title = preset_of(values).title
    text = template({k: v for k, v in values.items() if v is not None}, f"{slug_of(title)}.toml")
    return text, parse(text, NAME)


def values_of(text: str, name: str) -> dict[str, Any]:
    """What a preset file sets, as the form holds it.

    Raises ``holders.core.errors.InputError`` with the line.
    """
    if len(text.encode("utf-8", "replace")) > MAX_BYTES:
        raise InputError("preset", name, f"larger than {MAX_BYTES // 1024} KiB, so it is no preset file")
    made: dict[str, Any] = parse(text, name).model_dump(mode="json", exclude_unset=True)
    made.pop("holders_preset", None)
    return {
        key: value for key, value in made.items() if value is not None and (value != {} or key in OPTIONAL)
    }


def told(error: InputError) -> dict[str, Any]:
    """A refusal as plain data for the page."""
    value = error.value if isinstance(error.value, (str, int, float, bool)) else repr(error.value)
    return {
        "field": error.field,
        "value": str(value)[:200],
        "way_out": error.way_out,
        "line": error.line,
        "message": error.message,
    }


def _each(data: dict[str, Any]) -> tuple[InputError, ...]:
    """Every bad field with its own message: each is judged with all other bad ones put right."""
    places: list[str] = []
    mended = copy.deepcopy(data)
    last: InputError | None = None
    for _ in range(MOST):
        try:
            validate(mended, "", NAME)
            break
        except InputError as error:
            last, place = error, _whole(error.field)
        if place in places:
            break
        places.append(place)
        _put(mended, place, _get(STAND_IN, place))
    found = []
    for place in places:
        alone = copy.deepcopy(mended)
        _put(alone, place, _get(data, place))
        try:
            validate(alone, "", NAME)
        except InputError as error:
            found.append(error)
    return tuple(found) or ((last,) if last is not None else ())


def _whole(path: str) -> str:
    """The key of a list for a place inside it, or inside a table in it."""
    names = path.split(".")
    first = next((k for k, name in enumerate(names) if k and name.isdigit()), len(names))
    return ".".join(names[:first])


def _get(data: Any, path: str) -> Any:
    for name in path.split("."):
        data = data.get(name) if isinstance(data, Mapping) else None
    return data


def _put(data: dict[str, Any], path: str, value: Any) -> None:
    """Set a value, or take the key away where the value is None."""
    *tables, key = path.split(".")
    here: dict[str, Any] = data
    for name in tables:
        inner = here.get(name)
        if not isinstance(inner, dict):
            inner = here[name] = {}
        here = inner
    if value is None:
        here.pop(key, None)
    else:
        here[key] = copy.deepcopy(value)
