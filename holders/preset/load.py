"""Reading a preset file: bounded, without code or includes, and with errors that say where and what to do."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from holders.core.errors import InputError, printable
from holders.core.toml_text import TooDeep, parsed
from holders.facts.tables import nearest
from holders.preset.carried import MAX_CARRIER_BYTES, MAX_PRESET_BYTES, carries, preset_carried
from holders.preset.code import pictured, preset_in_photo
from holders.preset.places import line_of
from holders.preset.schema import FORMAT_VERSION, Preset
from holders.preset.shipped import preset_path, shipped_folder
from holders.preset.versions import current_data
from holders.preset.wayout import way_out

MAX_BYTES = MAX_PRESET_BYTES
FLAT = "a preset is flat: tables of plain `key = value` lines; take a shipped preset as the pattern"


def load(path: Path | str) -> Preset:
    """The preset in a file, or the shipped preset of that bare name.

    Raises
    ------
    InputError
        With file, line, key, value and the way out.
    """
    path = preset_path(Path(path))
    return parse(read_text(path), str(path))


def read_text(path: Path) -> str:
    """The preset's text in a file: the file itself, or what another file that holders wrote carries.

    Refused when the file is missing, not a plain file, too large, not UTF-8, or carries nothing. A bare name may be
    that of a shipped preset, as :func:`holders.preset.shipped.preset_path` finds it.
    """
    path = preset_path(path)
    name = str(path)
    try:
        if not path.is_file():
            raise InputError("preset", name, _missing(path))
        with path.open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
            if pictured(data):
                data += stream.read(MAX_CARRIER_BYTES)
    except OSError as error:
        raise InputError(
            "preset", name, f"cannot be read ({error.strerror}); check its name and rights"
        ) from None
    except ValueError:  # a NUL in the name
        raise InputError("preset", name, "is not a file name") from None
    if carries(data):
        return preset_carried(path)
    return text_of_bytes(data, name)


def text_of_bytes(data: bytes, name: str) -> str:
    """The preset's text in the bytes of a preset file, or of another file that holders wrote and that carries it,
    a photo of its code among them.

    Raises ``InputError`` naming the file ``name``, as :func:`read_text`.
    """
    if carries(data):
        return preset_carried(data, name)
    if pictured(data):
        return preset_in_photo(data, name)
    if len(data) > MAX_BYTES:
        raise InputError("preset", name, f"larger than {MAX_BYTES // 1024} KiB, so it is no preset file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError("preset", name, f"not UTF-8 text (byte {error.start}); save it as UTF-8") from None


def _missing(path: Path) -> str:
    """Where a preset was looked for, and what was perhaps meant: a name like it there, or that of a shipped preset."""
    near = ""
    for folder in (path.parent, shipped_folder()):
        names = [file.stem for file in sorted(folder.glob("*.toml"))] if folder.is_dir() else []
        close = nearest(path.name.removesuffix(".toml"), names)
        if close:
            meant = close if folder == shipped_folder() else str(folder / f"{close}.toml")
            near = f" Did you mean {printable(meant, 200)}?"
            break
    words = "that is a folder" if path.is_dir() else "there is no such file"
    return (
        f"{words} (looked for {printable(str(path.absolute()), 200)}).{near} "
        "`holders list presets` shows the presets that come with holders; each works by its bare name from any folder"
    )


def parse(text: str, file: str) -> Preset:
    """The preset in a TOML text; ``file`` names it in errors."""
    try:
        data = parsed(text)
    except tomllib.TOMLDecodeError as error:
        where = re.search(r"at line (\d+)", str(error))
        raise InputError(
            "preset",
            str(error),
            _slip(text, int(where[1]) if where else None)
            or 'not valid TOML: each line is `key = value`, text in "quotes", tables in [brackets]',
            file=file,
            line=int(where[1]) if where else None,
        ) from None
    except TooDeep as error:
        raise InputError("preset", str(error), FLAT, file=file) from None
    except (RecursionError, ValueError):
        raise InputError("preset", "nested too deeply or a number too long", FLAT, file=file) from None
    return validate(data, text, file)


def _slip(text: str, line: int | None) -> str:
    """What a line that is no TOML most likely wants to be; "" where nothing can be said."""
    lines = text.split("\n")
    if line is None or not 0 < line <= len(lines):
        return ""
    found = re.match(r"\s*([\w-]+)\s*=\s*([^#]*)", lines[line - 1])
    if found is None:
        return ""
    key, value = found[1], found[2].strip()
    if not value:
        return f"{key} has no value; write one, or put a # before the line"
    if re.fullmatch(r"[-+]?\d+,\d+", value):
        return f"a decimal point, not a comma: {key} = {value.replace(',', '.')}"
    if re.fullmatch(r"[^\W\d][\w -]*", value) and value not in ("true", "false", "inf", "nan"):
        return f'text stands in quotes: {key} = "{value}"'
    return ""


def validate(data: dict[str, Any], text: str, file: str) -> Preset:
    """The preset in parsed data of this version or an older one; ``text`` serves to find lines for errors."""
    version = data.get("holders_preset")
    if isinstance(version, int) and not isinstance(version, bool) and version > FORMAT_VERSION:
        raise InputError(
            "holders_preset",
            version,
            f"this copy of holders reads version {FORMAT_VERSION}; update it, or ask for an older preset",
            file=file,
            line=line_of(text, ["holders_preset"]),
        )
    try:
        return Preset.model_validate(current_data(data))
    except ValidationError as error:
        raise _first_error(error, text, file) from None
    except RecursionError:
        raise InputError("preset", "nested too deeply", FLAT, file=file) from None


def located(error: InputError, text: str, file: str) -> InputError:
    """The same refusal with the file and line of the key it names, if it came without."""
    if error.file is not None:
        return error
    line = line_of(text, error.field.split("."))
    return InputError(error.field, error.value, error.way_out, file=file, line=line)


NAMED = 4  # wrong keys that a message names beside the first


def _first_error(error: ValidationError, text: str, file: str) -> InputError:
    """The most telling of pydantic's complaints (an unknown key before what its absence causes)."""
    found = error.errors(include_url=False)
    found.sort(key=lambda item: item["type"] != "extra_forbidden")
    first = found[0]
    path = [part for part in first["loc"] if not _is_branch(part)]
    field = ".".join(map(str, path)) or "preset"
    others = list(dict.fromkeys(".".join(_path(item)) for item in found))
    named = [printable(name) for name in others if name != field]
    rest = f" and {len(named) - NAMED} more" if len(named) > NAMED else ""
    more = f" (wrong too: {', '.join(named[:NAMED])}{rest})" if named else ""
    value: object = "(missing)" if first["type"] == "missing" else first["input"]
    return InputError(field, _brief(value), way_out(first, path) + more, file=file, line=line_of(text, path))


def _path(complaint: Any) -> list[str]:
    """The keys that lead to what a complaint of pydantic is about, as the user wrote them."""
    return [str(part) for part in complaint["loc"] if not _is_branch(part)]


def _brief(value: object) -> object:
    return "a table" if isinstance(value, dict) else "a list" if isinstance(value, list) else value


def _is_branch(part: object) -> bool:
    """Pydantic names the branch of a union in a location; the user did not write that."""
    return isinstance(part, str) and (
        part in ("int", "float", "str", "bool", "none", "tuple")
        or part.startswith(("literal[", "constrained", "function-"))
    )
