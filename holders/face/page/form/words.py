"""How the form groups a preset's keys: four questions; which keys and sections each has stands in the schema."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from holders.preset.schema import Preset
from holders.preset.words import Section, Words, plain_name, section_in, words_in


@dataclass(frozen=True, slots=True)
class Group:
    """One question of the form."""

    key: str
    title: str
    intro: str


GROUPS = (
    Group(
        "scanner",
        "My scanner",
        "Take the flatbed nearest to yours. What you have measured on your own counts for more: write it in.",
    ),
    Group("film", "My film", "Which film, how many at a time, and which way it lies."),
    Group("making", "How I will make it", "Printed in layers, cut by laser, or cut by hand with a knife."),
    Group("extras", "Extras", "How the film is held, what goes under and over it, and a name."),
)


@functools.cache
def all_words() -> Mapping[str, Words]:
    """The words of every key, by its path, in the schema's order."""
    return {path: words_in(info) for path, info in _keys()}


def asked_in(group: str) -> tuple[str, ...]:
    """The keys that a question asks everyone for, in order."""
    found = [
        (words.asked[1], path)
        for path, words in all_words().items()
        if words.asked and words.asked[0] == group
    ]
    return tuple(path for _, path in sorted(found))


def sections_in(group: str) -> tuple[tuple[Section, tuple[str, ...]], ...]:
    """The folded lists of a question, in order, each with its tables and single keys."""
    members: dict[str, list[str]] = {}
    heads: dict[str, Section] = {}
    for name, info in Preset.model_fields.items():
        section = section_in(info)
        if section is None or section.asked[0] != group:
            continue
        heads[section.key] = section
        members.setdefault(section.key, []).append(name)
    order = sorted(heads.values(), key=lambda section: section.asked[1])
    return tuple((section, tuple(members[section.key])) for section in order)


def label_of(path: str) -> str:
    """What the form calls a key: its own name, or the key in plain words without its unit."""
    words = all_words().get(path)
    return words.label if words is not None and words.label else plain_name(path.rpartition(".")[2])


def _keys() -> Iterator[tuple[str, FieldInfo]]:
    for name, info in Preset.model_fields.items():
        table = next(
            (
                kind
                for kind in (info.annotation, *get_args(info.annotation))
                if isinstance(kind, type) and issubclass(kind, BaseModel)
            ),
            None,
        )
        if table is None or get_origin(info.annotation) is tuple:  # a list of tables is one key
            yield name, info
        else:
            yield from ((f"{name}.{key}", inner) for key, inner in table.model_fields.items())
