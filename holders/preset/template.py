"""A commented preset to start from: every key explained, the unset ones commented out with their default."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import PydanticUndefined

from holders.preset.schema import FORMAT_VERSION, Preset
from holders.preset.words import section_in

HEAD = """\
# A preset for `holders`: one holder, described by its bed, film and making.
# Lengths are millimetres. A line that begins with # is not read: take the # away to set it.
# Make it with:  holders make {file}
"""


MORE = """
# Every other key, explained:  holders new --full ANOTHER.toml
"""
# what most users measure sooner or later; in a short preset it stands commented out beside what is set
SOON = {
    "bed": ("focus_height_mm", "focus_sigma_mm"),
    "base": ("curl_per_m", "curl_low_per_m", "curl_high_per_m"),
    "material": ("sheets_mm",),
    "printer": ("layer_mm",),
}


def short_template(values: Mapping[str, Any], file: str = "FILE.toml") -> str:
    """A preset of a page: ``values`` set, and commented out only what is worth measuring for this holder."""
    tables = _headings()
    lines = [HEAD.format(file=file)]
    lines.append(_entry("holders_preset", FORMAT_VERSION, "", on=True))
    for name, info in Preset.model_fields.items():
        if name not in tables and name in values:
            lines.append(_entry(name, values[name], info.description or "", on=True))
    for name, title in tables.items():
        if _is_list(name):
            lines += [_blocks(name, title, values[name])] if values.get(name) else []
            continue
        soon = SOON.get(name, ()) if name in values or name == "base" else ()
        if soon or name in values:
            lines.append(_short_table(name, title, values.get(name) or {}, soon))
    return "\n".join(lines) + "\n" + MORE


def _short_table(name: str, title: str, given: Mapping[str, Any], soon: Sequence[str]) -> str:
    parts = ["", f"# --- {title.partition(':')[0]}", f"[{name}]"]
    for key, info in _model(name).model_fields.items():
        if key in given or key in soon:
            value = given.get(key, info.default)
            parts.append(_entry(key, value, info.description or "", on=key in given))
    return "\n".join(parts)


def template(values: Mapping[str, Any], file: str = "FILE.toml") -> str:
    """The text of a preset with ``values`` set (nested tables as mappings), everything else commented out."""
    tables = _headings()
    lines = [HEAD.format(file=file)]
    lines.append(_entry("holders_preset", FORMAT_VERSION, "Version of this file format.", on=True))
    for name, info in Preset.model_fields.items():
        if name in tables or name == "holders_preset":
            continue
        given = name in values
        lines.append(
            _entry(
                name, values.get(name, info.default), info.description or "", on=given or info.is_required()
            )
        )
    for name, title in tables.items():
        write = _blocks if _is_list(name) else _table
        lines.append(write(name, title, values.get(name)))
    return "\n".join(lines) + "\n"


def _headings() -> dict[str, str]:
    """Every table of the schema with the words over it."""
    sections = {name: section_in(info) for name, info in Preset.model_fields.items()}
    return {name: section.heading for name, section in sections.items() if section and section.heading}


def _table(name: str, title: str, given: Mapping[str, Any] | None) -> str:
    model = _model(name)
    on = given is not None or Preset.model_fields[name].default is not None
    parts = ["", f"# --- {title}", f"{'' if on else '# '}[{name}]"]
    for key, info in model.model_fields.items():
        value = (given or {}).get(key, info.default)
        set_here = given is not None and key in given
        parts.append(_entry(key, value, info.description or "", on=set_here))
    return "\n".join(parts)


def _is_list(name: str) -> bool:
    """Whether a key holds a list of tables."""
    return get_origin(Preset.model_fields[name].annotation) is tuple


def _blocks(name: str, title: str, given: Sequence[Mapping[str, Any]] | None) -> str:
    """A block for each table of a list, with the keys that it sets; one with every key, commented out, for none."""
    fields = _model(name).model_fields
    parts = ["", f"# --- {title}"]
    if not given:
        parts.append(f"# [[{name}]]")
        parts += [_entry(key, info.default, info.description or "", on=False) for key, info in fields.items()]
    for one in given or ():
        parts.append(f"[[{name}]]")
        inner = [key for key in one if isinstance(one[key], Mapping)]
        for key in (key for key in fields if key in one and key not in inner):
            parts.append(_entry(key, one[key], fields[key].description or "", on=True))
        for table in (table for table in inner if one[table]):
            parts.append(f"[{name}.{table}]")
            parts += [f"{key} = {toml_value(value)}" for key, value in one[table].items()]
    return "\n".join(parts)


def _model(name: str) -> type[BaseModel]:
    annotation = Preset.model_fields[name].annotation
    found = [
        a for a in (annotation, *get_args(annotation)) if isinstance(a, type) and issubclass(a, BaseModel)
    ]
    return found[0]


def _entry(key: str, value: Any, words: str, *, on: bool) -> str:
    comment = textwrap.fill(words, 100, initial_indent="# ", subsequent_indent="# ") if words else "#"
    if not on and value in (None, PydanticUndefined):
        return f"{comment}\n# {key} ="
    return f"{comment}\n{'' if on else '# '}{key} = {toml_value(value)}"


def toml_value(value: Any) -> str:
    """A plain value as TOML (text as a basic string, whose escapes JSON shares)."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key} = {toml_value(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(toml_value(v) for v in value) + "]"
    return repr(value)
