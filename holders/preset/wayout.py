"""What to do about a value that the schema refuses, in words of the preset and not of the library that checks it."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import Any, get_args

from pydantic import BaseModel

from holders.facts.tables import nearest
from holders.preset.schema import Preset
from holders.preset.words import unit_of

Words = Callable[[Any, Sequence[Any]], str]
LISTS = {
    "sheets_mm": "a list of thicknesses, like [3.0, 4.0]",
    "sheet_prices": "a list of prices, one for each thickness in sheets_mm, like [4.5, 6.0]",
    "heights_mm": "a list of heights, like [2.0, 3.0, 4.0]",
}
SIGNS = {
    "greater_than_equal": "at least",
    "greater_than": "more than",
    "less_than_equal": "at most",
    "less_than": "less than",
}


def way_out(error: Any, path: Sequence[Any]) -> str:
    """The way out of one of pydantic's complaints; ``path`` names the key (a number: a place in its list)."""
    words = WORDED.get(error["type"])
    return str(error["msg"]).replace("Input should be", "must be") if words is None else words(error, path)


def _said(text: str) -> Words:
    return lambda error, path: text.format(**error.get("ctx", {}))  # noqa: ARG005


def _key(path: Sequence[Any]) -> str:
    return next((str(part) for part in reversed(path) if isinstance(part, str)), "")


def _bound(error: Any, path: Sequence[Any]) -> str:
    bound = next(iter(error["ctx"].values()))
    return f"must be {SIGNS[error['type']]} {bound:.10g} {unit_of(_key(path))}".rstrip()


def _listed(error: Any, path: Sequence[Any]) -> str:  # noqa: ARG001
    return f"must be {LISTS.get(_key(path), 'a list in square brackets, like [20.1, 20.2]')}"


def _tabled(error: Any, path: Sequence[Any]) -> str:  # noqa: ARG001
    return f"is a table: write [{_key(path)}] on a line of its own, and its keys below"


def _one_of(error: Any, path: Sequence[Any]) -> str:  # noqa: ARG001
    expected = str(error.get("ctx", {}).get("expected", ""))
    close = nearest(str(error["input"]), re.findall(r"'([^']*)'", expected))
    return f"must be {expected}" + (f'; did you mean "{close}"?' if close else "")


def _unknown(error: Any, path: Sequence[Any]) -> str:  # noqa: ARG001
    known, key = list(fields_at(path[:-1])), str(path[-1])
    if len(path) > 1 and key in Preset.model_fields:
        inner = fields_at([key])
        if inner:
            return f"is a table of its own, not a key of [{path[0]}]: write [{key}] on a line of its own"
        return f"stands above the first table, not in [{path[0]}]"
    close = nearest(key, known)
    if close:
        return f"no such key here; did you mean `{close}`?"
    return f"no such key here; known: {', '.join(known)}"


def _number(error: Any, path: Sequence[Any]) -> str:
    value = error["input"]
    words = "a whole number" if error["type"].startswith("int") else "a number"
    choices = _literals(path)
    if choices:
        words += f' or "{choices[0]}"'
    if isinstance(value, str) and re.fullmatch(r"\s*[-+]?[\d.]+\s*", value):
        return f"must be {words}, without quotes"
    if isinstance(value, str) and _key(path).endswith("_mm"):
        return f'must be {words} of mm, or a length in quotes such as "3.1 mm", "3,1" or "1/8 in"'
    return f"must be {words}"


def _literals(path: Sequence[Any]) -> list[str]:
    """Words that a key takes beside numbers."""
    info = _model_at(path[:-1]).model_fields.get(str(path[-1])) if path else None
    found: list[str] = []
    for part in get_args(info.annotation) if info is not None else ():
        found += [word for word in get_args(part) if isinstance(word, str)]
    return found


def _model_at(path: Sequence[Any]) -> type[BaseModel]:
    model: type[BaseModel] = Preset
    for part in path:
        inner = _inner(model, part)
        if inner is None:
            return model
        model = inner
    return model


def _inner(model: type[BaseModel], part: Any) -> type[BaseModel] | None:
    annotation = model.model_fields[part].annotation if part in model.model_fields else None
    found = [
        a for a in (annotation, *get_args(annotation)) if isinstance(a, type) and issubclass(a, BaseModel)
    ]
    return found[0] if found else None


def fields_at(path: Sequence[Any]) -> tuple[str, ...]:
    """The keys of the table at ``path``; none where no table stands."""
    model: type[BaseModel] = Preset
    for part in path:
        inner = _inner(model, part)
        if inner is None:
            return ()
        model = inner
    return tuple(model.model_fields)


WORDED: dict[str, Words] = {
    "extra_forbidden": _unknown,
    "missing": _said("this key is needed; `holders new FILE` writes a preset with every key explained"),
    "literal_error": _one_of,
    **dict.fromkeys(SIGNS, _bound),
    **dict.fromkeys(("tuple_type", "list_type"), _listed),
    "too_long": _said("takes at most {max_length} values, not {actual_length}"),
    **dict.fromkeys(("model_type", "model_attributes_type", "dict_type"), _tabled),
    **dict.fromkeys(("float_type", "float_parsing", "int_type", "int_from_float", "int_parsing"), _number),
    "finite_number": _said("must be a plain number, not nan or inf"),
    "string_type": _said('must be text in quotes, like "..."'),
    **dict.fromkeys(("bool_type", "bool_parsing"), _said("must be true or false, without quotes")),
    "string_too_short": _said("must not be empty"),
    "string_too_long": _said("must have at most {max_length} characters"),
}
