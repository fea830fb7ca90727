"""The form as plain data, built from the preset schema and the trade tables; the browser only lays it out."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from holders.face.page.form.values import OPTIONAL, values_of
from holders.face.page.form.words import GROUPS, all_words, asked_in, label_of, sections_in
from holders.face.shared.listing import preset_rows
from holders.face.shared.starts import ROUTE_WORDS, STARTS, USUAL, fitting_printer
from holders.facts.models import FilmFormat, Material
from holders.facts.tables import table
from holders.preset.load import read_text
from holders.preset.schema import Preset
from holders.preset.words import Section, unit_of

# paths whose value is the key of a row -> the table it stands in
PICKS: Mapping[str, str] = {
    "bed.name": "beds",
    "film.format": "formats",
    "base.name": "bases",
    "material.name": "materials",
    "printer.name": "printers",
    "paper": "papers",
}
FIRST = "8x10-printed"
NEEDED = ("bed.name", "film.format", "route", "material.name")
KINDS = {"sheet": "Sheet film", "roll": "Roll film", "35mm": "35 mm", "small": "Small film",
         "mount": "Mounted slides", "plate": "Glass plates"}  # fmt: skip
RANGES = {"minimum": "min", "maximum": "max", "exclusiveMinimum": "above", "exclusiveMaximum": "below"}


@functools.cache
def form() -> dict[str, Any]:
    """Groups, fields, rows to choose from, and what a first choice brings with it."""
    fields = {field["path"]: field for field in _fields()}
    placed: set[str] = set()
    groups: list[dict[str, Any]] = []
    for group in GROUPS:
        own = _take(asked_in(group.key), fields, placed)
        groups.append({"key": group.key, "title": group.title, "intro": group.intro, "fields": own})
    for group, made in zip(GROUPS, groups, strict=True):
        made["more"] = [
            _section(section, members, fields, placed) for section, members in sections_in(group.key)
        ]
    groups[-1]["more"] += _rest(fields, placed)
    return {
        "groups": groups,
        "rows": {name: [_row(row) for row in table(name)] for name in sorted(set(PICKS.values()))},
        "needed": list(NEEDED),
        "usual": {
            "material": dict(USUAL),
            "printer": {bed.key: fitting_printer(bed.key) for bed in table("beds")},
            "route_words": dict(ROUTE_WORDS),
            **STARTS,
        },
        "first": _first(),
        "presets": [{"key": key, "title": row["title"]} for key, row in shipped().items()],
    }


def shipped() -> dict[str, dict[str, Any]]:
    """The presets that come along, by a short key; a key from outside is only ever looked up here."""
    return {f"p{number}": row for number, row in enumerate(preset_rows())}


def _first() -> dict[str, Any]:
    """What the page opens with, so that a finished holder is there at once."""
    file = next(Path(row["file"]) for row in shipped().values() if Path(row["file"]).stem == FIRST)
    return values_of(read_text(file), file.stem)


def _take(paths: tuple[str, ...], fields: Mapping[str, Any], placed: set[str]) -> list[Any]:
    found = []
    for path in paths:
        names = [name for name in fields if name == path or name.startswith(f"{path}.")]
        for name in names:
            if name not in placed:
                placed.add(name)
                found.append(fields[name])
    return found


def _section(
    section: Section, members: tuple[str, ...], fields: Mapping[str, Any], placed: set[str]
) -> dict[str, Any]:
    table = section.key.removeprefix("rest-")
    optional = table if table in OPTIONAL else None
    return {
        "key": section.key,
        "title": section.title,
        "intro": section.intro,
        "optional": optional,
        "fields": _take(members, fields, placed),
    }


def _rest(fields: Mapping[str, Any], placed: set[str]) -> list[dict[str, Any]]:
    """Tables that no group names, so that a new key of the schema is never missing from the form."""
    tables = dict.fromkeys(path.partition(".")[0] for path in fields if path not in placed)
    return [
        _section(Section(f"rest-{table}", table[:1].upper() + table[1:], ("", 0)), (table,), fields, placed)
        for table in tables
    ]


def _fields() -> Iterator[dict[str, Any]]:
    schema = Preset.model_json_schema()
    for name, part in schema["properties"].items():
        inner = _table_of(part, schema["$defs"])
        if inner is None:
            if not all_words()[name].hidden:
                yield _field(name, part)
            continue
        for key, leaf in inner["properties"].items():
            path = f"{name}.{key}"
            if not all_words()[path].hidden:
                yield _field(path, leaf)


def _table_of(part: Mapping[str, Any], definitions: Mapping[str, Any]) -> dict[str, Any] | None:
    for option in (part, *part.get("anyOf", ())):
        if "$ref" in option:
            found: dict[str, Any] = definitions[option["$ref"].rpartition("/")[2]]
            return found
    return None


def _field(path: str, part: Mapping[str, Any]) -> dict[str, Any]:
    plain = next((option for option in part.get("anyOf", ()) if option.get("type") != "null"), part)
    made: dict[str, Any] = {
        "path": path,
        "label": label_of(path),
        "unit": unit_of(path.rpartition(".")[2]),
        "help": _plain(path, str(part.get("description", ""))),
        "kind": _kind(path, plain),
        "default": part.get("default"),
    }
    made |= {short: plain[long] for long, short in RANGES.items() if long in plain}
    if path in PICKS:
        made["table"] = PICKS[path]
    elif "enum" in plain:
        named = all_words()[path].choices
        made["choices"] = [[word, named.get(word, word)] for word in plain["enum"]]
    return made


def _plain(path: str, words: str) -> str:
    """Help as a sentence, without commands that a reader of the page cannot type."""
    if own := all_words()[path].help:
        return own
    words = words.removeprefix("Measured: ")
    words = words[:1].upper() + words[1:]
    return words if words.rstrip(".").lower() != label_of(path).lower() else ""


def _kind(path: str, plain: Mapping[str, Any]) -> str:
    if path in PICKS or "enum" in plain:
        return "choice"
    if path == "layout.count":
        return "count"
    if path == "more_films":
        return "films"
    if path == "note":
        return "long"
    kinds = {"boolean": "switch", "array": "list", "string": "text", "integer": "integer"}
    return kinds.get(str(plain.get("type")), "number")


def _row(row: Any) -> dict[str, Any]:
    made: dict[str, Any] = row.model_dump(mode="json", exclude={"source"})
    if isinstance(row, FilmFormat):
        made["group"] = KINDS[row.kind]
    if isinstance(row, Material):
        made["group"] = row.family
    return made
