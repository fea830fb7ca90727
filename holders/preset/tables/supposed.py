"""What a preset supposes and nobody has measured yet: kept in the preset, until another value stands there."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from pydantic import BaseModel

from holders.facts.curl_words import curl_words
from holders.preset.tables.plain import PlainPreset

KEY = "supposed"
BETWEEN = "; "


def entry(values: Mapping[str, object]) -> str:
    """One measurement that is only supposed, as a text for the preset's key ``supposed``.

    ``values`` are its keys (``"table.key"``) with what is supposed of each; the first is the one it is called by.
    """
    return BETWEEN.join(f"{path} = {json.dumps(value, ensure_ascii=False)}" for path, value in values.items())


def still_supposed(preset: PlainPreset) -> tuple[dict[str, Any], ...]:
    """The measurements that still stand as they were supposed, each as its keys with their values.

    One that has another value by now in any of its keys was measured; so was one whose first key is gone.
    """
    each = [_read(text) for text in preset.supposed]
    return tuple(values for values in each if values and _stands(preset, values))


def with_entry(preset: PlainPreset, values: Mapping[str, object]) -> list[str]:
    """The preset's list of what is supposed with one more, without those that were measured meanwhile."""
    return [*without(preset, values), entry(values)]


def without(preset: PlainPreset, paths: Iterable[str]) -> list[str]:
    """The list without what was measured meanwhile, and without what has to do with ``paths``."""
    gone = set(paths)
    return [entry(values) for values in still_supposed(preset) if not gone & values.keys()]


def supposed_words(preset: PlainPreset, film_width_mm: float, *, bed_known: bool = False) -> tuple[str, ...]:
    """Each measurement that is only supposed, as what comes after "if".

    ``film_width_mm`` says how high a film of the supposed curl stands; ``bed_known``: the bed was measured, and a
    record of that stands above what the preset says of it.
    """
    return tuple(
        _words(values, film_width_mm)
        for values in still_supposed(preset)
        if not (bed_known and next(iter(values)).startswith("bed."))
    )


def if_supposed(preset: PlainPreset, film_width_mm: float) -> str:
    """The condition behind a sentence about chances: ", if … (supposed, not measured yet)"; "" where all is "
    "measured.
    """
    words = supposed_words(preset, film_width_mm)
    return f", if {' and '.join(words)} (supposed, not measured yet)" if words else ""


def supposed_keys(preset: PlainPreset) -> tuple[str, ...]:
    """The keys to be replaced by what is found."""
    return tuple(dict.fromkeys(path for values in still_supposed(preset) for path in values))


def _words(values: Mapping[str, Any], film_width_mm: float) -> str:
    path, value = next(iter(values.items()))
    key = path.rpartition(".")[2]
    if key == "focus_sigma_mm":
        height = next((v for p, v in values.items() if p.endswith("focus_height_mm")), None)
        at = "known to" if height is None else f"{height:g}"
        return f"your scanner's focus height is {at} ± {value:g} mm"
    if key == "curl_per_m":
        return f"your film's curl is {curl_words(value, film_width_mm)}"
    if key == "back_coat":
        return "your film's back has a gelatin coat" if value == "yes" else "your film's back is bare"
    if key == "sheets_mm":
        return f"your sheets are {', '.join(f'{thick:g}' for thick in value)} mm thick"
    return f"{path} is {value}"


def _read(text: str) -> dict[str, Any]:
    """The keys and values of one entry; none for a text that is no entry."""
    found: dict[str, Any] = {}
    for part in text.split(BETWEEN):
        path, _, value = part.partition(" = ")
        try:
            found[path] = tomllib.loads(f"v = {value}")["v"]
        except tomllib.TOMLDecodeError:
            return {}
    return found


def _stands(preset: PlainPreset, values: Mapping[str, Any]) -> bool:
    there = [_at(preset, path) for path in values]
    if there[0] is None:
        return False
    return all(found is None or found == value for found, value in zip(there, values.values(), strict=True))


def _at(preset: BaseModel, path: str) -> Any:
    """What the preset sets at a path; None where it leaves it out."""
    here: Any = preset
    for name in path.split("."):
        if isinstance(here, Sequence) and name.isdigit() and int(name) < len(here):
            here = here[int(name)]
        else:
            here = getattr(here, name, None) if isinstance(here, BaseModel) else None
    return list(here) if isinstance(here, tuple) else here
